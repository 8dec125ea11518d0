"""How warm to keep the mold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from moldwin.stages.bench import Bench
from moldwin.stages.molding import Cavity
from moldwin.window.edges import unbroken
from moldwin.window.judge import chance

__all__ = ["MOLD_GRID", "best_mold"]

#: Temperatures looked at. [K]
MOLD_GRID = np.arange(283.15, 423.16, 5.0)
#: The mold may be as warm as this share of its best chance to let the part go (assumed).
_LETS_GO = 0.75
#: Kept from there. [K]
_INSIDE = 10.0


def best_mold(bench: Bench, cavity: Cavity, margins: Mapping[str, Any] | None = None) -> float:
    """Where the mold is held, or near the warm end of what the part bears.

    Parameters
    ----------
    bench, cavity
        The job, the part in its mold. [SI]
    margins : mapping of str to array, optional
        Those of the cavity on `MOLD_GRID`, where they are known already. [K]

    Returns
    -------
    float
        [K]
    """
    held = bench.job.mold.temperature
    if held is not None:
        return held
    margins = cavity.margins(MOLD_GRID) if margins is None else margins
    # the part wants room at the warm end, the mold's heater none
    lets_go = chance({name: m for name, m in margins.items() if name != "mold-heater"})
    return min(_warm_side(lets_go), cavity.hottest)


def _warm_side(chances: Any) -> float:
    """A little inside the warm end of where the mold still lets most parts go. [K]

    Warm, because warmth helps to fill, and a part that is too soft can cool with its mold while a
    short one cannot be mended. Between the temperatures looked at, for a step here would be a kink
    in whatever is drawn over moisture.
    """
    asked = _LETS_GO * float(chances.max())
    warmest = int(np.flatnonzero(chances >= asked)[-1])
    low, high = unbroken(MOLD_GRID, chances, warmest, asked) or (MOLD_GRID[warmest],) * 2
    return float(max(high - _INSIDE, 0.5 * (low + high)))
