"""New workers share what has to be compiled before the first task."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from edgesim.studies.runner import run_tasks
from edgesim.studies.study import Quantity, Study


@pytest.mark.parametrize(("workers", "marks"), [(1, []), (2, ["0 of 2", "1 of 2"])])
def test_every_part_is_rehearsed_once_and_before_the_first_task(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, workers: int, marks: list[str]
) -> None:
    """A single process has nobody to share with and rehearses nothing."""
    monkeypatch.syspath_prepend(Path(__file__).parents[1])
    tasks = importlib.import_module("cheap_tasks")
    study = Study(
        identity={"kind": "rehearsal"},
        function=tasks.only_after_rehearsal,
        shared={"folder": str(tmp_path)},
        payloads=[{"n": n} for n in range(4)],
        template={"value": Quantity()},
        rehearsal=tasks.sign_in,
    )
    found = run_tasks(study, None, workers=workers).values("value")
    assert found.tolist() == [float(len(marks))] * 4
    assert sorted(path.name for path in tmp_path.iterdir()) == marks
