"""Surveys after building: what is read, and one clear sentence for what is wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from edgesim.errors import ScenarioError
from edgesim.monitoring.surveys import MEASURES, Survey, read_surveys
from edgesim.names import BY_NAME
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option
from edgesim.units import KINDS

BOTH = Option(name="walls and reef", walls=True, reef=True)
HEADING = "date,quantity,value,error"


def read(
    tmp_path: Path, central: Scenario, *rows: str, heading: str = HEADING, built: Option = BOTH
) -> list[Survey]:
    file = tmp_path / "surveys.csv"
    file.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    return read_surveys(file, central, built)


def test_surveys_come_in_feet_or_metres_and_in_any_order(tmp_path: Path, central: Scenario) -> None:
    found = read(
        tmp_path,
        central,
        "2029-01-01,oysters,40 /ft^2,10 /ft^2,counted by the club",
        "2028-01-01, retreat , 1 ft 3 in, 0.1 m",
        "2028-07-01,posts,80 %,0.05",
        heading=HEADING + ",note",
    )
    assert [one.quantity for one in found] == ["retreat", "posts", "oysters"]
    assert found[0].value == pytest.approx(0.381)
    assert found[0].error == 0.1
    assert found[0].years == pytest.approx((date(2028, 1, 1) - central.run.start).days / 365.25)
    assert found[1].value == pytest.approx(0.8)
    assert found[2].value == pytest.approx(40 / 0.3048**2)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2028-13-01,retreat,1 ft,1 ft", 'row 2, column date, value "2028-13-01": is not a date'),
        ("2026-01-01,retreat,1 ft,1 ft", "lies outside the forecast. Give a day after"),
        ("2060-01-01,retreat,1 ft,1 ft", "lies outside the forecast. Give a day after"),
        (
            "2028-01-01,width,1 ft,1 ft",
            'column quantity, value "width": is not known. Write retreat,',
        ),
        ("2028-01-01,retreat,1,1 ft", 'column value, value "1":'),
        ("2028-01-01,retreat,1 knot,1 ft", 'column value, value "1 knot":'),
        ("2028-01-01,retreat,1 ft,", 'column error, value "":'),
        ("2028-01-01,retreat,1 ft,0 ft", 'column error, value "0 ft": must be above 0.'),
        ("2028-01-01,fill,lots,0.1", 'column value, value "lots":'),
    ],
)
def test_each_wrong_cell_gets_a_sentence(
    tmp_path: Path, central: Scenario, row: str, words: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        read(tmp_path, central, row, "2028-02-01,retreat,1 ft,1 ft")
    assert len(caught.value.problems) == 1
    assert words in caught.value.problems[0]
    assert caught.value.problems[0].startswith("surveys.csv, row 2")


def test_all_wrong_rows_are_told_at_once(tmp_path: Path, central: Scenario) -> None:
    with pytest.raises(ScenarioError) as caught:
        read(tmp_path, central, "soon,retreat,1 ft,1 ft", "2028-01-01,retreat,1 ft,-1 ft")
    assert len(caught.value.problems) == 2


def test_what_was_not_built_cannot_be_surveyed(tmp_path: Path, central: Scenario) -> None:
    with pytest.raises(ScenarioError, match='belongs to the reef, which "walls only" does not'):
        read(
            tmp_path,
            central,
            "2028-01-01,oysters,40 /ft^2,10 /ft^2",
            built=Option(name="walls only", walls=True),
        )


@pytest.mark.parametrize("heading", ["date,quantity,value", "day,quantity,value,error"])
def test_every_column_must_be_there(tmp_path: Path, central: Scenario, heading: str) -> None:
    with pytest.raises(ScenarioError, match="heading: has no column"):
        read(tmp_path, central, "2028-01-01,retreat,1 ft,1 ft", heading=heading)


def test_a_file_without_rows_or_name_is_refused(tmp_path: Path, central: Scenario) -> None:
    with pytest.raises(ScenarioError, match="has a heading but no rows"):
        read(tmp_path, central)
    with pytest.raises(ScenarioError, match="does not exist"):
        read_surveys(tmp_path / "none.csv", central, BOTH)


def test_surveys_of_the_demonstration_can_be_read_and_say_that_they_are_invented(
    central: Scenario,
) -> None:
    file = Path(__file__).parents[2] / "configs" / "demo_surveys.csv"
    assert "Invented" in file.read_text(encoding="utf-8").splitlines()[0]
    assert len(read_surveys(file, central, BOTH)) == 4


def test_what_can_be_surveyed_is_in_every_forecast_in_the_same_unit() -> None:
    inside = {"m": "m", "1/m^2": "m-2", "": "1"}
    for measure in MEASURES.values():
        assert BY_NAME[measure.variable].unit == inside[KINDS[measure.kind].unit]
