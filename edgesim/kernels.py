"""The one decorator for compiled scalar formulas and loops.

numba's disk cache looks only at the file of the function itself: it would go
on using an old formula that was inlined from another file. The cache therefore
lives in a folder named after the content of every source file that a kernel can
reach, so that a change there compiles anew and a stale formula can never be run.
Rooms to the right of the model are left out: no kernel can import from them.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., Any])


ROOMS = ("processes", "scenario", "forcing", "model")
"""Rooms whose source can end up in compiled code, beside the base."""


def source_fingerprint() -> str:
    """Short hash of all Python source that a kernel can reach and of numba's version."""
    digest = hashlib.sha256(numba.__version__.encode())
    root = Path(__file__).parent
    sources = [
        *root.glob("*.py"),
        *(path for room in ROOMS for path in (root / room).rglob("*.py")),
    ]
    for path in sorted(sources):
        digest.update(path.relative_to(root).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> str:
    base = os.environ.get("NUMBA_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME")
    root = Path(base) if base else Path.home() / ".cache"
    return str(root / "edgesim" / source_fingerprint())


numba.config.CACHE_DIR = _cache_folder()  # type: ignore[attr-defined,unused-ignore]


def kernel(function: Function) -> Function:
    """Compile `function` with numba, cached on disk, IEEE arithmetic kept.

    Kernels take numbers and arrays, check nothing and write to arrays they are
    given; ``error_model="numpy"`` lets a division by zero give inf, as in numpy. A
    kernel called by a kernel is compiled into it: so the first run starts sooner.
    """
    compiled = numba.njit(cache=True, error_model="numpy", inline="always")(function)
    return cast(Function, compiled)
