"""Simple designs over moisture, glycerol and barrel temperature, for those who want them.

``grid`` is every corner of low and high with the middle; ``cross`` is the middle and each factor
changed alone. Every point is screened by the margins of the advice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np

from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.learn.possible import Ground, Possible, possible_trials, settings_at
from moldwin.stages.conditioning import condition
from moldwin.window.windows import Setup

__all__ = ["DESIGNS", "DesignPoint", "design"]

DESIGNS = ("grid", "cross")

#: A factor is moved this far either way of its middle (assumed: far enough to see, near enough to
#: be of use): set point [K], glycerol of the dry polymer [kg/kg], moisture [kg/kg].
_STEP_T, _STEP_GLYCEROL, _STEP_MOISTURE = 15.0, 0.08, 0.02
#: Nobody molds drier than an oven leaves it. [kg/kg]
_DRIEST = 0.03


@dataclass(frozen=True)
class DesignPoint:
    """One point of a design.

    Parameters
    ----------
    setting : Possible
        What to set; ``screened`` where it is not to be tried. [SI]
    glycerol : float
        Of the dry polymer. [kg/kg]
    job : Job
        With that much glycerol. [SI]
    new_batch : bool
        The blend has to be cooked anew. [-]
    """

    setting: Possible
    glycerol: float
    job: Job
    new_batch: bool


def design(setup: Setup, shape: str) -> tuple[Ground, list[DesignPoint]]:
    """The points of a design about the best setting.

    Parameters
    ----------
    setup : Setup
        The job, its draws moved by what is known already. [-]
    shape : str
        ``"grid"`` or ``"cross"``. [-]

    Returns
    -------
    tuple of Ground and list of DesignPoint
        What was looked at, and the points; those of one batch and moisture stand together. A set
        point that the heater does not reach is left out.

    Raises
    ------
    ValueError
        A shape that there is not.
    """
    if shape not in DESIGNS:
        raise ValueError(f"shape must be one of {', '.join(DESIGNS)}, got {shape!r}")
    ground = possible_trials(setup)
    best = ground.best
    moistures = (max(best.moisture - _STEP_MOISTURE, _DRIEST), best.moisture)
    levels = (
        _glycerol_levels(setup),
        (*moistures, best.moisture + _STEP_MOISTURE),
        (best.barrel - _STEP_T, best.barrel, best.barrel + _STEP_T),
    )
    places = list(_places(shape))
    points: list[DesignPoint] = []
    for g, m in sorted({(g, m) for g, m, _ in places}):
        at = [levels[2][t] for t in sorted({t for gg, mm, t in places if (gg, mm) == (g, m)})]
        points += _points(setup, ground, levels[0][g], g != 1, levels[1][m], at)
    return ground, points


def _places(shape: str) -> Iterator[tuple[int, int, int]]:
    """Levels 0 to 2 of glycerol, moisture and temperature; 1 is the middle."""
    yield 1, 1, 1
    if shape == "grid":
        yield from product((0, 2), repeat=3)
        return
    for factor in range(3):
        for level in (0, 2):
            place = [1, 1, 1]
            place[factor] = level
            yield place[0], place[1], place[2]


def _glycerol_levels(setup: Setup) -> tuple[float, float, float]:
    """Less, as cooked, more; of a blend without any, none stands for less. [kg/kg]"""
    now = _glycerol(setup.bench.job) / _polymer(setup)
    return max(now - _STEP_GLYCEROL, 0.0), now, now + _STEP_GLYCEROL


def _points(
    setup: Setup, ground: Ground, glycerol: float, new: bool, moisture: float, barrels: list[float]
) -> list[DesignPoint]:
    job = setup.bench.job
    if new:
        job = _with_glycerol(job, round(1e3 * glycerol * _polymer(setup)))
        setup = Setup(setup.bench.with_job(job), setup.confidence)
    moisture = round(moisture, 3)
    wait = _wait(setup, moisture)
    tried = settings_at(setup, setup.window(moisture), barrels, [ground.best.soak], wait)
    return [DesignPoint(ground.screen(one), glycerol, job, new) for one in tried]


def _wait(setup: Setup, moisture: float) -> float:
    """Until pellets that lie at the job's moisture have this one. [days]"""
    now = float(setup.bench.job.pellets.moisture or 0.0)
    if abs(moisture - now) < 0.5e-3:
        return 0.0
    material = setup.material
    way = condition(setup.bench, material, material.at(now), material.at(moisture))
    return float(way.days["days_90"].likely)


def _with_glycerol(job: Job, grams: float) -> Job:
    changed = read_job(job.raw, [f"ingredient.glycerol.mass_g={grams:g}"])
    return replace(changed, path=job.path, folder=job.folder)


def _glycerol(job: Job) -> float:
    return sum(row.mass for row in job.ingredients if row.card == "glycerol")


def _polymer(setup: Setup) -> Any:
    """Dry polymer in the pot, likely value. [kg]"""
    blend = setup.material.blend
    return float(np.median(blend.polymer * blend.dry_mass))
