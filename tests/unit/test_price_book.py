"""Reading of price books: units, what is left out, and one clear sentence for what is wrong."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path

import pytest

from edgesim.errors import ScenarioError
from edgesim.scenario import load_scenario
from edgesim.scenario.loader import from_table
from edgesim.scenario.price_book import item_names

HEADING = "item,unit,low,mode,high,currency,year,source,mark"
DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"


@pytest.fixture
def with_book(tmp_path: Path):
    """Load the demonstration with a book of these lines."""

    def load(*lines: str, heading: str = HEADING, **prices):
        book = tmp_path / "my_prices.csv"
        book.write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")
        table = copy.deepcopy(load_scenario(DEMO).table)
        table["prices"] = {"book": str(book), **prices}
        return from_table(table, DEMO)

    return load


def test_feet_yards_and_pounds_become_metres_and_the_rest_keeps_its_price(with_book) -> None:
    central = with_book(
        "post,ft,1,2,3,USD,2026,quote,read",
        "shell,yd3,100,100,100,USD,2026,quote,read",
        "",
        "# a remark",
        "mesh,ft2,1,1,1,USD,2026,quote,read",
    ).central
    price = {item.name: item.price for item in central.prices.book}
    assert price["post"] == pytest.approx(2.0 / 0.3048)
    assert price["shell"] == pytest.approx(100.0 / 0.9144**3)
    assert price["mesh"] == pytest.approx(1.0 / 0.3048**2)
    assert set(price) == set(item_names())
    marks = {item.name: item.mark for item in central.prices.book}
    assert marks["post"] == "read"
    assert marks["labour"] == "judgement"


def test_every_price_that_comes_with_edgesim_says_how_far_to_trust_it() -> None:
    book = load_scenario(DEMO).central.prices.book
    assert len(book) >= 19
    assert all(item.source and item.mark for item in book)
    assert {item.mark for item in book} == {"judgement", "from memory"}


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (
            ["post,ft,1,x,3,USD,2026,q,read"],
            ["line 2", "column mode", '"x"', "is not a number", "Write one number"],
        ),
        (["pst,ft,1,2,3,USD,2026,q,read"], ["line 2", "column item", '"pst"', "Use post"]),
        (
            ["post,m2,1,2,3,USD,2026,q,read"],
            ["column unit", '"m2"', 'not a unit for "post"', "m or ft"],
        ),
        (["post,m,3,2,1,USD,2026,q,read"], ["column mode", "does not lie between"]),
        (["post,m,-1,2,3,USD,2026,q,read"], ["column low", '"-1"']),
        (["post,m,1,nan,3,USD,2026,q,read"], ["column mode", '"nan"']),
        (["post,m,1,2,3,USD,26,q,read"], ["column year", '"26"']),
        (["post,m,1,2,3,USD,2026,q,sure"], ["column mark", '"sure"', "judgement"]),
        (["post,m,1,2,3,USD,2026,,read"], ["column source", "is empty"]),
        (["post,m,1,2,3,EUR,2026,q,read"], ["EUR", "USD", "one currency"]),
        (["post,m,1,2,3,USD,2026,q,read"] * 2, ["line 3", "twice"]),
        ([], ["no rows"]),
    ],
)
def test_a_wrong_book_is_refused_with_one_sentence(with_book, lines, words) -> None:
    with pytest.raises(ScenarioError) as caught:
        with_book(*lines)
    assert len(caught.value.problems) == 1
    sentence = caught.value.problems[0]
    assert "prices.book" in sentence
    if "EUR" not in words:
        assert "my_prices.csv" in sentence
    for word in words:
        assert word in sentence


def test_an_index_of_nothing_is_refused(with_book) -> None:
    with pytest.raises(ScenarioError, match="not a level of prices above 0") as caught:
        with_book("post,m,1,2,3,USD,2020,q,read", index=[[2020, 0.0], [2026, 100.0]])
    assert len(caught.value.problems) == 1
    assert "2020: 0" in caught.value.problems[0]


def test_a_missing_column_and_a_missing_file_are_told(with_book, tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match='has no column "year"'):
        with_book("post,m,1,2,3,USD,q,read", heading=HEADING.replace("year,", ""))
    table = copy.deepcopy(load_scenario(DEMO).table)
    table["prices"] = {"book": "nowhere.csv"}
    with pytest.raises(ScenarioError, match="does not exist"):
        from_table(table, DEMO)


def test_a_resolved_scenario_holds_its_book_and_draws_the_same_prices() -> None:
    scenario_file = load_scenario(DEMO)
    again = from_table(tomllib.loads(scenario_file.resolved_toml()), Path("again.toml"))
    assert again.digest() == scenario_file.digest()
    assert again.member(3).prices == scenario_file.member(3).prices


def test_one_price_can_be_changed_by_its_path() -> None:
    scenario_file = load_scenario(DEMO).overridden({"prices.book[post].price": 11.0})
    price = {item.name: item.price for item in scenario_file.central.prices.book}
    assert price["post"] == 11.0
    before = load_scenario(DEMO).member(1).prices.book
    after = scenario_file.member(1).prices.book
    assert [item for item in before if item.name != "post"] == [
        item for item in after if item.name != "post"
    ]
