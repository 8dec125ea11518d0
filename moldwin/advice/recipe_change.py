"""A recipe changed as asked: other amounts, another plasticizer, another size of the batch."""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.recipe_looks import (
    Look,
    dry_polymer,
    look_at,
    plasticizer_of,
    solve_mass,
    with_mass,
)
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Job
from moldwin.inputs.job_values import nearest_name
from moldwin.inputs.read_job import read_job
from moldwin.inputs.text_files import printable
from moldwin.stages.bench import Bench
from moldwin.stages.blend import make_blend
from moldwin.stages.room import room_temperature

__all__ = ["AIMS", "Change", "aimed", "ladder", "resized", "swapped", "without_softening"]

#: What a maker can aim at, and the value behind it on the card of the pot.
AIMS = {"flexible": "aim_flexible", "firm": "aim_firm"}
#: Steps of the ladder: plasticizer as weighed per dry polymer. [kg/kg]
_RUNGS = (0.0, 0.025, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)
#: What a kitchen scale shows, where the job does not say. [kg]
_SCALE = 1e-4
#: Measured on another blend: it says nothing of the changed one.
_OF_THE_OLD_BLEND = ("softening_c", "softening_u_c", "softening_moisture_pct")


@dataclass(frozen=True)
class Change:
    """One plasticizer set anew: what was asked, and the part in its room before and after.

    ``target`` is the median glass transition asked for. [K]
    """

    asked: str
    target: float
    before: Look
    after: Look

    @property
    def reached(self) -> bool:
        """Whether the target lies in the interval of the changed recipe."""
        return self.after.tg.low <= self.target <= self.after.tg.high

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "asked": self.asked,
            "target_tg_c": self.target - 273.15,
            "reached": self.reached,
            "before": self.before.to_dict(),
            "after": self.after.to_dict(),
        }


def aimed(bench: Bench, aim: str | None, tg: float | None) -> tuple[Bench, Change]:
    """The plasticizer that the recipe has most of, as much as brings its part where it should be.

    Parameters
    ----------
    bench : Bench
        The job, with no measurement in it that the change would make untrue. [-]
    aim : str or None
        One of ``AIMS``. [-]
    tg : float or None
        Median glass transition in the room, where no aim is named. [K]

    Returns
    -------
    tuple of Bench and Change
        The changed job on the same draws.

    Raises
    ------
    InputError
        Nothing reaches it; the nearest is named.
    """
    card = plasticizer_of(bench)
    if aim is not None:
        offset = bench.library.card("pot")[AIMS[aim]].value
        bench.typical("pot", AIMS[aim])  # so that it is listed among what was assumed
        tg = float(np.median(room_temperature(bench))) - offset
        asked = f"--aim {aim}"
    else:
        assert tg is not None
        asked = f"--tg-in-room {tg - 273.15:g}"
    mass = solve_mass(bench, card, tg, asked)
    after = retold(bench, {card: mass})
    return after, Change(asked, tg, look_at(bench, card), look_at(after, card))


def swapped(bench: Bench, swap: tuple[str, str]) -> tuple[Bench, Change]:
    """One plasticizer in the place of another, with the same median glass transition in the room.

    Raises
    ------
    InputError
        A card that is not there or no plasticizer, or one with which no amount does the same.
    """
    old, new = swap
    _check_swap(bench, old, new)
    before = look_at(bench, old)
    without = bench.with_job(with_mass(bench.job, old, 0.0)).with_draws(bench.draws)
    asked = f"--swap {old}={new}"
    mass = solve_mass(without, new, before.tg.likely, asked)
    after = retold(bench, {old: 0.0, new: mass})
    return after, Change(asked, before.tg.likely, before, look_at(after, new))


def ladder(bench: Bench, card: str) -> list[Look]:
    """The part in its room with more and more of one plasticizer, 0 to 60 g per 100 g dry polymer.

    Raises
    ------
    InputError
        A card that is not there, or no plasticizer.
    """
    _check_plasticizer(bench, "--ladder", card)
    without = bench.with_job(with_mass(bench.job, card, 0.0)).with_draws(bench.draws)
    polymer = dry_polymer(without, make_blend(without))
    rungs = []
    for share in _RUNGS:
        job = with_mass(bench.job, card, share * polymer)
        rungs.append(look_at(bench.with_job(job).with_draws(bench.draws), card))
    return rungs


def resized(bench: Bench, factor: float) -> Bench:
    """The same recipe, so many times as large; what is spread covers as much more.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    factor : float
        How many times as large. [-]
    """
    job, step = bench.job, bench.job.scale.resolution or _SCALE
    sets = {card: _tidy(mass * factor, step) for card, mass in _totals(job).items()}
    more = {}
    if job.pot.water is not None:
        more["pot.water_g"] = _grams(_tidy(job.pot.water * factor, step))
    if job.sheet.area is not None:
        more["sheet.area_cm2"] = f"{1e4 * job.sheet.area * factor:.4g}"
    return _told(bench, sets, more)


def retold(bench: Bench, masses: dict[str, float]) -> Bench:
    """The job with other masses of some cards, read again as the reader of files would. [kg]"""
    return _told(bench, masses, {})


def _told(bench: Bench, masses: dict[str, float], more: dict[str, str]) -> Bench:
    sets = [f"ingredient.{card}.mass_g={_grams(mass)}" for card, mass in masses.items()]
    sets += [f"{key}={value}" for key, value in more.items()]
    job = bench.job
    bare = Job(raw=job.raw, folder=job.folder, path=job.path, bundled=job.bundled)
    return bench.with_job(read_job(bare, sets, library=bench.library)).with_draws(bench.draws)


def without_softening(job: Job) -> Job:
    """The job without the bend test: it is of the blend before the change."""
    raw = copy.deepcopy(dict(job.raw))
    if not isinstance(raw.get("blend"), dict) or "softening_c" not in raw["blend"]:
        return job
    for key in _OF_THE_OLD_BLEND:
        raw["blend"].pop(key, None)
    bare = Job(raw=raw, folder=job.folder, path=job.path, bundled=job.bundled)
    return read_job(bare, [f"pellets.times_heated={job.pellets.times_heated}"])


def _totals(job: Job) -> dict[str, float]:
    totals: dict[str, float] = {}
    for row in job.ingredients:
        totals[row.card] = totals.get(row.card, 0.0) + row.mass
    return totals


def _tidy(mass: float, step: float) -> float:
    """What the scale can show, rounded up; never so coarse that it changes the recipe by much."""
    step = min(step, 10.0 ** (math.floor(math.log10(mass)) - 2)) if mass > 0.0 else step
    return round(math.ceil(mass / step - 1e-9) * step, 12)


def _grams(mass: float) -> str:
    return f"{1e3 * mass:.10g}"


def _check_swap(bench: Bench, old: str, new: str) -> None:
    if not any(row.card == old for row in bench.job.ingredients):
        known = sorted(_totals(bench.job))
        message = f"the recipe has no {printable(old)}{nearest_name(old, known)}"
        raise InputError([Fault("--swap", "", message)])
    _check_plasticizer(bench, "--swap", old)
    _check_plasticizer(bench, "--swap", new)
    if old == new:
        raise InputError([Fault("--swap", "", f"{old} for {new} changes nothing")])


def _check_plasticizer(bench: Bench, option: str, name: str) -> None:
    names = bench.library.names()
    if name not in names:
        known = bench.library.names("plasticizer")
        message = f"no card is named '{printable(name)}'{nearest_name(name, known)}"
        raise InputError([Fault(option, "", f"{message}; known: {', '.join(known)}")])
    role = bench.library.card(name).role
    if role != "plasticizer":
        raise InputError([Fault(option, "", f"{name} is a {role}, no plasticizer")])
