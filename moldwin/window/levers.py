"""What the maker can change: each lever as a range of settings from here to as far as it goes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.window.windows import Setup

__all__ = ["COSTS", "Lever", "Step", "levers_of"]

COSTS = ("low", "medium", "high")

#: How far each lever goes (assumed: what a workshop can still do).
_MOST_GLYCEROL = 30.0  # g per 100 g dry polymer, on top of what is there
_MOST_FORCE = 2.0
_SHORTEST_FLOW = 0.5
_THICKEST_WALL = 2.0
_SMALLEST_PLUNGER = 0.65
_WIDEST_NOZZLE = 1.5
_WARMEST_MOLD = 40.0  # K
_HOT_ENOUGH = 363.15  # K: a mold that takes this is seldom what holds the window shut
_HOTTEST_BARREL = 230.0  # °C: beyond it nothing of a plant survives
_HOT_HEATER = 473.15  # K: a heater that reaches this is not what holds the window shut
_PREHEAT = 60.0  # °C: below where most pellets stick, and no water is lost in a closed jar


@dataclass(frozen=True, eq=False)
class Step:
    """One setting of one lever: what to say, what to set in a job's own units, how much trouble."""

    lever: str
    words: str
    set: Mapping[str, Any]
    cost: str


@dataclass(frozen=True, eq=False)
class Lever:
    """A lever; ``at`` gives its step for a reach of 0 (as it is) to 1 (as far as it goes). [-]

    ``all_or_nothing`` levers have no in between.
    """

    name: str
    at: Callable[[float], Step]
    all_or_nothing: bool = False


def levers_of(setup: Setup, target: float) -> list[Lever]:
    """Every lever this job has.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    target : float
        The moisture to mold at, wet basis. [kg/kg]

    Returns
    -------
    list of Lever
        Cheapest first. [-]
    """
    makers = (
        _leave_out,
        _seal,
        _moisture,
        _preheat,
        _mold,
        _cook,
        _glycerol,
        _force,
        _flow,
        _nozzle,
    )
    found = [maker(setup, target) for maker in (*makers, _wall, _plunger, _heater)]
    return [lever for lever in found if lever is not None]


def _leave_out(setup: Setup, target: float) -> Lever | None:
    """Protein has no place in these laws: without it, if a polymer is left, they hold."""
    bench = setup.bench
    roles = {row.card: bench.card(row.card).role for row in bench.job.ingredients}
    strangers = sorted(name for name, role in roles.items() if role == "comparator")
    if not strangers or "polymer" not in roles.values():
        return None
    changed = {f"ingredient.{name}.mass_g": 0 for name in strangers}
    step = Step(
        "leave out", f"cook the next batch without {' and '.join(strangers)}", changed, "medium"
    )
    return Lever("leave out", lambda reach: step, all_or_nothing=True)


def _seal(setup: Setup, target: float) -> Lever | None:
    if setup.bench.job.press.sealed_nozzle is True:
        return None
    step = Step(
        "seal", "seal the nozzle while the charge soaks", {"press.sealed_nozzle": True}, "low"
    )
    return Lever("seal", lambda reach: step, all_or_nothing=True)


def _moisture(setup: Setup, target: float) -> Lever | None:
    now = 100.0 * float(setup.bench.job.pellets.moisture or 0.0)
    if abs(100.0 * target - now) < 0.3:
        return None

    def at(reach: float) -> Step:
        pct = round(now + reach * (100.0 * target - now), 1)
        words = f"condition the pellets to {pct:g} % water"
        return Step("moisture", words, {"pellets.moisture_pct": pct}, "low")

    return Lever("moisture", at)


def _preheat(setup: Setup, target: float) -> Lever | None:
    room = float(np.median(setup.material.room_t)) - 273.15
    if setup.bench.job.pellets.temperature is not None or room > _PREHEAT - 10.0:
        return None

    def at(reach: float) -> Step:
        celsius = round(room + reach * (_PREHEAT - room))
        words = f"preheat the pellets to {celsius} °C in a closed jar"
        return Step("preheat", words, {"pellets.temperature_c": celsius}, "low")

    return Lever("preheat", at)


def _mold(setup: Setup, target: float) -> Lever | None:
    held, top = setup.bench.job.mold.temperature, setup.bench.job.mold.temperature_max
    if held is None:
        return _mold_heater(setup)
    most = min(_WARMEST_MOLD, top - held) if top is not None else _WARMEST_MOLD
    if most < 2.0:
        return None

    def at(reach: float) -> Step:
        celsius = round(held - 273.15 + reach * most)
        return Step(
            "mold", f"hold the mold at {celsius} °C", {"mold.temperature_c": celsius}, "low"
        )

    return Lever("mold", at)


def _mold_heater(setup: Setup) -> Lever | None:
    """The mold is as warm as suits the part already; it may be the mold that bears no more."""
    top = setup.bench.job.mold.temperature_max
    if top is None or top > _HOT_ENOUGH:
        return None

    def at(reach: float) -> Step:
        celsius = round(top - 273.15 + reach * _WARMEST_MOLD)
        words = f"use a mold that may be heated to {celsius} °C"
        return Step("mold", words, {"mold.temperature_max_c": celsius}, "high")

    return Lever("mold", at)


def _cook(setup: Setup, target: float) -> Lever | None:
    if setup.bench.job.blend.cooked:
        return None
    words = "cook the blend to a clear gel and dry it before molding"
    step = Step("cook", words, {"blend.cooked": True}, "medium")
    return Lever("cook", lambda reach: step, all_or_nothing=True)


def _glycerol(setup: Setup, target: float) -> Lever | None:
    there = sum(row.mass for row in setup.bench.job.ingredients if row.card == "glycerol")
    polymer = float((setup.material.blend.polymer * setup.material.blend.dry_mass).mean())
    if polymer <= 0.0:
        return None

    def at(reach: float) -> Step:
        extra = reach * _MOST_GLYCEROL
        grams = _tidy(1e3 * (there + extra / 100.0 * polymer))
        words = (
            f"cook the next batch with {grams:g} g glycerol in it"
            f" ({extra:.0f} g more per 100 g dry polymer)"
        )
        return Step("glycerol", words, {"ingredient.glycerol.mass_g": grams}, "medium")

    return Lever("glycerol", at)


def _force(setup: Setup, target: float) -> Lever:
    press = setup.bench.job.press

    def at(reach: float) -> Step:
        times = 1.0 + reach * (_MOST_FORCE - 1.0)
        if press.force is None and press.lever_force is not None:
            key, value, unit = "lever_force_n", _tidy(press.lever_force * times), "N at the lever"
        elif press.force is None and press.melt_pressure is not None:
            value = round(press.melt_pressure * times / 1e6, 1)
            key, unit = "melt_pressure_mpa", "MPa in the melt"
        elif press.force is None and press.gauge_pressure is not None:
            value = round(press.gauge_pressure * times / 1e6, 1)
            key, unit = "gauge_mpa", "MPa at the gauge"
        else:
            force = press.force or float(setup.bench.typical("press", "force").mean())
            key, value, unit = "force_kn", round(force * times / 1e3, 2), "kN on the ram"
        return Step("force", f"press with {value:g} {unit}", {f"press.{key}": value}, "medium")

    return Lever("force", at)


def _flow(setup: Setup, target: float) -> Lever | None:
    if not setup.geometry.given:
        return None
    whole = 1e3 * float(setup.geometry.flow_length)

    def at(reach: float) -> Step:
        length = round(whole * (1.0 - reach * (1.0 - _SHORTEST_FLOW)), 1)
        words = f"gate the part so that the melt flows {length:g} mm at the most"
        return Step("flow length", words, {"part.flow_length_mm": length}, "medium")

    return Lever("flow length", at)


def _nozzle(setup: Setup, target: float) -> Lever | None:
    press = setup.bench.job.press
    typical = setup.bench.library.card("press")["nozzle_diameter"].value
    bore = 1e3 * (press.nozzle_diameter or typical)
    if bore * _WIDEST_NOZZLE >= 1e3 * float(setup.ram.bore):
        return None

    def at(reach: float) -> Step:
        wide = round(bore * (1.0 + reach * (_WIDEST_NOZZLE - 1.0)), 1)
        words = f"drill the nozzle out to {wide:g} mm"
        return Step("nozzle", words, {"press.nozzle_diameter_mm": wide}, "medium")

    return Lever("nozzle", at)


def _wall(setup: Setup, target: float) -> Lever | None:
    if not setup.geometry.given:
        return None
    thin = 1e3 * float(setup.geometry.thickness)

    def at(reach: float) -> Step:
        wall = round(thin * (1.0 + reach * (_THICKEST_WALL - 1.0)), 1)
        return Step("wall", f"make the wall {wall:g} mm thick", {"part.wall_mm": wall}, "high")

    return Lever("wall", at)


def _plunger(setup: Setup, target: float) -> Lever | None:
    if setup.bench.job.press.melt_pressure is not None:
        return None
    wide = 1e3 * float(setup.ram.bore)
    has_barrel = "barrel_diameter_mm" in setup.bench.job.raw.get("press", {})

    def at(reach: float) -> Step:
        bore = round(wide * (1.0 - reach * (1.0 - _SMALLEST_PLUNGER)), 1)
        changed = {"press.plunger_diameter_mm": bore}
        if has_barrel:
            changed["press.barrel_diameter_mm"] = bore
        words = f"fit a {bore:g} mm plunger and barrel to the same force"
        return Step("plunger", words, changed, "high")

    return Lever("plunger", at)


def _heater(setup: Setup, target: float) -> Lever | None:
    if setup.hottest >= _HOT_HEATER:
        return None
    reached = setup.hottest - 273.15

    def at(reach: float) -> Step:
        celsius = round(reached + reach * (_HOTTEST_BARREL - reached))
        words = f"fit a heater that reaches {celsius} °C"
        return Step("heater", words, {"press.heater_max_c": celsius}, "high")

    return Lever("heater", at)


def _tidy(value: float) -> float:
    """To tens from 100 on, to ones below."""
    return round(value, -1) if value >= 100 else round(value)
