"""Closed pockets at low tide: a closed one is flagged, an open one is not."""

from __future__ import annotations

import pytest

from edgesim.outcomes.entrapment import CANNOT_TELL, OPEN, PASSAGE, POCKET, screen_pockets

HEADLANDS = [
    [0, 0], [19, 0], [19.5, -6.7], [22, -6.7], [22.5, 0], [38, 0], [38.5, -6.7], [41, -6.7], [41.5, 0], [60, 0],
]  # fmt: skip
"""Two points of marsh that reach to 0.3 m of the wall's landward face, invented. [m]"""


@pytest.fixture
def screened(small_scenario):
    """Screen walls of these stretches before an edge."""

    def screen(edge, segments, profile=None):
        def edit(table):
            walls = table["design"]["walls"]
            for key in ("count", "length", "gap"):
                walls.pop(key)
            walls["segments"] = [
                {"start_m": start, "length_m": end - start} for start, end in segments
            ]
            table["design"].pop("reef")
            table["options"] = [{"name": "walls", "walls": True}]
            table["site"]["edge_m"] = edge
            table["run"]["cell_size_m"] = 0.25
            if profile is not None:
                table["site"]["profile"] = profile

        central = small_scenario({"run.cell_size": 0.25}, edit).central
        return screen_pockets(central, central.options[1])

    return screen


def test_a_wall_from_point_to_point_closes_a_pocket(screened) -> None:
    pocket = screened(HEADLANDS, [(20.0, 40.0)])
    assert pocket.answer == POCKET
    # The bay between the points is some 16 m by 7 m; the tide shuts it as soon as the marsh is dry.
    assert pocket.area == pytest.approx(16.0 * 7.0, rel=0.1)
    assert pocket.from_ == pytest.approx(22.0, abs=0.6)
    assert pocket.to == pytest.approx(38.0, abs=1.0)
    assert 0.5 < pocket.level < 0.7
    assert pocket.depth > 1.0


def test_a_gap_in_the_wall_opens_it(screened) -> None:
    assert screened(HEADLANDS, [(20.0, 29.0), (30.5, 40.0)]).answer == OPEN


def test_a_gap_narrower_than_a_passage_does_not(screened) -> None:
    wall = [(20.0, 30.0), (30.0 + 0.5 * PASSAGE, 40.0)]
    assert screened(HEADLANDS, wall).answer == POCKET


def test_walls_before_a_straight_shore_with_open_ends_are_open(screened) -> None:
    assert screened([[0, 0], [60, 0]], [(20.0, 40.0)]).answer == OPEN


def test_a_wall_to_the_side_of_the_survey_cannot_be_told(screened) -> None:
    assert screened([[0, 0], [60, 0]], [(0.0, 60.9)]).answer == CANNOT_TELL


def test_a_hollow_that_the_bed_has_by_itself_is_not_the_walls_doing(screened) -> None:
    bar = [["0 m", "-0.5 m"], ["3 m", "-1.5 m"], ["6 m", "-0.5 m"], ["30 m", "-3 m"]]
    # The trough behind the bar is shut off between the points at low water, far from the wall.
    assert screened(HEADLANDS, [(45.0, 55.0)], profile=bar).answer == OPEN


def test_the_demonstration_is_open_in_every_option(small_scenario) -> None:
    central = small_scenario().central
    assert {screen_pockets(central, option).answer for option in central.options} == {OPEN}
