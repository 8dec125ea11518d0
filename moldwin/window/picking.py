"""From chances to a setting and its ends: the one rule behind every window."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.window.edges import at_best_soak, best_index, unbroken, wide_enough
from moldwin.window.mold_best import MOLD_GRID

__all__ = ["FUMES_STOP", "NARROWEST", "Picked", "barrel_ends", "mold_ends", "pick"]

#: A heater cannot be held closer: a narrower range of set points is no window (assumed). [K]
NARROWEST = 2.0
#: Set points where this share of samples fumes are not advised, however well they mold (assumed).
FUMES_STOP = 0.05


@dataclass(frozen=True)
class Picked:
    """Chance at each set point's best soak (t,), which soak that is (t,), and the best set point.

    ``for_core``: the chances count the core's cooling too.
    """

    chances: Any
    by_soak: Any
    best: int
    for_core: bool


def pick(cells: Any, cooled: Callable[[tuple[int, int]], Any]) -> Picked:
    """The set point and soak that are advised.

    Parameters
    ----------
    cells : array, shape (t, k)
        Chance of the barrel alone by set point and soak. [-]
    cooled : callable
        Takes the set point and soak that those choose, gives the chances (t, k) that count the core
        too, or None where it changes nothing. [-]

    Returns
    -------
    Picked
        [-]
    """
    chances, by_soak = at_best_soak(cells)
    best = best_index(chances)
    cool = cooled((best, int(by_soak[best])))
    if cool is not None:
        chances, by_soak = at_best_soak(cool)
        best = best_index(chances)
    return Picked(chances, by_soak, best, cool is not None)


def barrel_ends(
    grid: Any, chances: Any, best: int, confidence: float, broken: Mapping[str, Any]
) -> tuple[float, float] | None:
    """Ends of the window: not beyond the heater or the fumes, and not too narrow to set.

    Parameters
    ----------
    grid, chances : array, shape (t,)
        Rising set points [K], and the chance at their best soaks [-].
    best : int
        Index of the best. [-]
    confidence : float
        Chance asked. [-]
    broken : mapping of str to array, shape (t,)
        Share of samples that ``"heater"`` and, where anything fumes, ``"fumes"`` break. [-]

    Returns
    -------
    tuple of float, or None
        [K]
    """
    ends = unbroken(grid, chances, best, confidence)
    if ends is None:
        return None
    # between two set points a straight line would lead past where the heater ends
    fine = broken["heater"] < 1.0
    if "fumes" in broken:
        fine = fine & (broken["fumes"] < FUMES_STOP)
    top = float(grid[fine][-1]) if fine.any() else float(grid[0])
    return wide_enough(ends[0], min(ends[1], top), NARROWEST)


def mold_ends(
    chances: Any, best: float, at_best: float, confidence: float, hottest: float
) -> tuple[float, float] | None:
    """Ends of the mold's window.

    Parameters
    ----------
    chances : array, shape (m,)
        On `MOLD_GRID`. [-]
    best : float
        Where the mold is kept. [K]
    at_best : float
        Chance there. [-]
    confidence : float
        Chance asked. [-]
    hottest : float
        How warm the mold can be held. [K]

    Returns
    -------
    tuple of float, or None
        [K]
    """
    place = int(np.searchsorted(MOLD_GRID, best))
    grid = np.insert(MOLD_GRID, place, best)
    ends = unbroken(grid, np.insert(chances, place, at_best), place, confidence)
    return None if ends is None else (ends[0], min(ends[1], hottest))
