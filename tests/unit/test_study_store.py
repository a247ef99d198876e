"""The store of a study, and a study run in this process: what is kept, refused, resumed and grown."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.errors import DataFileError, InvalidParameterError
from edgesim.studies import store as stores
from edgesim.studies.estimate import (
    MOST_MEASURED,
    check_disk,
    estimate,
    free_bytes,
    store_bytes,
)
from edgesim.studies.runner import run_tasks
from edgesim.studies.store import open_store, read_store, remove_store
from edgesim.studies.study import Outcome, Quantity, Study, attempt, digests, template_of

Make = Callable[..., Study]


def contents(path: Path) -> dict[str, bytes]:
    """Every file of a store."""
    files = (file for file in path.rglob("*") if file.is_file())
    return {file.relative_to(path).as_posix(): file.read_bytes() for file in files}


def put_all(study: Study, path: Path, order: list[int], flush_every: int = 1) -> None:
    """Do tasks in an order, and write each few of them."""
    store = open_store(path, study, resume=True)
    for count, index in enumerate(order, start=1):
        store.put(attempt(study, index, study.payloads[index]))
        if count % flush_every == 0:
            store.flush()
    store.flush()


def test_every_result_is_found_in_its_row(cheap_study: Make, tmp_path: Path) -> None:
    study = cheap_study(5)
    store = run_tasks(study, tmp_path / "s.zarr", workers=1)
    again = read_store(tmp_path / "s.zarr")
    for found in (store, again):
        assert found.done.all()
        assert found.failures() == []
        assert found.names == ["square", "series", "field", "count"]
        assert found.values("square").tolist() == [0.0, 1.0, 4.0, 9.0, 16.0]
        assert found.values("count").dtype == np.int64
        for index in range(5):
            expected = study.function({}, {"number": index})
            assert np.array_equal(found.values("series")[index], expected["series"])
            assert np.array_equal(found.values("field")[index], expected["field"])
    assert again.dims("field") == ("task", "field_0", "field_1")


def test_order_and_pace_of_writing_change_no_byte(cheap_study: Make, tmp_path: Path) -> None:
    study = cheap_study(30, bad=(3, 4, 29))
    orders = [list(range(30)), list(range(29, -1, -1)), np.random.default_rng(3).permutation(30)]
    for name, order, pace in zip("abc", orders, (1, 7, 30), strict=True):
        put_all(study, tmp_path / name, [int(index) for index in order], pace)
    whole = contents(tmp_path / "a")
    assert whole == contents(tmp_path / "b") == contents(tmp_path / "c")
    run_tasks(study, tmp_path / "d", workers=1)
    assert contents(tmp_path / "d") == whole


def test_another_result_gives_other_bytes(cheap_study: Make, tmp_path: Path) -> None:
    run_tasks(cheap_study(5), tmp_path / "a", workers=1)
    run_tasks(cheap_study(5, bad=(2,)), tmp_path / "b", workers=1)
    assert contents(tmp_path / "a") != contents(tmp_path / "b")


def test_a_failed_task_is_recorded_with_reason_and_inputs_and_the_study_goes_on(
    cheap_study: Make, tmp_path: Path
) -> None:
    reports: list[tuple[int, int]] = []
    store = run_tasks(
        cheap_study(6, bad=(1, 4), wrong=(5,)),
        tmp_path / "s",
        workers=1,
        progress=lambda done, total: reports.append((done, total)),
    )
    assert reports == [(n, 6) for n in range(7)]
    assert store.done.tolist() == [True, False, True, True, False, False]
    first, second, third = read_store(tmp_path / "s").failures()
    assert (first.index, first.kind, first.reason) == (1, "SolverError", "number 1 is bad.")
    assert first.inputs == '{"number":1}'
    assert second.inputs == '{"number":4}'
    assert "missing ['count', 'field', 'series']" in third.reason
    assert np.isnan(store.values("square")[[1, 4, 5]]).all()
    assert store.unfinished() == []


def test_an_error_of_the_program_says_where_it_arose(cheap_study: Make) -> None:
    study = replace(cheap_study(1), payloads=[{"nothing": 1}])
    (failure,) = run_tasks(study, None, workers=1).failures()
    assert (failure.kind, failure.inputs) == ("KeyError", '{"nothing":1}')
    assert failure.reason == "'number' (raised in cheap, cheap_tasks.py)"


def test_a_task_that_the_machine_failed_is_tried_again_and_leaves_no_trace(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = cheap_study(4)
    run_tasks(study, tmp_path / "unbroken", workers=1)

    def short_of_memory(_shared: Any, payload: Any) -> dict[str, Any]:
        if payload["number"] == 2:
            raise MemoryError
        return dict(study.function({}, payload))

    store = open_store(tmp_path / "s", study)
    poor = replace(study, function=short_of_memory)
    for index in range(4):
        store.put(attempt(poor, index, study.payloads[index]))
    store.flush()
    assert [(f.index, f.kind, f.lost) for f in store.failures()] == [(2, "MemoryError", True)]
    assert store.unfinished() == [2]
    resumed = run_tasks(study, tmp_path / "s", workers=1, resume=True)
    assert resumed.done.all()
    assert contents(tmp_path / "s") == contents(tmp_path / "unbroken")


def test_a_row_counts_only_when_all_of_it_is_written(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = cheap_study(3)
    store = open_store(tmp_path / "s", study)
    store.put(attempt(study, 0, study.payloads[0]))
    writes: list[str] = []
    arrays = {**store._arrays, **store._own}

    class Noting:
        def __init__(self, name: str) -> None:
            self.name, self.array = name, arrays[name]

        def __getattr__(self, name: str) -> Any:
            return getattr(self.array, name)

        def __setitem__(self, rows: Any, values: Any) -> None:
            writes.append(self.name)
            self.array[rows] = values

    store._arrays = {name: Noting(name) for name in store._arrays}  # type: ignore[misc]
    store._own = {name: Noting(name) for name in store._own}  # type: ignore[misc]
    store.flush()
    assert sorted(writes) == ["count", "field", "series", "square", "status"]
    assert writes[-1] == "status"


def test_what_a_killed_process_left_half_written_is_swept_away(
    cheap_study: Make, tmp_path: Path
) -> None:
    study = cheap_study(3)
    run_tasks(study, tmp_path / "s", workers=1)
    before = contents(tmp_path / "s")
    (tmp_path / "s" / "square" / "c" / "0.1234.partial").write_bytes(b"half")
    run_tasks(study, tmp_path / "s", workers=1, resume=True)
    assert contents(tmp_path / "s") == before


@pytest.mark.parametrize("junk", [b"junk that is no chunk", b"", None])
@pytest.mark.parametrize("name", ["field", "status", "payload_digest"])
def test_a_damaged_store_is_refused_before_anything_is_computed(
    cheap_study: Make, tmp_path: Path, name: str, junk: bytes | None
) -> None:
    put_all(cheap_study(6), tmp_path / "s", [0, 1, 2])
    chunk = next(file for file in (tmp_path / "s" / name / "c").rglob("*") if file.is_file())
    chunk.write_bytes(chunk.read_bytes()[:-4] if junk is None else junk)
    before, reports = contents(tmp_path / "s"), []
    with pytest.raises(DataFileError, match="is damaged and cannot be read") as error:
        run_tasks(
            cheap_study(6),
            tmp_path / "s",
            workers=1,
            resume=True,
            progress=lambda *counts: reports.append(counts),
        )
    assert str(error.value).startswith(f"{tmp_path / 's'}: ")
    assert "--force" in str(error.value)
    assert reports == []
    assert contents(tmp_path / "s") == before
    remove_store(tmp_path / "s")
    assert not (tmp_path / "s").exists()


def test_a_store_that_is_there_is_not_overwritten(cheap_study: Make, tmp_path: Path) -> None:
    run_tasks(cheap_study(2), tmp_path / "s", workers=1)
    before = contents(tmp_path / "s")
    with pytest.raises(DataFileError, match="--resume"):
        run_tasks(cheap_study(2), tmp_path / "s", workers=1)
    assert contents(tmp_path / "s") == before


def changed_template(study: Study) -> Study:
    return replace(study, template={**study.template, "square": Quantity(dtype="float32")})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda study: replace(study, identity={"kind": "cheap", "seed": "2"}),
            "seed 1 there, 2 now",
        ),
        (lambda study: replace(study, identity={"seed": "1"}), "kind cheap there, none now"),
        (lambda study: replace(study, function=template_of), "function cheap_tasks.cheap there"),
        (lambda study: replace(study, payloads=study.payloads[::-1]), "other tasks"),
        (lambda study: replace(study, payloads=study.payloads[:2]), "3 there, 2 now"),
        (changed_template, "quantities"),
    ],
)
def test_another_study_is_refused_with_what_differs(
    cheap_study: Make, tmp_path: Path, change: Callable[[Study], Study], words: str
) -> None:
    study = cheap_study(3)
    run_tasks(study, tmp_path / "s", workers=1)
    before = contents(tmp_path / "s")
    with pytest.raises(DataFileError, match=r"--force") as error:
        run_tasks(change(study), tmp_path / "s", workers=1, resume=True)
    assert words in str(error.value)
    assert contents(tmp_path / "s") == before


def test_another_version_of_the_code_is_refused(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_tasks(cheap_study(2), tmp_path / "s", workers=1)
    monkeypatch.setattr("edgesim.studies.study.__version__", "9.9.9")
    with pytest.raises(DataFileError, match=r"code .* there, 9\.9\.9"):
        run_tasks(cheap_study(2), tmp_path / "s", workers=1, resume=True)


@pytest.mark.parametrize("name", ["nothing", "file", "folder"])
def test_what_is_no_store_is_neither_read_nor_removed(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_text("keep me", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    with pytest.raises(DataFileError, match="is not the store of a study"):
        read_store(tmp_path / name)
    if name != "nothing":
        with pytest.raises(DataFileError, match="is not the store of a study"):
            remove_store(tmp_path / name)
    assert {path.name for path in tmp_path.iterdir()} == {"file", "folder"}


def test_a_store_grows_by_more_tasks_to_the_bytes_of_one_run(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[int] = []
    run_tasks(cheap_study(300, bad=(299, 600)), tmp_path / "whole", workers=1)
    run_tasks(cheap_study(7), tmp_path / "grown", workers=1)
    run_tasks(
        cheap_study(300, bad=(299, 600)),
        tmp_path / "grown",
        workers=1,
        resume=True,
        progress=lambda count, _: done.append(count),
    )
    assert done[0] == 7
    assert contents(tmp_path / "grown") == contents(tmp_path / "whole")


def test_a_store_whose_growth_was_broken_off_grows_on(cheap_study: Make, tmp_path: Path) -> None:
    study = cheap_study(9)
    run_tasks(study, tmp_path / "whole", workers=1)
    store = run_tasks(cheap_study(4), tmp_path / "s", workers=1)
    for name in ("square", "field"):
        array = store._arrays[name]
        array.resize((9, *array.shape[1:]))
    run_tasks(study, tmp_path / "s", workers=1, resume=True)
    assert contents(tmp_path / "s") == contents(tmp_path / "whole")


def test_a_budget_of_time_ends_the_study_and_the_rest_can_be_done_later(
    cheap_study: Make, tmp_path: Path
) -> None:
    study = cheap_study(40, seconds=0.05)
    some = run_tasks(study, tmp_path / "s", workers=1, budget_seconds=0.5)
    assert 1 <= some.done.sum() < 40
    assert run_tasks(study, tmp_path / "s", workers=1, resume=True).done.all()


def test_results_wait_no_longer_than_writing_is_worth(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = cheap_study(3)
    clock = [0.0]
    monkeypatch.setattr("edgesim.studies.store.time.perf_counter", lambda: clock[0])
    store = open_store(tmp_path / "s", study)
    outcomes = [
        Outcome(i, attempt(study, i, p).values, None, 0.0) for i, p in enumerate(study.payloads)
    ]
    clock[0] = 0.9 * stores.FLUSH_SECONDS
    store.put(outcomes[0])
    assert not store.done.any()
    clock[0] = 1.1 * stores.FLUSH_SECONDS
    store.put(outcomes[1])
    assert store.done.tolist() == [True, True, False]
    assert read_store(tmp_path / "s").done.tolist() == [True, True, False]


def test_payloads_are_known_by_their_content() -> None:
    one = digests([{"a": 1.5, "b": [1, 2]}, {"a": 0.1}])
    other = digests([{"b": np.array([1, 2]), "a": np.float64(1.5)}, {"a": 0.1 + 1e-16}])
    assert one.shape == (2, 16)
    assert (one[0] == other[0]).all()
    assert (digests([{"a": 0.30000000000000004}])[0] != digests([{"a": 0.3}])[0]).any()
    with pytest.raises(InvalidParameterError, match="numbers, words"):
        digests([{"a": object()}])


def test_a_disk_that_is_too_small_is_refused_before_anything_is_written(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = cheap_study(100)
    needed = store_bytes(study)
    # 120 x 300 + 20 + 1 numbers of 8 bytes and an integer of 8.
    assert needed == 100 * (8 * (36000 + 20 + 1 + 1) + 64)
    check_disk(study, tmp_path, lambda _: 2 * needed)
    with pytest.raises(DataFileError, match=r"29 MB, and only 20 MB are free"):
        check_disk(study, tmp_path, lambda _: 20_000_000)
    monkeypatch.setattr("edgesim.studies.estimate.shutil.disk_usage", lambda _: Disk(1000))
    with pytest.raises(DataFileError, match="--output"):
        run_tasks(study, tmp_path / "new" / "s", workers=1)
    assert list(tmp_path.iterdir()) == []


class Disk:
    def __init__(self, free: int) -> None:
        self.free = free


def test_the_size_told_beforehand_is_never_less_than_the_size_found(
    cheap_study: Make, tmp_path: Path
) -> None:
    study = cheap_study(60)
    run_tasks(study, tmp_path / "s", workers=1)
    found = sum(map(len, contents(tmp_path / "s").values()))
    assert 0.5 * store_bytes(study) < found <= store_bytes(study)
    assert free_bytes(tmp_path / "not" / "there") > 0


def test_an_estimate_counts_runs_and_shares_their_time_among_workers(cheap_study: Make) -> None:
    cost = estimate(cheap_study(9, seconds=0.02), workers=2)
    assert (cost.tasks, cost.workers) == (9, 2)
    assert cost.seconds_a_task >= 0.02
    # Nine tasks on two workers take as long as five in a row.
    assert cost.seconds == pytest.approx(5 * cost.seconds_a_task)
    assert estimate(cheap_study(9), workers=2, tasks=4).tasks == 4


def test_an_estimate_rests_on_neighbours_that_share_what_the_study_shares() -> None:
    kept: dict[int, float] = {}

    def costly_when_new(_: None, payload: int) -> dict[str, float]:
        """As weather does: dear at the first of four neighbours, nothing at the others."""
        if payload // 4 not in kept:
            time.sleep(0.02)
            kept[payload // 4] = 1.0
        return {"value": float(payload)}

    cost = estimate(
        Study({"kind": "shared"}, costly_when_new, None, list(range(96)), {"value": Quantity()})
    )
    assert cost.measured == MOST_MEASURED
    # One measured task alone, run twice, had been told as nothing.
    assert cost.seconds_a_task >= 0.25 * 0.02


def test_one_worker_needs_no_cluster(cheap_study: Make) -> None:
    before = set(sys.modules)
    run_tasks(cheap_study(2), None, workers=1)
    assert not {"edgesim.studies.crew"} & (set(sys.modules) - before)
