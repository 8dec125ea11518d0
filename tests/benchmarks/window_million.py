"""A million samples through every barrel limit, with quantiles, against whole arrays.

``python -m tests.benchmarks.window_million ours`` (or ``peer``) runs one of the two once and prints
its peak memory.
"""

from __future__ import annotations

import json
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from moldwin.base.draws import DEFAULT_SEED
from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.melting import Barrel
from moldwin.stages.shot import part_geometry, ram
from moldwin.stages.state import Material
from moldwin.window.judge import broken_shares, chance
from moldwin.window.stream import LimitQuantiles, limit_quantiles
from moldwin.window.windows import Setup
from tests.benchmarks.row import Row
from tests.benchmarks.startup import ROOT

COUNT = 1_000_000
REPEATS = 3
#: A setting at which several limits break: wet basis [kg/kg], [K], [s].
MOISTURE, SET_POINT, SOAK = 0.12, 413.15, 300.0
SHARES = (0.05, 0.5, 0.95)
MOST_MIB = 200.0
#: Two answers may differ by this many standard errors of independent samples.
_ERRORS = 4.0


class Whole(NamedTuple):
    """What the peer finds: the same as `LimitQuantiles`, and the margins themselves."""

    chance: float
    broken: dict[str, float]
    quantiles: dict[str, Any]
    margins: dict[str, Any]


class Ready(NamedTuple):
    """The job on the samples that the advice uses, and the mold temperature it chose. [K]"""

    setup: Setup
    t_mold: float


def make_ready() -> Ready:
    """What both start from."""
    setup = Setup(Bench(read_job(shipped("examples") / "starch-glycerol-bar.toml")))
    return Ready(setup, setup.window(MOISTURE).mold.best)


def ours(ready: Ready) -> LimitQuantiles:
    """In parts, on one thread."""
    return limit_quantiles(ready.setup, MOISTURE, SET_POINT, SOAK, COUNT, shares=SHARES)


def peer(ready: Ready) -> Whole:
    """The same stages with all samples at once, and numpy's quantiles of whole arrays."""
    bench = Bench(ready.setup.bench.job, seed=DEFAULT_SEED + 1, count=COUNT)
    geometry, material = part_geometry(bench), Material(bench)
    state, reach = material.at(MOISTURE), ram(bench, geometry)
    barrel = Barrel(bench, material.blend, state, geometry, reach, ready.t_mold)
    margins = barrel.margins(np.array([SET_POINT]), np.array([SOAK]))
    flat = {name: margin[0, 0] for name, margin in margins.items()}
    return Whole(
        chance=float(chance(flat)),
        broken={name: float(share) for name, share in broken_shares(flat).items()},
        quantiles={name: np.quantile(margin, SHARES) for name, margin in flat.items()},
        margins=flat,
    )


def run() -> Row:
    """Medians of alternating runs in this process; memory in a process for each."""
    memory = {name: _peak_of(name) for name in ("ours", "peer")}
    ready = make_ready()
    ours_s, peer_s = [], []
    passed = True
    for _ in range(REPEATS):
        start = time.perf_counter()
        mine = ours(ready)
        ours_s.append(time.perf_counter() - start)
        start = time.perf_counter()
        whole = peer(ready)
        peer_s.append(time.perf_counter() - start)
        passed = passed and _same(mine, whole)
        del whole
    mine_s, whole_s = statistics.median(ours_s), statistics.median(peer_s)
    return Row(
        name="window-million",
        ours_s=mine_s,
        peer="numpy: one bench of a million samples, numpy.quantile of whole arrays",
        peer_s=whole_s,
        ratio=whole_s / mine_s,
        gate=f"chance, broken shares and quantiles the same within {_ERRORS:g} standard errors of "
        f"independent samples; at most {MOST_MIB:g} MiB",
        passed=passed and memory["ours"] <= MOST_MIB,
        peak_mib=memory["ours"],
        peer_peak_mib=memory["peer"],
    )


def _same(mine: LimitQuantiles, whole: Whole) -> bool:
    """Whether two draws of a million samples tell the same."""
    if set(mine.quantiles) != set(whole.quantiles):
        return False
    shares = [(mine.chance, whole.chance)]
    shares += [(mine.broken[name], whole.broken[name]) for name in whole.broken]
    found = [abs(a - b) <= _error(b) for a, b in shares]
    for name, margins in whole.margins.items():
        for share, value in zip(mine.shares, mine.quantiles[name], strict=True):
            # judged by its rank: the same for every unit, and right for margins with a jump
            below, up_to = np.mean(margins < value), np.mean(margins <= value)
            found.append(below - _error(share) <= share <= up_to + _error(share))
    return all(found)


def _error(share: float) -> float:
    """Largest difference of a share between two draws, one sample more where hardly any has it."""
    variance = max(share * (1.0 - share), 1.0 / COUNT)
    return _ERRORS * float(np.sqrt(2.0 * variance / COUNT))


def _peak_of(name: str) -> float:
    command = [sys.executable, "-m", "tests.benchmarks.window_million", name]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return float(json.loads(done.stdout)["peak_mib"])


def _own_peak() -> float:
    """Peak memory of this process. [MiB]

    Where the system tells it, that of the program alone: ``getrusage`` may count in what the
    process that started this one had used.
    """
    status = Path("/proc/self/status")
    if status.exists():
        lines = [line.split() for line in status.read_text().splitlines()]
        return next(float(line[1]) for line in lines if line[0] == "VmHWM:") / 1024.0
    unit = 1 if sys.platform == "darwin" else 1024  # bytes there, KiB elsewhere
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 2**20


if __name__ == "__main__":
    {"ours": ours, "peer": peer}[sys.argv[1]](make_ready())
    print(json.dumps({"peak_mib": _own_peak()}))
