"""Levers that lift a stop: they change what no barrel temperature can mend."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from moldwin.window.levers import Lever, Step
from moldwin.window.windows import Setup, Window

__all__ = ["stop_levers"]

#: How far each lever goes, as a share of how it is (assumed: what a workshop can still do).
_THINNEST_WALL = 0.04
_STRONGEST_CLAMP = 30.0
_ROOMIEST_BARREL = 10.0


def stop_levers(setup: Setup, now: Window, stopping: Collection[str]) -> list[Lever]:
    """The levers that the stops of a job call for.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    now : Window
        At the moisture of its pellets. [-]
    stopping : collection of str
        Codes of what stops it. [-]

    Returns
    -------
    list of Lever
        Cheapest first; empty where nothing stops it. [-]
    """
    found = [
        _fewer_cavities(setup) if {"shot-size", "flash"} & set(stopping) else None,
        _cooler_mold(setup, now) if "hot-core" in stopping else None,
        _clamp(setup) if "flash" in stopping else None,
        _thinner(setup) if "hot-core" in stopping else None,
        _roomier(setup) if "shot-size" in stopping else None,
    ]
    return [lever for lever in found if lever is not None]


def _fewer_cavities(setup: Setup) -> Lever | None:
    cavities = setup.geometry.cavities
    if cavities < 2:
        return None

    def at(reach: float) -> Step:
        left = max(1, round(cavities - reach * (cavities - 1)))
        words = f"block {cavities - left} of the {cavities} cavities: fill {left} at a time"
        return Step("cavities", words, {"mold.cavities": left}, "low")

    return Lever("cavities", at)


def _cooler_mold(setup: Setup, now: Window) -> Lever | None:
    held, room = now.mold.best, float(np.median(setup.material.room_t))
    if held - room < 2.0:
        return None

    def at(reach: float) -> Step:
        celsius = round(held - 273.15 - reach * (held - room))
        words = f"hold the mold at {celsius} °C"
        return Step("cooler mold", words, {"mold.temperature_c": celsius}, "low")

    return Lever("cooler mold", at)


def _clamp(setup: Setup) -> Lever | None:
    clamp = setup.bench.job.press.clamp
    if clamp is None:
        return None

    def at(reach: float) -> Step:
        value = _two_digits(clamp / 1e3 * _STRONGEST_CLAMP**reach)
        words = f"clamp the mold with {value:g} kN"
        return Step("clamp", words, {"press.clamp_kn": value}, "medium")

    return Lever("clamp", at)


def _thinner(setup: Setup) -> Lever | None:
    if not setup.geometry.given:
        return None
    thick = 1e3 * float(setup.geometry.thickest)

    def at(reach: float) -> Step:
        wall = _two_digits(thick * _THINNEST_WALL**reach)
        words = f"make the wall {wall:g} mm thick at the most"
        return Step("thinner wall", words, {"part.wall_mm": wall}, "high")

    return Lever("thinner wall", at)


def _roomier(setup: Setup) -> Lever | None:
    capacity = setup.bench.job.press.barrel_capacity
    if capacity is None:
        return None

    def at(reach: float) -> Step:
        value = _two_digits(1e6 * capacity * _ROOMIEST_BARREL**reach)
        words = f"fit a barrel that holds {value:g} cm³"
        return Step("barrel", words, {"press.barrel_capacity_cm3": value}, "high")

    return Lever("barrel", at)


def _two_digits(value: float) -> float:
    return float(f"{value:.2g}")
