"""The map as an answer: where to go, where nobody should heat, and what is unsure about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.chosen import choose
from moldwin.advice.heating import may_heat
from moldwin.advice.remarks import remarks
from moldwin.advice.situation import celsius, find
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.window.mapping import GRID, Map, Place, moisture_map
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "MapAdvice", "map_job"]

SCHEMA = "moldwin.map/1"
#: Remarks that concern the map as a whole, besides every stop.
_OF_THE_MAP = ("extrapolated", "unmeasured-material")


@dataclass(frozen=True)
class MapAdvice:
    """A map with its job.

    Parameters
    ----------
    job : str
        The job's title, or the name of its file. [-]
    map : Map
        Chance over moisture and barrel temperature. [SI]
    heat_now, heat_target : bool
        False where the advice is not to heat: then no temperature is named there. [-]
    warnings : list of Remark
        Stops, and what is unsure about the map as a whole. [-]
    bundled : bool
        True where the job is the example that ships with the package. [-]
    overrides : tuple of str
        The user's own cards that won over shipped ones. [-]
    """

    job: str
    map: Map
    heat_now: bool
    heat_target: bool
    warnings: list[Remark]
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    @property
    def there(self) -> bool:
        """True where the pellets are at their target already."""
        return self.map.now.moisture == self.map.target.moisture

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin map --json`` prints: °C, percent water (wet basis), seconds."""
        found = self.map
        return {
            "schema": SCHEMA,
            "job": self.job,
            "confidence": found.confidence,
            "moisture_pct": (100.0 * found.moisture).tolist(),
            "barrel_c": (found.barrel - 273.15).tolist(),
            "chance": found.chance.tolist(),
            "barrel_chance": found.barrel_chance.tolist(),
            "soak_s": found.soak.tolist(),
            "window": {
                "low_c": [_known(t) for t in found.low - 273.15],
                "high_c": [_known(t) for t in found.high - 273.15],
            },
            "limits": [
                {
                    "name": line.name,
                    "side": line.side,
                    "temperature_c": [_known(t) for t in line.at - 273.15],
                }
                for line in found.lines
            ],
            "limits_soak_s": found.limits_soak.tolist(),
            "moisture_limits": [
                {
                    "name": limit.name,
                    "side": limit.side,
                    "moisture_pct": None if limit.at is None else 100.0 * limit.at,
                    "broken_share": limit.broken_share,
                }
                for limit in found.uprights
            ],
            "now": _place(found.now, self.heat_now),
            "target": _place(found.target, self.heat_target),
            "warnings": [remark.to_dict() for remark in self.warnings],
        }


def map_job(
    job: Job,
    *,
    grid: int = GRID,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    confidence: float = 0.7,
    tick: Callable[[int, int], None] | None = None,
) -> MapAdvice:
    """The map of one job.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    grid : int
        Points along either axis. [-]
    seed, count : int
        Of the draws; the same seed gives the same map. [-]
    confidence : float
        Chance asked of a window, 0.5 to 0.99. [-]
    tick : callable, optional
        Told how many columns of how many are done. [-]

    Returns
    -------
    MapAdvice
        The map and what is to be said of it.
    """
    setup = Setup(Bench(job, seed=seed, count=count), confidence)
    advised = choose(setup).found.window.state.nominal
    found = moisture_map(setup, grid, tick=tick)
    said = {place.moisture: _remarks(setup, place) for place in (found.now, found.target)}
    other = next((of for moisture, of in said.items() if moisture != advised), [])

    def heat(place: Place) -> bool:
        return may_heat(place.barrel_chance, said[place.moisture], said[advised])

    return MapAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        map=found,
        heat_now=heat(found.now),
        heat_target=heat(found.target),
        warnings=_of_the_map(said[advised] + other),
        bundled=job.bundled,
        overrides=setup.bench.library.overrides(),
    )


def _remarks(setup: Setup, place: Place) -> list[Remark]:
    return remarks(setup, find(setup, place.moisture), None)


def _of_the_map(said: list[Remark]) -> list[Remark]:
    """Each once; of one code the first is enough, for what is advised comes first."""
    first = {remark.code: remark for remark in reversed(said)}
    kept = [r for r in first.values() if r.severity == "stop" or r.code in _OF_THE_MAP]
    return weightiest_first(kept)


def _place(place: Place, heat: bool) -> dict[str, Any]:
    return {
        "moisture_pct": 100.0 * place.moisture,
        "barrel_c": celsius(place.barrel) if heat else None,
        "soak_s": place.soak if heat else None,
        "chance": place.chance,
        "barrel_chance": place.barrel_chance,
    }


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
