"""A long table through ``moldwin screen --between --no-target``, against every row worked out.

``python -m tests.benchmarks.screen_between COUNT`` answers a table of so many recipes by two
processes and prints recipes a second, processor time and the memory of the largest process. What
takes the same time for every table, working out some hundred recipes and laying surfaces through
them, is told apart: on a busy machine the clock on the wall says little.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from moldwin.advice.screen import SAMPLES, Screener, lay_between
from moldwin.advice.screening.check import Check, check
from moldwin.cli import _screen_run
from moldwin.cli._screen_run import Order, screen_table
from moldwin.inputs.read_job import read_job
from tests.benchmarks.measuring import peak_mib
from tests.benchmarks.row import Row
from tests.benchmarks.screen import BASE, PROCESSES, recipes
from tests.benchmarks.startup import ROOT

#: What is varied, and from where to where.
COLUMNS = list(recipes(0).columns)
LOW, HIGH = (20.0, 6.0, 1.0), (120.0, 18.0, 7.0)
#: Recipes timed, and those of them that are worked out one after another for the peer.
TABLE, COMPARED = 20_000, 100
#: Rows of the short and the long table whose memory is compared, by hand: ``COUNT`` above.
FLAT = 1.2


def table_of(count: int, seed: int = 5) -> pd.DataFrame:
    """Recipes all over the box, as a laboratory draws them."""
    drawn = np.random.default_rng(seed).uniform(LOW, HIGH, (count, len(LOW))).round(4)
    return pd.DataFrame(drawn, columns=COLUMNS)


def run() -> Row:
    """Recipes of one table by two processes, all it takes included; the peer in this one."""
    told = _in_another_process(TABLE)
    rows = Screener(COLUMNS, base=BASE, target=False)
    held = list(table_of(COMPARED, seed=77).itertuples(index=False, name=None))
    start = time.process_time()
    for cells in held:
        rows.answer(cells)
    peer_s = (time.process_time() - start) * TABLE / COMPARED
    found = _checked(held, rows)
    return Row(
        name="screen-between",
        ours_s=told["processor_s"],
        peer=f"every row worked out, without the target (by {COMPARED})",
        peer_s=peer_s,
        ratio=peer_s / told["processor_s"],
        gate=f"of {COMPARED} recipes drawn anew each number within what is asked in 95 %: "
        f"{found.why if not found.passed else 'all are'}; processor times of {TABLE} recipes; by"
        f" {PROCESSES} processes {told['rows_a_second']:.0f}/s on the wall, and"
        f" {told['further_rows_a_second']:.0f}/s beyond the surfaces; largest process"
        f" {told['peak_mib']:.0f} MiB",
        passed=found.passed,
        peak_mib=told["peak_mib"],
        peer_peak_mib=peak_mib(lambda: rows.answer(held[0])),
    )


def _checked(held: list[Any], rows: Screener) -> Check:
    """Recipes that no surface has seen, nor its check."""
    laid = lay_between(table_of(TABLE), base=BASE)
    looks = [rows.look(cells) for cells in held]
    read = laid.answers(held, lambda _: {})
    return check([look for look in looks if look is not None], read)


def _in_another_process(count: int) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.benchmarks.screen_between", str(count)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    told: dict[str, float] = json.loads(done.stdout)
    return told


def _answer(count: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as place:
        table = Path(place) / "recipes.csv"
        for start in range(0, count, 50_000):
            part = table_of(min(50_000, count - start), seed=5 + start)
            part.to_csv(table, index=False, mode="a", header=start == 0)
        options = {"samples": SAMPLES, "seed": 20260, "confidence": 0.7, "target": False}
        target = table.with_name("answers.csv")
        order = Order(table, target, table.name, read_job(BASE), options, PROCESSES, between=True)
        with _laying_timed() as laying:
            start_s, start_cpu = time.perf_counter(), _processor()
            tally = screen_table(order)
            wall, cpu = time.perf_counter() - start_s, _processor() - start_cpu
    if tally.errors or tally.rows != count:
        raise RuntimeError(f"the table was not answered: {tally}")
    return {
        "rows": count,
        "interpolated": tally.interpolated,
        "wall_s": wall,
        "laying_wall_s": laying[0],
        "processor_s": cpu,
        "rows_a_second": count / wall,
        "further_rows_a_second": count / (wall - laying[0]),
        "further_rows_a_processor_second": count / (cpu - laying[1]),
        "peak_mib": max(_own_peak(), _peak(resource.RUSAGE_CHILDREN)),
    }


@contextmanager
def _laying_timed() -> Iterator[list[float]]:
    """Seconds on the wall and of processors that laying surfaces takes."""
    told, lay = [0.0, 0.0], _screen_run._laid

    def timed(*given: Any) -> Any:
        start, cpu = time.perf_counter(), _processor()
        laid = lay(*given)
        told[:] = time.perf_counter() - start, _processor() - cpu
        return laid

    _screen_run._laid = timed
    try:
        yield told
    finally:
        _screen_run._laid = lay


def _processor() -> float:
    """Processor time of this process and of those it started that have ended. [s]"""
    used = [resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def _own_peak() -> float:
    """Most memory this process held; getrusage would count that of whoever started it. [MiB]"""
    status = Path("/proc/self/status")
    if not status.exists():
        return _peak(resource.RUSAGE_SELF)
    lines = status.read_text(encoding="ascii").splitlines()
    return float(next(line for line in lines if line.startswith("VmHWM")).split()[1]) / 1024.0


def _peak(who: int) -> float:
    return resource.getrusage(who).ru_maxrss / 1024.0


if __name__ == "__main__":
    print(json.dumps(_answer(int(sys.argv[1]))))
