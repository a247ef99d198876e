"""The figures of comparisons and studies say what is in their data."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from matplotlib.figure import Figure

from edgesim.cli.compare_command import _print as print_comparison
from edgesim.errors import InvalidParameterError
from edgesim.figures.compare_differences import compare_differences
from edgesim.figures.studies import COMPARISON_FIGURES, STUDY_FIGURES, save_figures
from edgesim.figures.study_convergence import study_convergence
from edgesim.figures.study_map import study_map
from edgesim.figures.study_ranking import study_ranking
from edgesim.figures.study_regret import study_regret
from edgesim.figures.study_separation import study_separation
from edgesim.figures.study_tradeoff import study_tradeoff
from edgesim.outcomes.comparison import build_comparison
from edgesim.outcomes.exploration import conclusions, map_table
from edgesim.outcomes.measures import YEARLY
from edgesim.scenario.plans import Target
from edgesim.studies.explore import Budget, plan_exploration, run_exploration
from edgesim.studies.study_dataset import build_exploration

sys.path.insert(0, str(Path(__file__).parents[1]))
import study_functions as functions

DESIGNS = ("no action", "narrow", "wide", "twin of narrow")


@pytest.fixture(scope="module")
def comparison(scenario_file: Any) -> xr.Dataset:
    generator = np.random.default_rng(1)
    years, members = 6, 12
    yearly = np.zeros((3, 4, members, len(YEARLY), years + 1))
    chance = generator.normal(size=(1, 1, members, 1))
    grown = np.arange(years + 1) / years
    for name, means in {
        "land_kept": (0.0, 20.0, 24.0, 20.0),
        "cost": (0.0, 30e3, 24e3, 30e3),
        "retreat": (4.0, 2.0, 1.8, 2.0),
        "oyster_density": (0.0, 500.0, 450.0, 500.0),
    }.items():
        spread = (1.0 + 0.1 * chance) * np.array(means)[None, :, None, None]
        yearly[..., YEARLY.index(name), :] = spread * grown
    takeover = np.full(yearly.shape[:3], np.nan)
    targets = [Target("marsh", "land_kept", at_most=False, threshold=22.0, year=years)]
    beliefs = [("as written", 1.0), ("busy", 0.3), ("quiet", 0.7)]
    return build_comparison(
        DESIGNS, beliefs, yearly, takeover, targets, [0.0, 24.0, 26.0, 24.0], [scenario_file] * 4
    )


@pytest.fixture(scope="module")
def study(
    small_scenario: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory
) -> xr.Dataset:
    def edit(table: dict[str, Any]) -> None:
        low_high = {"low": 0.5, "high": 1.5}
        table["goals"] = {
            **table["goals"],
            "targets": [{"name": "much", "quantity": "land_kept", "at_least": "12 ft^2"}],
        }
        table["study"] = {
            "decisions": [
                {"name": "gap", "path": "design.walls.gap", "levels": ["4 ft", "9 ft"]},
                {
                    "name": "wire",
                    "path": "design.walls.ties",
                    "levels": ["galvanised", "stainless"],
                },
            ],
            "inputs": [{"name": "traffic", "path": "traffic.level", **low_high}],
            "map": {"rows": "gap", "columns": "wire", "over": "traffic", "members": 3},
        }

    exploration = replace(plan_exploration(small_scenario(edit=edit)), function=functions.by_gap)
    folder = tmp_path_factory.mktemp("study")
    stages = run_exploration(exploration, folder, Budget(8, 64, 3), workers=1)
    return build_exploration(exploration, stages)


def texts(figure: Figure) -> str:
    return "\n".join(
        [t.get_text() for t in figure.texts]
        + [t.get_text() for axes in figure.axes for t in axes.texts]
        + [
            label.get_text()
            for axes in figure.axes
            for label in (*axes.get_xticklabels(), *axes.get_yticklabels())
        ]
        + [axes.get_title(loc) for axes in figure.axes for loc in ("left", "center")]
        + [axes.get_xlabel() + axes.get_ylabel() for axes in figure.axes]
        + ([figure._suptitle.get_text()] if figure._suptitle else [])  # type: ignore[attr-defined]
    )


def test_differences_are_held_against_the_first_design_that_builds(comparison: xr.Dataset) -> None:
    figure = compare_differences(comparison)
    assert len(figure.axes) == 4
    lines = [line for line in figure.axes[0].get_lines() if len(line.get_xdata()) == 7]
    ends = [float(np.asarray(line.get_ydata())[-1]) for line in lines]
    kept = comparison["land_kept"].values[0, :, :, -1]
    assert ends == pytest.approx([float(np.median(kept[2] - kept[1])), 0.0])
    said = texts(figure)
    assert "12 futures" in said
    assert "difference to narrow" in said
    assert "50%" in said
    assert "[1000 USD]" in said


def test_differences_of_lengths_have_an_axis_in_feet(comparison: xr.Dataset) -> None:
    figure = compare_differences(comparison)
    second = {
        child.get_ylabel(): child
        for axes in figure.axes
        for child in axes.child_axes
        if child.get_ylabel()
    }
    assert set(second) == {"Difference [ft2]", "Difference [ft]", "Difference [per ft2]"}
    figure.draw_without_rendering()
    retreat = next(axes for axes in figure.axes if axes.get_ylabel() == "Difference [m]")
    assert second["Difference [ft]"].get_ylim()[1] == pytest.approx(retreat.get_ylim()[1] / 0.3048)


def test_printed_tables_give_feet_beside_metres(
    comparison: xr.Dataset, capsys: pytest.CaptureFixture[str]
) -> None:
    print_comparison(comparison.assign_attrs(futures_left_out=0))
    said = " ".join(capsys.readouterr().out.split())
    row = comparison["retreat"].values[0, 0, :, -1]
    # No action: the middle of the retreats of 12 futures, in metres, and over 0.3048 in feet.
    for unit, factor in (("m", 1.0), ("ft", 1.0 / 0.3048)):
        assert f"Retreat behind the design, {unit} {factor * np.median(row):.2f} (" in said
    assert "Cost of edge, USD per ft" in said
    assert "Regret in Marsh kept against no action, ft2" in said


def test_the_trade_off_names_what_none_beats(comparison: xr.Dataset) -> None:
    figure = study_tradeoff(comparison)
    assert "m2" in figure.axes[0].get_ylabel()
    title = figure._suptitle.get_text()  # type: ignore[attr-defined]
    # Narrow and its twin have more oysters, wide is cheaper and keeps more, no action is free.
    for name in DESIGNS:
        assert name in title.replace("\n", " ").replace("\N{NO-BREAK SPACE}", " ")


def test_the_regret_table_shows_every_design_and_belief(comparison: xr.Dataset) -> None:
    said = texts(study_regret(comparison))
    for word in (*DESIGNS, "busy", "quiet", "largest"):
        assert word in said
    assert "as written" not in said


def test_the_ranking_has_a_panel_an_outcome_and_marks_what_is_not_known(study: xr.Dataset) -> None:
    figure = study_ranking(study)
    assert len(figure.axes) == study.sizes["outcome"]
    labels = [label.get_text() for label in figure.axes[0].get_yticklabels()]
    assert set(labels) == {"gap", "wire", "traffic", "chance"}
    assert labels[0] == "gap"
    known = study["total_converged"].values[0].astype(bool)
    hatched = [bool(bar.get_hatch()) for bar in figure.axes[0].patches]
    assert sum(hatched) == int((~known).sum())
    screened = study.drop_vars([name for name in study.data_vars if "leading" in study[name].dims])
    assert "trajectories" in texts(study_ranking(screened))
    unmoved = ~screened["screening_effect"].values.any(axis=1)
    assert 0 < unmoved.sum() < unmoved.size
    assert texts(study_ranking(screened)).count("did not vary") == unmoved.sum()


def test_convergence_has_a_point_a_size(study: xr.Dataset) -> None:
    figure = study_convergence(study)
    ticks = [tick.get_text() for tick in figure.axes[0].get_xticklabels()]
    assert ticks == ["16", "32", "64"]
    assert "ranking: same" in texts(figure)


def test_the_map_writes_chance_and_interval_into_every_cell(study: xr.Dataset) -> None:
    figure = study_map(study)
    assert len([axes for axes in figure.axes if axes.images]) == 3
    cells = map_table(study)
    assert len(cells) == 12
    said = texts(figure)
    assert "100%" in said
    assert "37%-100%" in said  # 3 of 3: exact interval from 0.05^(1/3)
    assert "4 ft" in said
    assert "stainless" in said


def test_separation_shows_the_limits_in_words(study: xr.Dataset) -> None:
    said = texts(study_separation(study))
    assert "gap" in said
    # More than 12 ft2 is kept where the gap is 9 ft, whatever else.
    assert "9 ft" in said or "4 ft" in said
    assert any("is separated by" in sentence for sentence in conclusions(study))


def test_a_screening_cannot_fill_the_later_figures(study: xr.Dataset, tmp_path: Path) -> None:
    later = [
        name for name in study.variables
        if {"leading", "over_quantile", "peel", "size"} & set(study[name].dims)
        or str(name).startswith(("separation", "map_"))
    ]  # fmt: skip
    screened = study.drop_vars(later)
    for draw in (study_convergence, study_map, study_separation, study_tradeoff, study_regret):
        with pytest.raises(InvalidParameterError):
            draw(screened)
    written = save_figures(screened, tmp_path, STUDY_FIGURES)
    assert [path.name for path in written] == ["study1_ranking.png", "study1_ranking.svg"]


def test_every_figure_has_a_text_for_those_who_cannot_see_it(
    study: xr.Dataset, comparison: xr.Dataset
) -> None:
    for entries, dataset in ((STUDY_FIGURES, study), (COMPARISON_FIGURES, comparison)):
        for entry in entries.values():
            assert len(entry.alt_text(dataset)) > 60
