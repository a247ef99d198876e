"""Dated surveys in a scenario: rows, files, what is drawn from them, and what is refused."""

from __future__ import annotations

import copy
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.errors import ScenarioError
from edgesim.outcomes.site import _profile
from edgesim.outcomes.summary import QUANTILES
from edgesim.scenario import load_scenario
from edgesim.scenario.distributions import Normal
from edgesim.scenario.loader import ScenarioFile, from_table

DEMO = Path(__file__).parents[1] / "data" / "demo.toml"

ROWS: list[dict[str, Any]] = [
    {"date": date(1994, 3, 1), "position": "0 ft", "sd": "8 ft"},
    {"date": date(2009, 3, 1), "position_m": 6.1, "sd_m": 1.0},
    {"date": date(2024, 3, 1), "position": "39.4 ft", "sd": "2 ft"},
]


def with_history(history: Any, folder: Path = DEMO.parent, **site: Any) -> ScenarioFile:
    table = copy.deepcopy(load_scenario(DEMO).table)
    for key in [key for key in table["site"] if key.startswith("retreat_rate")]:
        del table["site"][key]
    table["site"] |= {"history": history, **site}
    for name in ("demo_profile.csv", "demo_wind.csv"):
        (folder / name).exists() or (folder / name).write_text((DEMO.parent / name).read_text())
    return from_table(table, folder / "some.toml")


def test_members_draw_their_rate_from_the_surveys() -> None:
    found = with_history(ROWS)
    rate = found.tree["site"]["retreat_rate"]
    assert isinstance(rate, Normal)
    # By hand: 12 m in 30 years.
    assert rate.mean == pytest.approx(0.40, abs=0.01)
    drawn = np.array([found.member(i).site.retreat_rate for i in range(200)])
    assert drawn.mean() == pytest.approx(rate.mean, abs=4 * rate.sd / np.sqrt(200))
    assert drawn.std() == pytest.approx(rate.sd, rel=0.2)
    assert found.origins["site.retreat_rate"].source.endswith("site.history")


def test_the_figures_of_the_site_show_the_posterior_of_the_surveys() -> None:
    found = with_history(ROWS)
    posterior = found.tree["site"]["retreat_rate"]
    shown = _profile(found)["surveyed_retreat_rate"]
    assert shown.values == pytest.approx([posterior.quantile(q) for q in QUANTILES], rel=1e-12)
    assert shown.values[0] < posterior.mean < shown.values[-1]
    assert "site.history" in shown.attrs["comment"]
    given = _profile(load_scenario(DEMO))["surveyed_retreat_rate"]
    assert "site.retreat_rate" in given.attrs["comment"]


def test_a_file_says_the_same_as_rows(tmp_path: Path) -> None:
    lines = (
        "date,position_m,sd_m\n1994-03-01,0,2.4384\n2009-03-01,6.1,1\n2024-03-01,12.00912,0.6096\n"
    )
    (tmp_path / "edge_history.csv").write_text(lines)
    one = with_history("edge_history.csv", tmp_path).tree["site"]["retreat_rate"]
    other = with_history(ROWS).tree["site"]["retreat_rate"]
    assert one.mean == pytest.approx(other.mean, rel=1e-9)
    assert one.sd == pytest.approx(other.sd, rel=1e-9)


def test_the_resolved_file_reads_back_to_the_same_scenario(tmp_path: Path) -> None:
    found = with_history(ROWS)
    text = found.resolved_toml()
    path = tmp_path / "resolved.toml"
    path.write_text(text)
    assert "retreat_rate" not in tomllib.loads(text)["site"]
    assert load_scenario(path).digest() == found.digest()


@pytest.mark.parametrize(
    ("history", "site", "words"),
    [
        (ROWS[:1], {}, "at least two surveys"),
        (ROWS[::-1], {}, "each later than the one before"),
        (ROWS, {"retreat_rate_m_per_year": 0.4}, "stands beside site.history"),
        ([{**ROWS[0], "date": "1994"}, ROWS[1]], {}, "must give its date"),
        ([{"date": date(1990, 1, 1), "position_m": 0.0}, ROWS[1]], {}, "must give its sd once"),
        ([{**ROWS[0], "sd": "0 ft"}, ROWS[1]], {}, "greater than 0"),
        ("nowhere.csv", {}, "does not exist"),
        (
            [{**row, "position": f"{-30 * i} ft"} for i, row in enumerate((ROWS[0], ROWS[0] | {"date": date(2024, 1, 1)}))],
            {},
            "an edge that advances",
        ),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said(history: Any, site: dict[str, Any], words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        with_history(history, **site)
