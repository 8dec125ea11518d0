"""At each barrel temperature: how long to soak, how sure that is, and what fails first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.window.judge import broken_shares, chance
from moldwin.window.windows import Setup, Window

__all__ = ["SoakRow", "soak_table"]

_MOST_ROWS = 8
#: Soaks looked at, as multiples of the barrel's time constant; beyond, everything is even.
_MULTIPLES = np.concatenate([np.arange(1.2, 5.0, 0.2), np.geomspace(5.0, 40.0, 12)])


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
        Soak of the best chance. [s]
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


def soak_table(setup: Setup, window: Window) -> list[SoakRow]:
    """Soak and chance at round barrel temperatures across the window, or about the best.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]

    Returns
    -------
    list of SoakRow
        Rising temperatures, at most eight. [SI]
    """
    stage, barrel = window.barrel_stage, window.barrel
    temperatures = _round_temperatures(barrel.low, barrel.best, barrel.high)
    soaks = float(np.median(stage.warming.time_constant)) * _MULTIPLES
    margins = stage.margins(temperatures, soaks)
    cells = chance(margins)
    shares = broken_shares(margins)
    rows = []
    for i, t in enumerate(temperatures):
        best = int(cells[i].argmax())
        fits = np.flatnonzero(cells[i] >= setup.confidence)
        here = {name: _at(share, i, best) for name, share in shares.items()}
        rows.append(
            SoakRow(
                barrel=float(t),
                shortest=float(soaks[fits[0]]) if fits.size else None,
                longest=float(soaks[fits[-1]]) if fits.size else None,
                best=float(soaks[best]),
                chance=float(cells[i, best]),
                fails_first=max(here, key=lambda name: here[name]),
            )
        )
    return rows


def _round_temperatures(low: float | None, best: float, high: float | None) -> Any:
    """Set points in steps of 5 or 10 °C that cover the window, or 20 °C about the best."""
    bottom = (low if low is not None else best - 20.0) - 273.15
    top = (high if high is not None else best + 20.0) - 273.15
    step = 5.0 if top - bottom <= 5.0 * (_MOST_ROWS - 1) else 10.0
    celsius = np.arange(np.ceil(bottom / step) * step, top + 1e-6, step)
    if celsius.size == 0:
        celsius = np.array([best - 273.15])
    return celsius[:_MOST_ROWS] + 273.15


def _at(share: Any, i: int, k: int) -> float:
    """A share at one set point and soak, whichever of the two it depends on."""
    share = np.asarray(share)
    return float(share[min(i, share.shape[0] - 1), min(k, share.shape[1] - 1)])
