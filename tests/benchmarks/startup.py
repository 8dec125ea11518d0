"""The whole of ``moldwin advise`` as a process, against only importing the usual libraries."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from tests.benchmarks.row import Row

ROOT = Path(__file__).resolve().parents[2]
IMPORTS = "import numpy, scipy.stats, scipy.optimize, pandas, rich, typer"
OURS = [sys.executable, "-m", "moldwin", "advise", "--json"]
PEER = [sys.executable, "-c", IMPORTS]
REPEATS = 7


class Run(NamedTuple):
    """Wall time, peak memory, what was printed, exit code."""

    seconds: float
    peak_mib: float | None
    out: str
    code: int


def run(repeats: int = REPEATS) -> Row:
    """Medians of alternating runs, after one of each to warm the file caches."""
    once(OURS), once(PEER)
    ours, peer = [], []
    for _ in range(repeats):
        ours.append(once(OURS))
        peer.append(once(PEER))
    ours_s, peer_s = (statistics.median(r.seconds for r in runs) for runs in (ours, peer))
    return Row(
        name="startup",
        ours_s=ours_s,
        peer=f'python -c "{IMPORTS}"',
        peer_s=peer_s,
        ratio=peer_s / ours_s,
        gate="the JSON parses and has barrel.open; every process exits with 0",
        passed=all(answers(r) for r in ours) and all(r.code == 0 for r in peer),
        peak_mib=peak(ours),
        peer_peak_mib=peak(peer),
    )


def once(command: list[str]) -> Run:
    """One process from start to end, its output in a file so that no pipe slows it."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as out:
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=out, cwd=ROOT)
        memory = None
        if hasattr(os, "wait4"):
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            unit = 1 if sys.platform == "darwin" else 1024  # bytes there, KiB elsewhere
            memory = usage.ru_maxrss * unit / 2**20
        code = process.wait()
        seconds = time.perf_counter() - start
        out.seek(0)
        return Run(seconds, memory, out.read(), code)


def answers(run: Run) -> bool:
    """Whether a run printed an answer that a program can use."""
    try:
        answer = json.loads(run.out)
    except ValueError:
        return False
    return run.code == 0 and isinstance(answer.get("barrel", {}).get("open"), bool)


def peak(runs: list[Run]) -> float | None:
    """Largest memory of all runs. [MiB]"""
    known = [r.peak_mib for r in runs if r.peak_mib is not None]
    return max(known) if known else None
