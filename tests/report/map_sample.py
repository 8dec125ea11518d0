"""A map made by hand: no figure in it was computed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from moldwin.advice.mapped import MapAdvice
from moldwin.window.mapping import Line, Map, Place
from moldwin.window.windows import Limit

NOW, TARGET = Place(0.08, 404.0, 300.0, 0.55, 0.58), Place(0.12, 400.0, 280.0, 0.95, 0.97)
MOISTURE, BARREL = np.linspace(0.02, 0.18, 33), np.linspace(353.15, 453.15, 41)


def hill(top: float = 0.96) -> Any:
    """Chance as a smooth hill about 12 % and 127 °C."""
    across = ((MOISTURE - 0.12) / 0.04) ** 2
    up = ((BARREL - 400.15) / 18.0) ** 2
    return top * np.exp(-0.5 * (across[None, :] + up[:, None]))


def sloping(cold: float, hot: float) -> Any:
    return np.linspace(hot, cold, len(MOISTURE))


LINES = [
    Line("browning", "high", sloping(428.0, 428.0)),
    Line("fill", "low", sloping(370.0, 430.0)),
    Line("fumes", "high", np.full(len(MOISTURE), np.nan)),
    Line("weld", "low", sloping(360.0, 395.0)),
]
UPRIGHTS = [
    Limit("mold-growth", "high", 0.15, 0.1),
    Limit("brittle", "low", 0.04, 0.02),
    Limit("sticky", "high", 0.30, 0.0),
    Limit("soft-part", "high", None, 0.0),
]


def sample_map(top: float = 0.96, **changes: Any) -> Map:
    """The map with fields changed."""
    chance = hill(top)
    nowhere = np.full(len(MOISTURE), np.nan)
    made = Map(
        moisture=MOISTURE,
        barrel=BARREL,
        chance=chance,
        soak=np.full(chance.shape, 300.0),
        barrel_chance=chance,
        low=nowhere,
        high=nowhere,
        limits_soak=np.full(len(MOISTURE), 300.0),
        lines=LINES,
        uprights=UPRIGHTS,
        now=NOW,
        target=TARGET,
        confidence=0.7,
    )
    return replace(made, **changes)


def sample_advice(map_: Map | None = None, **changes: Any) -> MapAdvice:
    """The map with its job, with fields changed."""
    made = MapAdvice(
        job="Plant labels",
        map=sample_map() if map_ is None else map_,
        heat_now=True,
        heat_target=True,
        warnings=[],
    )
    return replace(made, **changes)
