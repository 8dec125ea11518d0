"""A thousand non-linear uptakes in one call, against scipy's LSODA, one thread each.

The diffusivity changes 1 to 55 times exponentially across the step, the Biot number (at the
geometric mean of the diffusivity) lies between 1 and 50, both even in their logarithms; half of
the slabs wet and half dry. LSODA gets the same kind of grid with as many cells as it needs, the
banded Jacobian, and the loosest tolerance with which it stays below the same error. Both are held
against a run of ours at a hundredth of the error, and that against LSODA on a grid six times
finer for some of the sets.
"""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from scipy.integrate import odeint

from moldwin.physics.pellet import ExponentialDiffusivity, Pellet
from moldwin.physics.uptake import uptake_curve
from tests.benchmarks.measuring import peak_mib, seconds
from tests.benchmarks.row import Row

COUNT = 1000
ERROR = 1e-4
NEEDED, GOAL = 20.0, 40.0
REPEATS = 5
#: LSODA's grid and tolerance, found by trial: fewer cells or a looser one miss the error.
CELLS, STEEPNESS, TOLERANCE = 56, 2.5, 3e-5
DRY, WET = 0.05, 0.15  # kg/kg
SLOPE = 5.0  # water activity per kg/kg
HALF, DENSITY = 1.5e-3, 1300.0
#: A step back by less than this share of the change is rounding.
ROUNDING = 1e-10


@dataclass(frozen=True)
class Sets:
    """Parameter sets; times run with each set's own pace."""

    growth: Any
    middle: Any  # diffusivity halfway between dry and wet
    film: Any
    start: Any
    end: Any
    times: Any

    @property
    def change(self) -> Any:
        return (self.end - self.start)[:, None]


def run(repeats: int = REPEATS) -> Row:
    """Medians: ours of all sets each time, LSODA in as many shares of the sets as there are runs.

    So both go through the same ups and downs of the machine, and LSODA's sets are all done once.
    """
    some = draw(COUNT)
    exact = ours(some, accuracy=ERROR / 100)
    finer = np.arange(0, COUNT, COUNT // 20)
    trusted = np.abs(peer(some, finer, 6 * CELLS, 1e-8) - exact[finer]).max() <= ERROR / 10
    our_times, peer_times, by_peer = [], [], np.empty_like(exact)
    found = ours(some)
    for share in range(repeats):
        taken, found = seconds(lambda: ours(some))
        our_times.append(taken)
        which = np.arange(share, COUNT, repeats)
        taken, by_peer[which] = seconds(partial(peer, some, which))
        peer_times.append(taken * COUNT / len(which))
    ours_s, peer_s = statistics.median(our_times), statistics.median(peer_times)
    our_error, peer_error = (np.abs(x - exact).max() for x in (found, by_peer))
    failed = int(np.sum(~np.isfinite(found).all(axis=1)))
    back = int(np.sum((np.diff(found, axis=1) < -ROUNDING).any(axis=1)))
    ratio = peer_s / ours_s
    return Row(
        name="diffusion-batch",
        ours_s=ours_s,
        peer=f"scipy.integrate.odeint (LSODA), banded, {CELLS} cells, tolerance {TOLERANCE:g}",
        peer_s=peer_s,
        ratio=ratio,
        gate=(
            f"both within {ERROR:g} of the change (ours {our_error:.1e}, LSODA {peer_error:.1e}), "
            f"{failed} failed, {back} not monotone of {COUNT}, "
            f"at least {NEEDED:g} times faster (goal {GOAL:g})"
        ),
        passed=bool(
            trusted
            and our_error <= ERROR
            and peer_error <= ERROR
            and failed == back == 0
            and ratio >= NEEDED
        ),
        peak_mib=peak_mib(lambda: ours(some)),
        peer_peak_mib=peak_mib(lambda: peer(some, np.arange(5))),
    )


def draw(count: int) -> Sets:
    """The sets, the same every time; the first ones stand at the corners of the ranges."""
    rng = np.random.default_rng(7)
    ratio = np.exp(rng.uniform(0.0, np.log(55.0), count))
    biot = np.exp(rng.uniform(0.0, np.log(50.0), count))
    ratio[:8], biot[:8] = [55.0] * 4 + [1.0] * 4, [50.0, 50.0, 1.0, 1.0] * 2
    wetting = np.arange(count) % 2 == 0
    middle = 1e-12 * np.exp(rng.uniform(-2.3, 2.3, count))
    pace = HALF**2 / middle
    return Sets(
        growth=np.log(ratio) / (WET - DRY),
        middle=middle,
        film=biot * DENSITY * middle / (HALF * SLOPE),
        start=np.where(wetting, DRY, WET),
        end=np.where(wetting, WET, DRY),
        times=np.geomspace(1e-3, 5.0, 30) * pace[:, None],
    )


def ours(some: Sets, accuracy: float = ERROR) -> Any:
    """Share of the change that is done, (sets, times)."""
    law = ExponentialDiffusivity(some.middle, some.growth, (DRY + WET) / 2)
    pellet = Pellet("slab", HALF, DENSITY, law, lambda x: SLOPE * x)
    air = SLOPE * some.end
    curve = uptake_curve(some.times, some.start, air, pellet, some.film, accuracy=accuracy)
    return (curve.mean - some.start[:, None]) / some.change


def peer(some: Sets, which: Any, cells: int = CELLS, tolerance: float = TOLERANCE) -> Any:
    """The same by LSODA, one set after another; moisture and time scaled to about 1.

    The potential of the exponential law gives the flux, so that the grid errs as little as ours.
    """
    number = np.arange(cells + 1) / cells
    place = 1.0 - np.expm1(STEEPNESS * (1.0 - number)) / np.expm1(STEEPNESS)
    edge = np.concatenate([[0.0], (place[1:] + place[:-1]) / 2, [1.0]])
    volume, link = np.diff(edge), 1.0 / np.diff(place)
    done = []
    for k in which:
        growth = some.growth[k] * (WET - DRY)
        biot = some.film[k] * HALF * SLOPE / (DENSITY * some.middle[k])
        start, end = (float((x[k] - DRY) / (WET - DRY)) for x in (some.start, some.end))
        rates = _Rates(growth, biot, end, volume, link)
        t = np.concatenate([[0.0], some.times[k] * some.middle[k] / HALF**2])
        y0, most = np.full(cells + 1, start), 10000
        y = odeint(rates, y0, t, ml=1, mu=1, rtol=tolerance, atol=tolerance, mxstep=most)
        done.append((y[1:] @ volume - start) / (end - start))
    return np.array(done)


class _Rates:
    """dy/dt of every node, in as few and short numpy calls as we know how."""

    def __init__(self, growth: float, biot: float, end: float, volume: Any, link: Any) -> None:
        self.growth = growth if abs(growth) > 1e-9 else 1e-9
        self.biot, self.end = biot, end
        self.link = link * np.exp(-self.growth / 2) / self.growth
        self.per_volume = 1.0 / volume

    def __call__(self, y: Any, t: float) -> Any:
        potential = np.expm1(self.growth * y)
        flow = self.link * (potential[1:] - potential[:-1])
        rate = np.empty_like(y)
        rate[:-1] = flow
        rate[-1] = self.biot * (self.end - y[-1])
        rate[1:] -= flow
        rate *= self.per_volume
        return rate
