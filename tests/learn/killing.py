"""Writers killed at random moments, and what their books hold afterwards.

A program of its own, ``python -m tests.learn.killing FOLDER ROUNDS SEED``: it forks, which a test
process full of threads should not. Prints one JSON object.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from moldwin.learn.book import add_trials, read_trials
from tests.learn.sample import FULL, trial

__all__ = ["run"]

_BATCH = 5
#: Rounds that share a book; the first of them is killed while it may still be making the file.
_ROUNDS_A_BOOK = 5
#: A writer lives for up to this many writes of this machine at this hour.
_WRITES = 5


def run(folder: Path, rounds: int, seed: int) -> dict[str, int]:
    """Kill that many writers; an `AssertionError` is a trial lost or halved."""
    chance = random.Random(seed)
    told = {"rounds": rounds, "acknowledged": 0, "cut_off": 0, "without_a_book": 0}
    acknowledged: set[str] = set()
    longest = _WRITES * _seconds_a_write(folder / "trials.sqlite")
    for number in range(rounds):
        book = folder / f"{number // _ROUNDS_A_BOOK}" / "trials.sqlite"
        if number % _ROUNDS_A_BOOK == 0:
            book.parent.mkdir()
            acknowledged = set()
        new = _killed_writer(book, chance.uniform(0.0, longest))
        acknowledged |= new
        told["acknowledged"] += len(new)
        told["cut_off"] += book.with_name("trials.sqlite-journal").exists()
        told["without_a_book"] += not book.exists()
        _check(book, acknowledged)
    return told


def _seconds_a_write(book: Path) -> float:
    add_trials(book, [trial(**FULL)])
    start = time.perf_counter()
    for _ in range(20):
        add_trials(book, [trial(**FULL)])
    return (time.perf_counter() - start) / 20


def _killed_writer(book: Path, after: float) -> set[str]:
    """Ids that the writer was told are safe before it died."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        _write_until_killed(book, write)
    os.close(write)
    os.read(read, 1)  # it is about to write
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(read) as pipe:
        lines = pipe.read().split("\n")[:-1]  # the last may be half written
    return set(lines)


def _write_until_killed(book: Path, pipe: int) -> None:
    try:
        os.write(pipe, b".")
        while True:
            one, many = trial(**FULL), [trial(lot=f"{time.time_ns()}") for _ in range(_BATCH)]
            for trials in ([one], many):
                kept = add_trials(book, trials).trials
                os.write(pipe, "".join(f"{t.id}\n" for t in kept).encode())
    finally:
        os._exit(1)  # the parent sees lost acknowledgments, never a second test run


def _check(book: Path, acknowledged: set[str]) -> None:
    kept = read_trials(book)
    assert acknowledged <= {t.id for t in kept}, "an acknowledged trial is lost"
    for t in kept:
        assert t.noted() == FULL or t.barrel_c is None, "a trial is half there"
    lots = [t.lot for t in kept if t.noted() != FULL]
    assert len(lots) % _BATCH == 0, "a batch is half there"
    again = add_trials(book, [trial(note="after the kill", **{"lot": "1"}) for _ in range(_BATCH)])
    assert len(read_trials(book)) == len(kept) + len(again.trials)


if __name__ == "__main__":
    sys.stdout.write(json.dumps(run(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))))
