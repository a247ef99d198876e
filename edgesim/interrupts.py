"""Ctrl-C where several processes work: the one that was started answers it, for all."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def interrupts_kept_from_children() -> Iterator[None]:
    """Start processes and threads that Ctrl-C does not reach: this process alone answers it.

    A blocked signal stays blocked in threads and processes that are started meanwhile, also in
    the workers that those threads start later in place of dead ones.
    """
    if (
        not hasattr(signal, "pthread_sigmask")
        or threading.current_thread() is not threading.main_thread()
    ):
        yield
        return
    # Its start would lift the block.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
