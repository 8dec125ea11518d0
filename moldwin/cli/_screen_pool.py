"""Chunks of a table through some processes, in their order."""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from moldwin.inputs.errors import Fault, InputError

__all__ = ["by_processes", "settle_worker"]

#: Chunks that wait for a process, for each of them.
_AHEAD = 2


def by_processes(
    count: int,
    start: Callable[..., None],
    make: tuple[Any, ...],
    work: Callable[[Any], Any],
    chunks: Iterable[Sequence[Any]],
) -> Iterator[tuple[int, Any]]:
    """How many rows each chunk has, and what ``work`` makes of it; few are ever on their way.

    Parameters
    ----------
    count : int
        Processes. [-]
    start : callable
        Makes a process ready, once, with ``make``. [-]
    make : tuple
        What it is given. [-]
    work : callable
        Takes a chunk. [-]
    chunks : iterable of sequence
        Rows. [-]

    Raises
    ------
    InputError
        A process was ended from outside.
    """
    from multiprocessing import active_children, get_context

    others = set(active_children())
    pool = ProcessPoolExecutor(count, get_context("spawn"), start, make)
    waiting: deque[tuple[int, Future[Any]]] = deque()
    try:
        for chunk in chunks:
            waiting.append((len(chunk), pool.submit(work, chunk)))
            if len(waiting) >= count * _AHEAD:
                rows, answer = waiting.popleft()
                yield rows, answer.result()
        for rows, answer in waiting:
            yield rows, answer.result()
    except BrokenProcessPool:
        message = "one of the processes was ended from outside; the same command goes on"
        raise InputError([Fault("--processes", "", message)]) from None
    except BaseException:
        for worker in set(active_children()) - others:
            worker.terminate()  # nobody waits for what they are at
        raise
    finally:
        waiting.clear()
        pool.shutdown(cancel_futures=True)
        del pool  # with it go what the system counts as its locks


def settle_worker() -> None:
    """Ctrl-C is the parent's to hear, and nobody outlives it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()


def _leave_with_parent() -> None:
    from multiprocessing import connection, parent_process

    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)
