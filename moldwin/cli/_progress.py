"""A bar for what takes seconds, while a person is looking."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["progress"]


@contextmanager
def progress(task: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on stderr while a person is looking at it; nothing where it goes to a file.

    Parameters
    ----------
    task : str
        Word before the bar. [-]

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

    with Progress(console=Console(stderr=True), transient=True) as bar:
        number = bar.add_task(task, total=None)
        yield lambda done, total: bar.update(number, completed=done, total=total)
