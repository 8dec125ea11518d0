"""Vapor pressure of water at a million temperatures, against CoolProp's HEOS backend."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.memory import keep_memory
from moldwin.physics.vapor import water_saturation_pressure
from tests.benchmarks.measuring import peak_mib, seconds
from tests.benchmarks.row import Row

COUNT = 1_000_000
#: From the triple point to where both formulations still hold well. [K]
LOW, HIGH = 273.16, 640.0
WITHIN = 2e-4
NEEDED = 50.0
REPEATS = 10


def ours(t: Any) -> Any:
    """IF97, region 4, every check on."""
    return water_saturation_pressure(t)


def heos(t: Any) -> Any:
    """All at once, as its high-level interface takes arrays; the backend's own settings."""
    from CoolProp.CoolProp import PropsSI

    return PropsSI("P", "T", t, "Q", 0, "HEOS::Water")


def run() -> Row:
    """Processor times, the best of some runs each."""
    keep_memory()  # as every command does
    t = np.linspace(LOW, HIGH, COUNT)
    # one after the other: each would throw the other's arrays out of the cache
    peer_s, theirs = min((seconds(lambda: heos(t)) for _ in range(REPEATS)), key=_time)
    ours_s, mine = min((seconds(lambda: ours(t)) for _ in range(2 * REPEATS)), key=_time)
    error = float(np.abs(mine / theirs - 1.0).max())
    ratio = peer_s / ours_s
    return Row(
        name="vapor-pressure",
        ours_s=ours_s,
        peer="CoolProp HEOS::Water, PropsSI of the whole array",
        peer_s=peer_s,
        ratio=ratio,
        gate=f"every pressure within {WITHIN:g} of HEOS (largest {error:.2g}), and at least "
        f"{NEEDED:g} times faster",
        passed=error <= WITHIN and ratio >= NEEDED,
        peak_mib=peak_mib(lambda: ours(t)),
        peer_peak_mib=peak_mib(lambda: heos(t)),
    )


def _time(timed: tuple[float, Any]) -> float:
    return timed[0]
