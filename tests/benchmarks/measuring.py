"""Processor time and memory of work that runs inside this process."""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from typing import Any


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    """Processor time of one run, and what it gave.

    Not the clock on the wall: other processes on a busy machine would be counted too.
    """
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def peak_mib(work: Callable[[], Any]) -> float:
    """Largest memory that one run of Python and numpy held at once, beyond what was there."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()
