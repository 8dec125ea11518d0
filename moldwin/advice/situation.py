"""One window in the words of the contract: °C, percent, grams, kilonewtons."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldwin.advice.answer import (
    Barrel,
    BarrelLimit,
    MoistureAdvice,
    MoistureLimit,
    MoldAdvice,
    Settings,
    ShotAdvice,
    Situation,
)
from moldwin.base.percentiles import triple
from moldwin.stages.shot import Shot
from moldwin.window.judge import broken_shares
from moldwin.window.windows import MoistureTarget, Setup, Window

__all__ = [
    "Found",
    "celsius",
    "describe",
    "find",
    "moisture_advice",
    "settings",
    "shot_advice",
    "with_shot",
]

_ZERO_C = 273.15
#: The cooling time is enough for this share of samples: taking a part out early can spit steam.
_COOLED = 0.9
#: Practice adds a tenth to a computed cooling time (trade training note, read). [-]
_COOLING_BUFFER = 1.1
#: A hand needs this long in any case to let go of the ram and open the mold (assumed). [s]
_SHORTEST_COOLING = 5.0


def celsius(kelvin: float | None) -> float | None:
    """Kelvin as °C; nothing stays nothing.

    Parameters
    ----------
    kelvin : float or None
        Temperature. [K]

    Returns
    -------
    float or None
        Temperature. [°C]
    """
    return None if kelvin is None else float(kelvin) - _ZERO_C


@dataclass(frozen=True)
class Found:
    """A window with its shot and the cooling time to use. [SI]"""

    window: Window
    shot: Shot
    cooling: float | None


def find(setup: Setup, nominal: float) -> Found:
    """Window, shot and cooling at one nominal moisture, wet basis. [kg/kg]

    Parameters
    ----------
    setup : Setup
        The job. [-]
    nominal : float
        Moisture as the user reads it, wet basis. [kg/kg]
    """
    return with_shot(setup, setup.window(nominal))


def with_shot(setup: Setup, window: Window) -> Found:
    """Shot and cooling that belong to a window. [SI]"""
    t_melt = window.barrel_stage.true_temperature(np.array([window.barrel.best]))[0, 0]
    return Found(window, setup.shot(window.state, t_melt), _cooling(window))


def _cooling(window: Window) -> float | None:
    """Time that is enough for nine samples in ten of those that the mold lets go at all."""
    needed = np.maximum(window.cooling_stiff, window.cooling_core)
    settled = needed[np.isfinite(needed)]
    if settled.size < 0.5 * needed.size:
        return None
    enough = float(np.quantile(settled, _COOLED)) * _COOLING_BUFFER
    return max(enough, _SHORTEST_COOLING)


def describe(setup: Setup, found: Found, heat: bool) -> Situation:
    """The window as the contract wants it; no setting is named where nobody should heat."""
    window, barrel = found.window, found.window.barrel
    limits = [
        BarrelLimit(limit.name, limit.side, celsius(limit.at), limit.broken_share)
        for limit in barrel.limits
    ]
    return Situation(
        tg_c=triple(window.state.tg - _ZERO_C),
        barrel=Barrel(
            low_c=celsius(barrel.low) if heat else None,
            best_c=celsius(barrel.best) if heat else None,
            high_c=celsius(barrel.high) if heat else None,
            confidence=setup.confidence,
            chance=barrel.chance,
            open=barrel.open and heat,
            limits=limits,
        ),
        soak_s=barrel.soak if heat else None,
        mold=MoldAdvice(
            celsius(window.mold.low), celsius(window.mold.best), celsius(window.mold.high)
        ),
        cooling_s=found.cooling,
        shot=shot_advice(setup, found.shot),
    )


def shot_advice(setup: Setup, shot: Shot) -> ShotAdvice:
    """Nothing is made up of a part nobody described."""
    if not setup.geometry.given:
        return ShotAdvice(None, None, None, None, None)
    fill = None if shot.barrel_fill is None else 100.0 * float(np.median(shot.barrel_fill))
    return ShotAdvice(
        part_cm3=1e6 * float(shot.part_volume),
        shot_cm3=1e6 * float(shot.shot_volume),
        charge_g=triple(1e3 * shot.charge),
        barrel_fill_pct=fill,
        clamp_needed_kn=triple(1e-3 * shot.clamp_needed),
    )


def settings(setup: Setup, found: Found, heat: bool) -> Settings | None:
    """The one set of numbers to use; none where nobody should heat."""
    if not heat:
        return None
    window = found.window
    return Settings(
        moisture_pct=100.0 * window.state.nominal,
        barrel_c=celsius(window.barrel.best),
        soak_s=window.barrel.soak,
        hold_max_s=window.barrel.hold_max,
        mold_c=celsius(window.mold.best),
        cooling_s=found.cooling,
        charge_g=1e3 * float(np.median(found.shot.charge)) if setup.geometry.given else None,
    )


def moisture_advice(now: float, target: MoistureTarget, advised: Window) -> MoistureAdvice:
    """Moisture now and the target, in percent; shares are those of the moisture advised.

    Parameters
    ----------
    now : float
        Moisture now, wet basis. [kg/kg]
    target : MoistureTarget
        Where to. [kg/kg]
    advised : Window
        At the moisture advised. [-]
    """
    shares = broken_shares(advised.moisture_margins)
    limits = [
        MoistureLimit(
            limit.name,
            limit.side,
            None if limit.at is None else 100.0 * limit.at,
            float(shares[limit.name]),
        )
        for limit in target.limits
    ]
    return MoistureAdvice(
        now_pct=100.0 * now,
        target_low_pct=100.0 * target.low,
        target_best_pct=100.0 * target.best,
        target_high_pct=100.0 * target.high,
        limits=sorted(limits, key=lambda limit: -limit.broken_share),
    )
