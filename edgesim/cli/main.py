"""The program `edgesim`: finds commands, turns errors into messages and exit codes.

Results go to stdout and talk to stderr. Exit codes: 0 done, 1 failed while
computing, 2 wrong input, 130 stopped from the keyboard. A command's module is
imported only when it is asked for, so that ``--help`` and ``--version`` are quick.
"""

from __future__ import annotations

import importlib
import importlib.util
import json
import sys
import traceback
from typing import Any

import click

from edgesim import __version__
from edgesim.errors import (
    DataFileError,
    EdgesimError,
    InvalidParameterError,
    ScenarioError,
    UnitError,
)

COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("edgesim.cli.scenario_commands:new", "Write a commented starter scenario."),
    "check": ("edgesim.cli.scenario_commands:check", "Check a scenario and show every input."),
    "cost": ("edgesim.cli.cost_command:cost", "Show the bill of quantities and what it costs."),
    "permit": ("edgesim.cli.cost_command:permit", "Compare a design with numbers of rules."),
    "materials": ("edgesim.cli.materials_command:materials", "List woods, wires, ties and units."),
    "forecast": ("edgesim.cli.forecast_command:forecast", "Forecast the marsh edge day by day."),
    "compare": ("edgesim.cli.compare_command:compare", "Compare designs in the same futures."),
    "explore": (
        "edgesim.cli.explore_command:explore",
        "Find out which inputs matter and where a design succeeds.",
    ),
    "review": ("edgesim.cli.review_command:review", "Correct a forecast by surveys."),
    "plan": ("edgesim.cli.plan_command:plan", "Write the adaptive management plan."),
    "view": ("edgesim.cli.view_command:view", "Move through a forecast in the browser."),
    "figure": ("edgesim.cli.exhibit_commands:figure", "Draw one figure of a forecast."),
    "table": ("edgesim.cli.exhibit_commands:table", "Print one table of a forecast."),
}
"""Name -> where the command is, and its line in the list of commands."""

WRONG_INPUT = (ScenarioError, UnitError, DataFileError, InvalidParameterError)
"""Errors that the user can put right; all others mean that the computation failed."""


class Commands(click.Group):
    """A group that imports a command when it is needed and reports errors in one way."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of the commands that are installed."""
        return [name for name, (place, _) in COMMANDS.items() if _is_installed(place)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command; None when there is none of that name."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module, _, attribute = COMMANDS[cmd_name][0].partition(":")
        found = getattr(importlib.import_module(module), attribute)
        assert isinstance(found, click.Command)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][1]) for name in self.list_commands(ctx)])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Remember whether the answer is wanted as JSON, for errors too."""
        ctx.meta["edgesim.json"] = "--json" in args
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; turn an error into a message and an exit code."""
        try:
            return super().invoke(ctx)
        except EdgesimError as error:
            if ctx.params.get("debug"):
                traceback.print_exc(file=sys.stderr)
            _report(error, as_json=ctx.meta["edgesim.json"])
            ctx.exit(2 if isinstance(error, WRONG_INPUT) else 1)
        except KeyboardInterrupt as stop:
            click.echo(str(stop) or "Stopped.", err=True)
            ctx.exit(130)


def _is_installed(place: str) -> bool:
    """Whether the module of a command is there."""
    return importlib.util.find_spec(place.partition(":")[0]) is not None


def _report(error: EdgesimError, *, as_json: bool) -> None:
    """Print an error: JSON on stdout for programs, sentences on stderr for people."""
    problems = error.problems if isinstance(error, ScenarioError) else [str(error)]
    if as_json:
        answer = {"schema": 1, "error": {"type": type(error).__name__, "problems": problems}}
        click.echo(json.dumps(answer, indent=2))
        return
    for problem in problems:
        click.echo(problem, err=True)
    if len(problems) > 1:
        click.echo(f"{len(problems)} problems; nothing was written.", err=True)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="edgesim")
@click.option("--debug", is_flag=True, help="Show where in the program an error arose.")
def cli(debug: bool) -> None:
    """Forecast a marsh edge worn by boat wakes and defended by two lines.

    Begin with:  edgesim new my_site.toml
    """


def main() -> None:
    """Run the program with the arguments of the command line."""
    cli(prog_name="edgesim")
