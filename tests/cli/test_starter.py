"""The untouched starter goes through every command: what a new user tries first."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from edgesim.cli.main import cli

STUDY = """
[study]
option = "walls and reef"

[[study.decisions]]
path = "design.walls.post_wood"
levels = ["treated pine", "durable heartwood"]

[[study.inputs]]
path = "traffic.level"

[[study.inputs]]
path = "site.retreat_rate"
"""


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("starter") / "my_site.toml"
    assert CliRunner().invoke(cli, ["new", str(file)]).exit_code == 0
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("years = 10 ", "years = 1 "), encoding="utf-8")
    return file


@pytest.mark.slow
def test_the_starter_can_be_forecast_planned_compared_reviewed_and_explored(starter: Path) -> None:
    surveys = starter.with_name("surveys.csv")
    surveys.write_text(
        "date,quantity,value,error\n2027-07-01,retreat,1 ft,1 ft\n", encoding="utf-8"
    )
    study = starter.with_name("study.toml")
    study.write_text(starter.read_text(encoding="utf-8") + STUDY, encoding="utf-8")
    folder = starter.parent / "forecast"
    quick = ["--members", "2", "--workers", "1", "-q"]
    for arguments in (
        ["check", starter],
        ["cost", starter],
        ["permit", starter],
        ["forecast", starter, "-o", folder, *quick],
        ["table", "settings", folder],
        ["figure", "edge_fan", folder, "-o", starter.parent / "fan.png"],
        ["plan", folder, "-o", starter.parent / "plan", "--only", "html", "-q"],
        ["view", folder, "-o", starter.parent / "view.html"],
        ["compare", starter, "-o", starter.parent / "compared", *quick],
        ["review", starter, surveys, "--built", "walls and reef", "-o", starter.parent / "reviewed", *quick],
        ["explore", study, "-o", starter.parent / "explored", "--trajectories", "2", "--points", "4", "--leading", "2", "--workers", "1", "-q"],
    ):  # fmt: skip
        answer = CliRunner().invoke(cli, [str(argument) for argument in arguments])
        assert answer.exit_code == 0, f"{arguments}: {answer.output}"
