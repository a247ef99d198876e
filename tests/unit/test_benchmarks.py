"""The programs that measure speed still run, and their twin in numpy still agrees."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.model.wave_field import solve_waves

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"


def test_the_compiled_march_agrees_with_its_numpy_twin(
    small_scenario: Callable[..., Any],
    build_member: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.syspath_prepend(str(BENCHMARKS))
    import numpy_march
    import speed

    member = build_member(small_scenario(), "walls and reef")
    arguments = speed.march_arguments(member)
    assert {*arguments, "result"} == set(inspect.signature(solve_waves).parameters)
    speed.re_solve(member, arguments)
    twin = numpy_march.march(**arguments, kind=np.float64)
    for name in twin._fields:
        expected = getattr(twin, name)
        found = getattr(member.work.waves, name)
        np.testing.assert_allclose(found, expected, atol=2e-6 * np.abs(expected).max())
    assert twin.gain.max() > 0.0
