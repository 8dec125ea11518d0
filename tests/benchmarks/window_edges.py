"""100 000 places where a melt just fills: all at once, against general root finders."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import brentq, elementwise

from moldwin.physics import viscosity
from moldwin.window.solve import solve_edges
from tests.benchmarks.row import Row

COUNT = 100_000
#: Samples that the loop is timed on; its time is multiplied up to ``COUNT``.
LOOPED = 2_000
REPEATS = 9
TOLERANCE = 1e-8
LOW, HIGH = 303.15, 573.15
#: Second constant of the Williams-Landel-Ferry law: its pole lies this far below Tg. [K]
_C2 = 51.6


class Melts(NamedTuple):
    """Each sample's numbers, shape (s,), in the order that `margin` takes them."""

    level: Any
    activation: Any
    n: Any
    tg: Any
    at_hand: Any


def margin(t: Any, level: Any, activation: Any, n: Any, tg: Any, at_hand: Any) -> Any:
    """ln of the pressure at hand over the pressure that filling needs.

    The melt's own Arrhenius law from Tg + 50 K on; below, the Williams-Landel-Ferry shift to the
    power of the flow index.
    """
    join = tg + viscosity.WLF_REACH
    stiffer = n * viscosity.wlf_below_reach(np.maximum(join - t, 0.0))
    return at_hand - (level + activation / np.maximum(t, join) + stiffer)


def melts(count: int = COUNT) -> Melts:
    """Starch melts with glycerol at a small press, as spread as the tool's own draws."""
    rng = np.random.default_rng(20260)
    activation = 5000.0 * np.exp(0.2 * rng.normal(size=count))
    n = rng.uniform(0.3, 0.5, count)
    plain = viscosity.consistency_log(
        433.15,
        rng.uniform(0.09, 0.15, count),
        rng.uniform(0.13, 0.23, count),
        pivot=900.0 * np.exp(0.5 * rng.normal(size=count)),
        n=n,
        activation=0.0,
        water_slope=17.0,
        glycerol_slope=10.0,
    )
    tg = rng.normal(330.0, 12.0, count)
    pressure = 20e6 * np.exp(0.3 * rng.normal(size=count))
    # a plate of 50 x 10 x 2 mm takes a few hundred times K to fill
    at_hand = np.log(pressure / rng.uniform(150.0, 400.0, count))
    return Melts(plain - activation / 433.15, activation, n, tg, at_hand)


def ours(of: Melts) -> Any:
    """Crossings by `solve_edges`, straightened for the law that most of them lie in."""
    return solve_edges(margin, LOW, HIGH, args=of, tolerance=TOLERANCE, straight=of.tg - _C2)


def find_root(of: Melts) -> Any:
    """The same by scipy, with the same tolerance."""
    absolute = {"xatol": TOLERANCE, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0}
    ends = np.full(COUNT, LOW), np.full(COUNT, HIGH)
    finder: Any = elementwise.find_root  # its stubs know of no further arguments
    return finder(margin, ends, args=tuple(of), tolerances=absolute).x


def brentq_loop(of: Melts) -> Any:
    """The same one by one, for the first samples."""
    first = zip(*(x[:LOOPED] for x in of), strict=True)
    return np.array([brentq(margin, LOW, HIGH, args=one, xtol=TOLERANCE) for one in first])


def truth(of: Melts) -> Any:
    """Crossings by halving in extended precision, the law written out once more."""
    level, activation, n, tg, at_hand = (x.astype(np.longdouble) for x in of)
    join = tg + 50
    low, high = np.full(COUNT, LOW, np.longdouble), np.full(COUNT, HIGH, np.longdouble)
    shift = np.log(np.longdouble(10)) * np.longdouble(17.44) * np.longdouble(51.6)
    top = np.longdouble(51.6) + 50
    for _ in range(50):  # 270 K / 2**50
        t = (low + high) / 2
        below = np.clip(join - t, 0, 60)
        needed = (
            level + activation / np.maximum(t, join) + n * shift * below / (top * (top - below))
        )
        fills = at_hand > needed
        low, high = np.where(fills, low, t), np.where(fills, t, high)
    return low


def run() -> Row:
    """Against scipy's own root finder for arrays."""
    of = melts()
    passed = _right(of)
    ours_s, peer_s = _medians(lambda: ours(of), lambda: find_root(of), REPEATS)
    return Row(
        name="window-edges",
        ours_s=ours_s,
        peer="scipy.optimize.elementwise.find_root, same margin, same tolerance",
        peer_s=peer_s,
        ratio=peer_s / ours_s,
        gate=f"all {COUNT} bracketed, none farther than {TOLERANCE:g} K from halving in "
        "extended precision",
        passed=passed,
        peak_mib=None,
        peer_peak_mib=None,
    )


def run_brentq() -> Row:
    """Against a loop of brentq."""
    of = melts()
    passed = _right(of)
    ours_s, some_s = _medians(lambda: ours(of), lambda: brentq_loop(of), 3)
    peer_s = some_s * COUNT / LOOPED
    return Row(
        name="window-edges-brentq",
        ours_s=ours_s,
        peer="a loop of scipy.optimize.brentq, same margin, same tolerance",
        peer_s=peer_s,
        ratio=peer_s / ours_s,
        gate=f"all {COUNT} bracketed, none farther than {TOLERANCE:g} K from halving in "
        f"extended precision; the loop's time is that of {LOOPED} samples, multiplied up",
        passed=passed,
        peak_mib=None,
        peer_peak_mib=None,
    )


def _right(of: Melts) -> bool:
    bracketed = (margin(LOW, *of) < 0) & (margin(HIGH, *of) > 0)
    return bool(bracketed.all() and np.max(np.abs(ours(of) - truth(of))) <= TOLERANCE)


def _medians(ours: Callable[[], Any], peer: Callable[[], Any], repeats: int) -> tuple[float, float]:
    """Median times [s] of alternating runs, after one of each."""
    ours(), peer()
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(repeats):
        for run, times in zip((ours, peer), taken, strict=True):
            start = time.perf_counter()
            run()
            times.append(time.perf_counter() - start)
    return statistics.median(taken[0]), statistics.median(taken[1])
