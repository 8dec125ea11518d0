"""First-order Sobol' indices of the Ishigami function, against scipy's, at equal error.

For each of the two the smallest number of samples is looked for that reaches the error, over
several seeds; then that many are timed, the function's own evaluations included.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from moldwin.window.sensitivity import first_order
from tests.benchmarks.measuring import peak_mib, seconds
from tests.benchmarks.row import Row

#: Root mean square error of the three indices, over the seeds.
ERROR = 0.01
SEEDS = range(20)
POWERS = range(6, 18)
REPEATS = 15
_A, _B = 7.0, 0.1


def ishigami(x: Any) -> Any:
    """Of three inputs between -pi and pi, shape (3, s)."""
    return np.sin(x[0]) + _A * np.sin(x[1]) ** 2 + _B * x[2] ** 4 * np.sin(x[0])


def exact() -> Any:
    """Its first-order indices in closed form (Ishigami & Homma 1990)."""
    first = 0.5 * (1.0 + _B * np.pi**4 / 5.0) ** 2
    second = _A**2 / 8.0
    both = _B**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    return np.array([first, second, 0.0]) / (first + second + both)


def ours(count: int, seed: int) -> Any:
    """One set of samples serves all inputs."""
    from scipy.stats import qmc

    x = np.pi * (2.0 * qmc.Sobol(3, rng=np.random.default_rng(seed)).random(count).T - 1.0)
    answer = ishigami(x)
    return np.array([first_order(row, answer) for row in x])


def scipys(count: int, seed: int) -> Any:
    """Saltelli's scheme: as many samples again for each input and two more."""
    from scipy.stats import sobol_indices, uniform

    dists = [uniform(loc=-np.pi, scale=2.0 * np.pi)] * 3
    found = sobol_indices(func=ishigami, n=count, dists=dists, rng=np.random.default_rng(seed))
    return found.first_order


def run() -> Row:
    """Processor times of one set of indices each, the better of alternating runs."""
    counts = [_enough(one) for one in (ours, scipys)]
    ours_s, peer_s = [], []
    for seed in range(REPEATS):
        ours_s.append(seconds(lambda seed=seed: ours(counts[0], seed))[0])
        peer_s.append(seconds(lambda seed=seed: scipys(counts[1], seed))[0])
    ratio = min(peer_s) / min(ours_s)
    return Row(
        name="sobol",
        ours_s=min(ours_s),
        peer="scipy.stats.sobol_indices",
        peer_s=min(peer_s),
        ratio=ratio,
        gate=f"root mean square error of three indices at most {ERROR:g} over {len(SEEDS)} seeds: "
        f"{counts[0]} samples for ours, {counts[1]} times 5 for the peer; not slower",
        passed=ratio >= 1.0,
        peak_mib=peak_mib(lambda: ours(counts[0], 0)),
        peer_peak_mib=peak_mib(lambda: scipys(counts[1], 0)),
    )


def _enough(indices: Callable[[int, int], Any]) -> int:
    """The smallest power of two whose error, and that of the next one, is small enough."""
    errors = {power: _error(indices, 2**power) for power in POWERS}
    for power in POWERS[:-1]:
        if max(errors[power], errors[power + 1]) <= ERROR:
            return int(2**power)
    raise RuntimeError(f"{indices.__name__} does not reach an error of {ERROR:g}: {errors}")


def _error(indices: Callable[[int, int], Any], count: int) -> float:
    off = [indices(count, seed) - exact() for seed in SEEDS]
    return float(np.sqrt(np.mean(np.square(off))))
