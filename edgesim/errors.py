"""The errors that a user of edgesim can meet.

Every error inherits :class:`EdgesimError` (what the command line catches) and
the builtin that a library user would expect.
"""

from __future__ import annotations


class EdgesimError(Exception):
    """Base of every error raised on purpose by edgesim."""


class InvalidParameterError(EdgesimError, ValueError):
    """A function was given a number outside its domain."""


class UnitError(EdgesimError, ValueError):
    """A quantity could not be read, or has the wrong kind of unit."""


class ScenarioError(EdgesimError, ValueError):
    """A scenario file is wrong.

    Parameters
    ----------
    problems : list of str
        One sentence a problem, each naming file, key, value and remedy.
    """

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


class DataFileError(EdgesimError, OSError):
    """A data file is missing, unreadable or empty, or a target cannot be written."""


class SolverError(EdgesimError, RuntimeError):
    """The computation itself failed (a field stopped being finite, say)."""


class BudgetError(SolverError):
    """A budget of mud, shell, fill or money did not close."""


class StudyError(EdgesimError, RuntimeError):
    """An ensemble could not be completed."""
