"""What to measure next: how much each cheap measurement would narrow the barrel window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.answer import Measurement
from moldwin.window import judge
from moldwin.window.windows import Setup, Window

__all__ = ["measure_next", "own_middle"]

_MOST = 5
#: A measurement that narrows by less than this share is not worth an evening.
_WORTH = 0.03
#: Samples that must work somewhere before their own windows are compared.
_ENOUGH = 100
_T_TEST = 403.15


@dataclass(frozen=True)
class _Test:
    """A measurement: its reading on every sample, and how far a reading may be off."""

    what: str
    how: str
    key: str
    minutes: float
    reading: Any
    u: float
    hot: bool = False


def measure_next(setup: Setup, window: Window, *, heating: bool = True) -> list[Measurement]:
    """Measurements by how much of the width of the best barrel temperature they take away.

    Each sample has its own window; its middle is what nobody knows. The linear update with the
    measurement's own error says how much of its spread would be left.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]
    heating : bool
        Whether the page tells to heat; if not, nothing is asked for that needs a hot press. [-]

    Returns
    -------
    list of Measurement
        The most telling first. [K, min]
    """
    middle, kept = own_middle(setup, window)
    width = float(np.subtract(*np.quantile(middle, [0.95, 0.05])))
    spread = float(middle.std())
    found = []
    for test in _tests(setup, window):
        if test.hot and not heating:
            continue
        reading = np.broadcast_to(test.reading, kept.shape)[kept]
        left = _left(middle, reading, test.u)
        if spread > 0 and left < 1.0 - _WORTH:
            found.append(
                Measurement(test.what, test.how, test.key, width, width * left, test.minutes)
            )
    return sorted(found, key=lambda m: m.width_after)[:_MOST]


def _left(middle: Any, reading: Any, u: float) -> float:
    """Share of the spread of the answer that is left after the reading."""
    a, r = middle - middle.mean(), reading - reading.mean()
    variance = float(a @ a) * (float(r @ r) + len(r) * u * u)
    if variance == 0.0:
        return 1.0
    return float(np.sqrt(max(0.0, 1.0 - float(a @ r) ** 2 / variance)))


def own_middle(setup: Setup, window: Window) -> tuple[Any, Any]:
    """Middle of each sample's own window, and which samples have one. [K]

    Where hardly any sample works at all, the lowest temperature that fills stands in.
    """
    barrel = window.barrel
    margins = window.barrel_stage.margins(barrel.grid, np.array([barrel.soak]))
    verdict = judge.holds(margins)[:, 0]
    works = verdict.any(axis=0)
    if works.sum() >= _ENOUGH:
        weights = verdict[:, works]
        return (barrel.grid[:, None] * weights).sum(0) / weights.sum(0), works
    return _lowest_that_fills(window), np.ones_like(works)


def _lowest_that_fills(window: Window) -> Any:
    """Temperature at which each sample would fill, carried on past the grid where none does. [K]"""
    at = np.array([_T_TEST, _T_TEST + 20.0])
    soak = np.array([window.barrel.soak])
    cold, warm = _finite(window.barrel_stage.margins(at, soak)["fill"][:, 0])
    slope = np.maximum((warm - cold) / 20.0, 1e-3)
    return _T_TEST - np.clip(cold / slope, -300.0, 300.0)


def _finite(margin: Any) -> Any:
    """A jammed melt needs endless pressure: the largest that still compares."""
    return np.clip(margin, -50.0, 50.0)


def _tests(setup: Setup, window: Window) -> list[_Test]:
    bench, stage = setup.bench, window.barrel_stage
    soak = np.array([window.barrel.soak])
    fill = _finite(stage.margins(np.array([_T_TEST]), soak)["fill"][0, 0])
    wall = stage.true_temperature(np.array([_T_TEST]))
    brown = np.log(stage.browning_dose(wall, np.array([[600.0]])))[0, 0]
    shot = setup.geometry.given
    return [
        _Test(
            "how far a short shot fills",
            f"press one shot at {window.barrel.best - 273.15:.0f} °C after the soak and weigh the"
            " part: how full it is tells how stiff the melt is",
            "trial.fill_pct" if shot else "trial.part_g",
            40.0,
            fill,
            0.25,
            hot=True,
        ),
        _Test(
            "a gram between baking paper on a hot plate",
            "at a plate temperature you know, for the soak time: note when it flows and its color",
            "trial.color",
            20.0,
            brown,
            0.4,
        ),
        _Test(
            "the temperature at which a strip bends",
            "warm a strip of known moisture on a plate, bend it every 5 °C: where it gives way",
            "blend.softening_c",
            30.0,
            window.state.tg,
            9.0,
        ),
        _Test(
            "the moisture again, three dishes",
            "three samples from different places, dried cool until they stop losing mass",
            "pellets.moisture_u_pct",
            15.0,
            window.state.w_water,
            0.002,
        ),
        _Test(
            "the barrel with a second thermometer",
            "a thin probe against the wall of the empty barrel, after twenty minutes",
            "press.heater_u_c",
            25.0,
            wall[0, 0],
            1.0,
        ),
        _Test(
            "how long the middle of the barrel takes to warm",
            "a probe in the middle of loose pellets, timed to two thirds of the way: once, dry",
            "trial.soak_s",
            30.0,
            np.log(bench.typical("press", "loose_diffusivity")),
            0.08,
        ),
        _Test(
            "the force that reaches the melt",
            "press a charge against a closed nozzle with a scale or load cell under the barrel",
            "press.melt_pressure_mpa",
            30.0,
            np.log(bench.typical("press", "force_share")),
            0.1,
        ),
    ]
