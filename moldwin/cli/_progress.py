"""A bar for what takes seconds, while a person is looking."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["progress"]


@contextmanager
def progress(task: str, after: float = 0.0) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on stderr while a person is looking at it; nothing where it goes to a file.

    Parameters
    ----------
    task : str
        Word before the bar. [-]
    after : float, optional
        What is done sooner shows no bar. [s]

    Yields
    ------
    callable or None
        To be told how many of how many are done.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    number, shown_from = bar.add_task(task, total=None), time.monotonic() + after

    def tick(done: int, total: int) -> None:
        if time.monotonic() >= shown_from:
            bar.start()
        bar.update(number, completed=done, total=total)

    if after <= 0.0:
        bar.start()
    try:
        yield tick
    finally:
        bar.stop()
