"""Beside the patient way: quicker routes to the same moisture, and what would speed the jar up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.job import Job
from moldwin.physics.jar_parts import SaltBath
from moldwin.stages.humidity_sources import NEAR_ENOUGH, Source
from moldwin.stages.jar_plan import JarPlan
from moldwin.stages.jar_stage import DAY, JarStage, described, even_time

__all__ = ["Faster", "Route", "levers", "mold_days", "routes"]

#: A wetter source is stopped before the skin gets wetter than this (judgment). [-]
SKIN_TOP = 0.75
#: Above this the pellets stay two days at the most (judgment; storage below it: read). [-]
SKIN_KEPT, DAYS_ABOVE = 0.65, 2.0
#: Days until mold shows, by water activity: none below 0.60 (read), the rest judgment. [-, days]
_MOLD_ACTIVITY = (0.65, 0.70, 0.75, 0.80, 0.85, 0.90, 1.00)
_MOLD_DAYS = (120.0, 60.0, 21.0, 10.0, 5.0, 3.0, 1.5)
_PLENTY = 10.0  # a bath this many times as heavy as the pellets does not notice them
_THIN, _SHALLOW, _WARMER = 0.002, 0.01, 10.0  # m, m, K


@dataclass(frozen=True)
class Route:
    """Another way to the target.

    Parameters
    ----------
    name : str
        ``"mist"``, or the source's name. [-]
    humidity : float or None
        Of the source. [-]
    water : float or None
        Water to mist on. [kg]
    to_stop : Triple or None
        Until the scale says stop. [days]
    tempering : Triple
        Sealed from then on, until skin and heart are within half a percent of the mean; solved from
        the profile at the stop. [days]
    skin : Triple or None
        Water activity of the skin when stopped. [-]
    above : Triple or None
        Time above 0.65 until then. [days]
    allowed : bool
        The skin stays within the limits in most samples. [-]
    """

    name: str
    words: str
    humidity: float | None
    water: float | None
    to_stop: Triple | None
    tempering: Triple
    skin: Triple | None = None
    above: Triple | None = None
    allowed: bool = True

    def to_dict(self) -> dict[str, Any]:
        """As plain data, in %, g and days."""
        return {
            "name": self.name,
            "how": self.words,
            "humidity_pct": None if self.humidity is None else 100.0 * self.humidity,
            "water_g": None if self.water is None else 1e3 * self.water,
            "days_to_stop": None if self.to_stop is None else self.to_stop.to_dict(),
            "days_tempering": self.tempering.to_dict(),
            "skin_activity": None if self.skin is None else self.skin.to_dict(),
            "days_above_65": None if self.above is None else self.above.to_dict(),
            "allowed": self.allowed,
        }


@dataclass(frozen=True)
class Faster:
    """One change to jar or pellets, and the time to 90 % with it. [days]"""

    change: str
    set: dict[str, Any]
    days_90: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {"change": self.change, "set": self.set, "days_90": self.days_90.to_dict()}


def mold_days(activity: float) -> float:
    """Days until mold may show at a water activity; infinite below 0.65. [days]

    None grows below 0.60, and storage is kept at or below 0.65 (read); the days above are
    judgment.

    Parameters
    ----------
    activity : float
        Water activity of the pellets' skin. [-]

    Examples
    --------
    >>> mold_days(0.55), round(mold_days(0.75), 6)
    (inf, 21.0)
    """
    if activity < _MOLD_ACTIVITY[0]:
        return float("inf")
    return float(np.exp(np.interp(activity, _MOLD_ACTIVITY, np.log(_MOLD_DAYS))))


def routes(stage: JarStage, plan: JarPlan, target: float) -> list[Route]:
    """Quicker ways: mist and temper; a wetter (or drier) source stopped by mass, then temper.

    Parameters
    ----------
    stage : JarStage
        The pellets in their jar. [SI]
    plan : JarPlan
        The patient way, with every source that may be put in it. [SI]
    target : float
        Wet basis. [kg/kg]

    Returns
    -------
    list of Route
        The mist first, then sources from the nearest to the farthest. [SI]
    """
    found = []
    if plan.moved > 0:
        found.append(_misted(stage, plan.moved, target))
    beyond = [
        s
        for s in plan.sources
        if s.fitness == "kitchen"
        and not s.outside
        and s.formula != "glycerol"
        and not (plan.by_mass and s.name == plan.source.name)
        and np.sign(plan.moved) * (s.lands - target) > NEAR_ENOUGH
    ]
    for source in sorted(beyond, key=lambda s: abs(s.lands - target))[:4]:
        found.append(_stopped(stage, source, target))
    return found


def _misted(stage: JarStage, water: float, target: float) -> Route:
    """Water on the skins, which soaks in and evens out."""
    run = stage.misted(water, target)
    return Route(
        name="mist",
        words="mist the water on, tumble, seal with little air, tumble daily",
        humidity=None,
        water=water,
        to_stop=None,
        tempering=triple(even_time(run) / DAY),
    )


def _stopped(stage: JarStage, source: Source, target: float) -> Route:
    """A source that would go too far, taken out when the scale says so; the pellets even out."""
    run = stage.run(SaltBath(source.activity, _PLENTY * stage.mass), target, stopped=True)
    stop = run.time_to(0.99)
    known = np.isfinite(stop)
    stop_known = np.where(known, stop, run.course.times[-1])
    skin = stage.isotherm.activity(_wet(run.at("skin", stop_known)))
    times = run.course.times
    skins = stage.isotherm.activity(_wet(run.course.skin).T).T
    above = _time_above(times, skins, SKIN_KEPT, stop_known)
    good = known
    if target > stage.now.nominal:
        good = known & (skin <= SKIN_TOP) & (above <= DAYS_ABOVE * DAY)
    return Route(
        name=source.name,
        words=f"{source.words}, stopped by mass and sealed",
        humidity=source.activity,
        water=None,
        to_stop=triple(stop / DAY),
        tempering=triple(np.maximum(even_time(run) - stop_known, 0.0) / DAY),
        skin=triple(skin),
        above=triple(above / DAY),
        allowed=bool(np.mean(good) >= 0.5),
    )


def levers(stage: JarStage, again: Callable[[Job], Triple], best: float = 0.9) -> list[Faster]:
    """Changes that would speed the jar up, each computed by the same function.

    Parameters
    ----------
    stage : JarStage
        As it is. [SI]
    again : callable
        Time to 90 % for a changed job. [days]
    best : float
        A change is told when it takes at most this share of the time. [-]

    Returns
    -------
    list of Faster
        Quickest first. [days]
    """
    job, jar = stage.bench.job, stage.bench.job.jar
    now = again(job).likely
    volume = float(np.median(stage.jar.bed_area * stage.jar.bed_depth))
    wide = volume / _THIN
    made: list[tuple[str, dict[str, Any], Job]] = []
    thin = replace(jar, bed_area=wide, bed_depth=None, slurry_area=wide)
    keys: dict[str, Any] = {
        "jar.bed_area_cm2": round(1e4 * wide),
        "jar.slurry_area_cm2": round(1e4 * wide),
    }
    if float(np.median(stage.jar.bed_depth)) > 1.5 * _THIN:
        words = f"a thin layer: spread over {1e4 * wide:.0f} cm², slurry as wide below it"
        made.append((words, keys, replace(job, jar=thin)))
        words = "a thin layer and a fan"
        made.append((words, keys | {"jar.fan": True}, replace(job, jar=replace(thin, fan=True))))
    if float(np.median(stage.jar.gap)) > 1.5 * _SHALLOW:
        shallow = replace(jar, air_gap=_SHALLOW)
        words = "a shallower jar: 1 cm of air over the slurry"
        made.append((words, {"jar.air_gap_cm": 1.0}, replace(job, jar=shallow)))
    if not jar.fan:
        made.append(
            ("a fan in the jar", {"jar.fan": True}, replace(job, jar=replace(jar, fan=True)))
        )
    warm = stage.t + _WARMER
    if warm < 318.15:
        words = f"a warmer place: {warm - 273.15:.0f} °C, slurry and pellets alike"
        keys = {"jar.temperature_c": round(warm - 273.15, 1)}
        made.append((words, keys, replace(job, jar=replace(jar, temperature=warm))))
    made.append(_smaller(stage, job))
    found = [Faster(words, keys, again(changed)) for words, keys, changed in made]
    worth = [f for f in found if f.days_90.likely <= best * now]
    return sorted(worth, key=lambda f: f.days_90.likely)


def _smaller(stage: JarStage, job: Job) -> tuple[str, dict[str, Any], Job]:
    """Pellets of half the size."""
    pellets = described(stage.bench)
    sizes = {}
    for name in ("diameter", "length", "thickness"):
        value = getattr(pellets, name)
        if value:
            sizes[name] = value / 2.0
    keys = {f"pellets.{name}_mm": round(1e3 * value, 3) for name, value in sizes.items()}
    return "pellets of half the size", keys, replace(job, pellets=replace(pellets, **sizes))


def _time_above(times: Any, activity: Any, level: float, until: Any) -> Any:
    """Time that courses (s, n) spend above a level before ``until`` (s,), shape (s,). [s]"""
    middle = 0.5 * (activity[:, 1:] + activity[:, :-1])
    ends = np.minimum(times[None, 1:], until[:, None])
    length = np.maximum(ends - times[None, :-1], 0.0)
    return (length * (middle > level)).sum(axis=1)


def _wet(x: Any) -> Any:
    x = np.maximum(x, 0.0)
    return x / (1.0 + x)
