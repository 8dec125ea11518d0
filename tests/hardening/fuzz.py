"""Feed spoiled files to every reader, in one process, and tell whatever was not a plain refusal.

``python -m tests.hardening.fuzz 100000 --seed 1`` prints each distinct fault with the case that
found it; ``--only KIND:NUMBER`` runs that case alone and shows where it fell.
"""

from __future__ import annotations

import argparse
import faulthandler
import os
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from moldwin.inputs.errors import InputError
from tests.hardening.kinds import KINDS, Case

__all__ = ["Findings", "Slow", "fuzz", "main", "run_case"]

#: A case that computes longer hangs, for whoever waits at the bench. [s of this process]
_MOST_SECONDS = 60.0
_STUCK_SECONDS = 900.0
_MOST_BYTES = 3 << 30


class Slow(Exception):
    """A case that took longer than anyone waits."""


@dataclass
class Findings:
    """What a run found: how many cases were refused, taken, and fell."""

    done: Counter[str] = field(default_factory=Counter)
    faults: Counter[str] = field(default_factory=Counter)
    first: dict[str, str] = field(default_factory=dict)
    slowest: dict[str, tuple[float, str]] = field(default_factory=dict)

    def time(self, case: str, seconds: float) -> None:
        """Keep the slowest case of each kind."""
        kind = case.partition(":")[0]
        self.slowest[kind] = max(self.slowest.get(kind, (0.0, "")), (seconds, case))

    def note(self, case: str, error: BaseException) -> None:
        name = _place(error)
        self.faults[name] += 1
        if self.first.setdefault(name, case) == case:
            print(f"{name}\n    --only {case}", file=sys.stderr, flush=True)

    def __str__(self) -> str:
        lines = [f"{count:8d}  {name}" for name, count in sorted(self.done.items())]
        lines.append(f"{len(self.faults)} distinct faults")
        for name, count in self.faults.most_common():
            lines.append(f"{count:8d}  {name}\n          first: --only {self.first[name]}")
        lines.append("the slowest of each kind, in seconds of this process")
        for seconds, case in sorted(self.slowest.values(), reverse=True):
            lines.append(f"{seconds:8.2f}  --only {case}")
        return "\n".join(lines)


def _place(error: BaseException) -> str:
    """Kind of error, the last line of ours it went through, and the start of what it said."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if f"{os.sep}moldwin{os.sep}" in f.filename] or frames
    place = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "?"
    return f"{type(error).__name__} at {place}: {str(error)[:110]}"


def run_case(kind: str, seed: int, number: int, folder: Path) -> bool:
    """One case; False where it was refused in words. Anything else that is raised is a fault."""
    case = Case(kind, seed, number)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            KINDS[kind][0](case, folder)
        except InputError as error:
            if not error.faults:
                raise RuntimeError("a refusal that says nothing") from None
            return False
        except Exception as error:
            error.add_note(f"fed: {case.data[:2000]!r}")
            raise
    return True


def _too_slow(signal_number: int, frame: FrameType | None) -> None:
    raise Slow("computes longer than anyone waits")


@contextmanager
def _patience(most: float) -> Iterator[None]:
    """Stop what computes longer than ``most`` seconds of this process."""
    before = signal.signal(signal.SIGPROF, _too_slow)
    signal.setitimer(signal.ITIMER_PROF, most)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def fuzz(
    count: int,
    seed: int,
    folder: Path,
    *,
    seconds: float = float("inf"),
    most: float = _MOST_SECONDS,
    start: int = 0,
    kinds: Sequence[str] = (),
) -> Findings:
    """Cases one after another, from ``start``, until ``count`` is reached or the time is over."""
    found = Findings()
    draw = random.Random(seed)
    names = list(kinds or KINDS)
    weights = [KINDS[name][1] for name in names]
    end = time.monotonic() + seconds
    for number in range(count):
        kind = draw.choices(names, weights)[0]
        if number < start:
            continue
        if time.monotonic() > end:
            break
        begun = time.process_time()
        try:
            with _patience(most):
                taken = run_case(kind, seed, number, folder)
            found.done[f"{kind}, {'taken' if taken else 'refused'}"] += 1
        except Exception as error:
            found.note(f"{kind}:{number}", error)
            found.done[f"{kind}, fell"] += 1
        found.time(f"{kind}:{number}", time.process_time() - begun)
        if number % 5000 == 4999 and count > 5000:
            print(f"{number + 1} cases, {len(found.faults)} faults", file=sys.stderr, flush=True)
    return found


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.hardening.fuzz", description=__doc__)
    parser.add_argument("count", nargs="?", type=int, default=1000, help="cases")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=int, default=0, metavar="NUMBER", help="go on from here")
    parser.add_argument("--only", metavar="KIND:NUMBER", help="this case alone")
    parser.add_argument("--kinds", nargs="+", choices=list(KINDS), default=(), help="these only")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so many")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if asked.only:
            kind, _, number = asked.only.partition(":")
            print("taken" if run_case(kind, asked.seed, int(number), folder) else "refused")
            return 0
        resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
        faulthandler.dump_traceback_later(max(_STUCK_SECONDS, 2 * asked.count), exit=True)
        found = fuzz(
            asked.count,
            asked.seed,
            folder,
            seconds=asked.seconds,
            start=asked.start,
            kinds=asked.kinds,
        )
        faulthandler.cancel_dump_traceback_later()
    print(found)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{sum(found.done.values())} cases, peak memory {peak:.0f} MiB")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
