"""At each barrel temperature: how long to soak, how sure that is, and what fails first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from moldwin.stages.melting import Barrel
from moldwin.window.edges import unbroken
from moldwin.window.judge import broken_shares, chance

if TYPE_CHECKING:  # windows ask this module how long a charge may be held
    from moldwin.window.windows import Setup, Window

__all__ = ["LONGEST", "SoakRow", "longest_hold", "soak_table"]

#: The longest soak looked at; a charge that bears it is no news for a press. [s]
LONGEST = 24 * 3600.0
_MOST_ROWS = 7
#: Soaks looked at between a warm skin and an even charge, as multiples of the time constant.
_MULTIPLES = np.arange(1.2, 5.0, 0.2)
#: Soaks looked at beyond, up to the longest.
_BEYOND = 24


@dataclass(frozen=True)
class SoakRow:
    """One barrel temperature.

    Parameters
    ----------
    barrel : float
        Set point. [K]
    shortest, longest : float or None
        Soaks between which the chance reaches what is asked; ``None`` where none does. [s]
    best : float
        Soak of the best chance, of those that every window is judged at. [s]
    chance : float
        That chance. [-]
    fails_first : str
        The limit that breaks most samples at the best soak. [-]
    """

    barrel: float
    shortest: float | None
    longest: float | None
    best: float
    chance: float
    fails_first: str


def longest_hold(stage: Barrel, t_set: float, soak: float, asked: float) -> float:
    """How long a charge may stay hot until the chance of all limits falls to what is asked.

    Parameters
    ----------
    stage : Barrel
        The barrel at one moisture. [-]
    t_set : float
        Set point. [K]
    soak : float
        The soak that is advised there. [s]
    asked : float
        Chance that must be left, at most that of the advised soak. [-]

    Returns
    -------
    float
        Time from loading, ``LONGEST`` where it is longer than that. [s]
    """
    soaks = np.geomspace(soak, max(LONGEST, 1.01 * soak), _BEYOND)
    chances = chance(stage.margins(np.array([t_set]), soaks))[0]
    return _ends(soaks, chances, 0, asked)[1]


def soak_table(setup: Setup, window: Window) -> list[SoakRow]:
    """Soak and chance at set points across the window, or about the best where it is closed.

    Best soak and chance are those of the window itself, so that table, map and advice agree; how
    far one may depart from the soak is looked for among many more.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]

    Returns
    -------
    list of SoakRow
        Rising temperatures, at most seven, the best among them. [SI]
    """
    stage, barrel = window.barrel_stage, window.barrel
    reached = barrel.grid[barrel.grid <= setup.hottest + 1e-6]
    at = _rows(reached, barrel.low, barrel.best, barrel.high)
    soaks = np.union1d(setup.soaks, _soaks_of(float(np.median(stage.warming.time_constant))))
    margins = stage.margins(barrel.grid[at], soaks)
    cells, shares = chance(margins), broken_shares(margins)
    rows = []
    for i, place in enumerate(at):
        best = int(np.searchsorted(soaks, barrel.soaks[place]))
        enough = cells[i, best] >= setup.confidence
        ends = _ends(soaks, cells[i], best, setup.confidence) if enough else (None, None)
        here = {name: _at(share, i, best) for name, share in shares.items()}
        rows.append(
            SoakRow(
                barrel=float(barrel.grid[place]),
                shortest=ends[0],
                longest=ends[1],
                best=float(soaks[best]),
                chance=float(cells[i, best]),
                fails_first=max(here, key=lambda name: here[name]),
            )
        )
    return rows


def _soaks_of(time_constant: float) -> Any:
    """Soaks worth a look in a barrel of this time constant. [s]"""
    near = time_constant * _MULTIPLES
    far = np.geomspace(1.1 * near[-1], max(LONGEST, 1.2 * near[-1]), _BEYOND)
    return np.concatenate([near, far])


def _ends(soaks: Any, chances: Any, best: int, asked: float) -> tuple[float, float]:
    """Shortest and longest soak round the best one whose chance is what is asked. [s]"""
    found = unbroken(np.log(soaks), chances, best, min(asked, float(chances[best])))
    low, high = found or (np.log(soaks[best]), np.log(soaks[best]))
    return float(np.exp(low)), float(np.exp(high))


def _rows(grid: Any, low: float | None, best: float, high: float | None) -> list[int]:
    """Places on the grid that cover the window evenly from the best, or 20 K about it."""
    bottom = low if low is not None else best - 20.0
    top = high if high is not None else best + 20.0
    inside = np.flatnonzero((grid >= bottom - 1e-6) & (grid <= top + 1e-6))
    if inside.size == 0:  # a window between two set points of the grid
        inside = np.array([np.abs(grid - best).argmin()])
    stride = -(-inside.size // (_MOST_ROWS - 1))
    middle = int(np.abs(grid - best).argmin())
    return [int(i) for i in inside if (i - middle) % stride == 0]


def _at(share: Any, i: int, k: int) -> float:
    """A share at one set point and soak, whichever of the two it depends on."""
    share = np.asarray(share)
    return float(share[min(i, share.shape[0] - 1), min(k, share.shape[1] - 1)])
