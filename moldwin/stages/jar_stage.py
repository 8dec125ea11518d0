"""Pellets in a jar, in full: how their moisture runs, what holds it up, what would help."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.inputs.job import Pellets
from moldwin.physics.jar import JarCourse, jar_course
from moldwin.physics.jar_parts import GlycerolBath, Jar, SaltBath
from moldwin.physics.pellet import DenseStarch, Pellet
from moldwin.physics.uptake import first_time
from moldwin.stages.bench import Bench, UsedNumber
from moldwin.stages.humidity_sources import spread_activity
from moldwin.stages.melt import melt_density
from moldwin.stages.moisture import Isotherm
from moldwin.stages.state import Material, State

__all__ = [
    "DAY",
    "EVEN",
    "JarStage",
    "Run",
    "as_far_as",
    "described",
    "even_time",
    "jar_temperature",
]

DAY = 86400.0
#: Pellets nobody described (assumed): 3 mm cylinders as long as wide, 100 g, 650 kg/m³.
_TYPICAL = {"diameter": 0.003, "length": 0.003, "mass": 0.1, "bulk_density": 650.0}
#: Still air that a fan leaves over slurry and bed (assumed). [m]
_FANNED_GAP = 0.003
#: A jar is looked at for this long. [days]
_FIRST, _LONGEST, _POINTS = 0.01, 4000.0, 161
#: Wetter than this, dry basis, no source may take the pellets. [kg/kg]
_WETTEST = 1.8
#: Error of the mean moisture, as a share of the whole change: far inside the intervals.
_ACCURACY = 1e-3
#: What stands for "no resistance": this much less of it.
_NONE = 1e3
#: Skin and heart count as even within this of the mean, wet basis. [kg/kg]
EVEN = 0.005


@dataclass(frozen=True)
class Run:
    """One course of a jar against its goal.

    Parameters
    ----------
    course : JarCourse
        Over ``times``. [SI]
    x_start, x_goal : array, shape (s,)
        Moisture at the start, and where the way ends: the target, or as far toward it as the
        source takes these pellets; dry basis. [kg/kg]
    """

    course: JarCourse
    x_start: Any
    x_goal: Any

    def time_to(self, share: float) -> Any:
        """When this share of the way is done, shape (s,). [s]"""
        goal = self.x_start + share * (self.x_goal - self.x_start)
        found = first_time(self.course.times, self.course.mean, goal)
        return np.where(self.x_goal == self.x_start, 0.0, found)

    def at(self, name: str, time: Any) -> Any:
        """A part of the course at times, float or shape (s,), straight between its points."""
        values = getattr(self.course, name)
        times = self.course.times
        time = np.broadcast_to(np.minimum(time, times[-1]), values.shape[:1])
        i = np.clip(np.searchsorted(times, time) - 1, 0, len(times) - 2)
        share = (time - times[i]) / (times[i + 1] - times[i])
        rows = np.arange(len(values))
        return values[rows, i] + share * (values[rows, i + 1] - values[rows, i])


class JarStage:
    """The pellets of a job in its jar.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    material : Material
        Its prepared blend. [-]
    now : float
        Moisture at the start as the user reads it, wet basis. [kg/kg]
    """

    def __init__(self, bench: Bench, material: Material, now: float) -> None:
        self.bench, self.material = bench, material
        self.t = jar_temperature(bench)
        self.isotherm = Isotherm(bench, material.blend, self.t)
        self.now: State = material.at(now)
        self.pellets = described(bench)
        self.mass = self.pellets.mass or _TYPICAL["mass"]
        self.x_start = _dry_basis(self.now.w_water)
        self.dry_mass = self.mass * (1.0 - self.now.w_water)
        self.diffusivity_factor = material.blend.mean_over_polymers(
            bench, "diffusivity_factor", 1.0
        ) * np.ones(bench.count)
        self.pellet = self._pellet()
        self.jar = self._jar()

    def activity_at(self, nominal: float) -> Any:
        """Water activity in the jar at a moisture, wet basis, shape (s,). [-]"""
        return self.isotherm.activity(self.material.at(nominal).w_water)

    def way_to(self, nominal: float) -> Any:
        """Moisture to take up to come to one, wet basis, from that at the start, shape (s,).

        Dry basis, below 0 where the pellets are to dry. [kg/kg]
        """
        return _dry_basis(self.material.at(nominal).w_water) - self.x_start

    def run(
        self,
        bath: SaltBath | GlycerolBath,
        target: float,
        *,
        stopped: bool = False,
        jar: Jar | None = None,
        pellet: Pellet | None = None,
        times: Any = None,
    ) -> Run:
        """Moisture over time above a bath, until nothing moves any more.

        Parameters
        ----------
        bath : SaltBath or GlycerolBath
            What is in the jar. [SI]
        target : float
            Where the way ends at the latest, wet basis. [kg/kg]
        stopped : bool, optional
            The scale says stop at the target: the bath is taken out and the pellets lie sealed. [-]
        jar, pellet : Jar, Pellet, optional
            Others than the job's. [SI]
        times : array, optional
            Times to know; left out, from minutes to years. [s]

        Returns
        -------
        Run
            [SI]
        """
        if isinstance(bath, SaltBath):
            bath = replace(bath, a_water=np.minimum(bath.a_water, self.top_activity))
        if times is None:
            times = np.concatenate([[0.0], DAY * np.geomspace(_FIRST, _LONGEST, _POINTS)])
        course = jar_course(
            times,
            self.x_start,
            pellet or self.pellet,
            self.dry_mass,
            jar or self.jar,
            bath,
            gives=self.dry_mass * self.way_to(target) if stopped else None,
            accuracy=_ACCURACY,
            check=False,
        )
        way = self.way_to(target)
        end = course.mean[..., -1] - self.x_start
        return Run(course, self.x_start, self.x_start + as_far_as(way, end))

    def without(
        self, resistance: str, bath: Any, target: float, end: float, *, stopped: bool = False
    ) -> Run:
        """The same jar as if one resistance were gone: ``"air"``, ``"pellet"`` or ``"bath"``.

        ``end`` is the humidity that a bath without resistance keeps from first to last.
        """
        jar, pellet = self.jar, self.pellet
        if resistance == "air":
            jar = self._airless(jar)
        elif resistance == "pellet":
            factor = _NONE * self.diffusivity_factor
            pellet = replace(pellet, diffusivity=DenseStarch(self.t, factor))
        else:
            jar = replace(jar, heat_transfer=_NONE * jar.heat_transfer)
            bath = SaltBath(end, 100.0 * self.mass)
        return self.run(bath, target, stopped=stopped, jar=jar, pellet=pellet)

    def misted(self, water: float, target: float) -> Run:
        """Pellets with so much water on their skins, sealed: it soaks in and evens out. [kg]"""
        jar = self._airless(replace(self.jar, heat_transfer=_NONE * self.jar.heat_transfer))
        return self.run(SaltBath(1.0, water), target, jar=jar)

    def _airless(self, jar: Jar) -> Jar:
        """Gap and bed pass a thousand times more; the bath cools itself as before."""
        volume = self.jar.bed_area * self.jar.gap
        return replace(jar, gap=jar.gap / _NONE, bed_depth=jar.bed_depth / _NONE, air_volume=volume)

    @cached_property
    def top_activity(self) -> Any:
        """The dampest a source may be counted: beyond, pellets would swell, shape (s,). [-]"""
        wettest = _WETTEST / (1.0 + _WETTEST)
        return spread_activity(self.isotherm, 1.0, wettest, self.bench.count)

    def gross(self, x: Any) -> Any:
        """Mass of the pellets at a moisture, dry basis, shapes (s,). [kg]"""
        return self.dry_mass * (1.0 + x)

    def _pellet(self) -> Pellet:
        given = self.pellets
        half = (given.diameter or given.thickness or _TYPICAL["diameter"]) / 2.0
        shape, aspect = _shape(given)
        w, blend = self.now.w_water, self.material.blend
        density = melt_density(self.bench, blend, w, self.t) * (1.0 - w)
        law = DenseStarch(self.t, self.diffusivity_factor)
        return Pellet(shape, half, density, law, self._activity, aspect)

    def _activity(self, x: Any) -> Any:
        return self.isotherm.activity(_wet_basis(x))

    def _jar(self) -> Jar:
        bench, jar = self.bench, self.bench.job.jar
        typical = {name: ("jar", name) for name in ("slurry_area", "air_gap", "bed_area")}
        slurry = bench.given(
            "jar.slurry_area", jar.slurry_area, "m2", typical=typical["slurry_area"]
        )
        gap = bench.given("jar.air_gap", jar.air_gap, "m", typical=typical["air_gap"])
        volume = self.mass / (self.pellets.bulk_density or _TYPICAL["bulk_density"])
        if jar.bed_area is None and jar.bed_depth is not None:
            bed, depth = volume / jar.bed_depth, jar.bed_depth
        else:
            bed = bench.given("jar.bed_area", jar.bed_area, "m2", typical=typical["bed_area"])
            depth = volume / bed
        convection = bench.typical("jar", "convection")
        if jar.fan:
            gap, convection = np.minimum(gap, _FANNED_GAP), 1.0
        return Jar(
            slurry_area=slurry,
            bed_area=bed,
            gap=gap,
            bed_depth=depth,
            t=self.t,
            convection=convection,
            voids=bench.typical("jar", "voids"),
        )


def as_far_as(way: Any, end: Any) -> Any:
    """The way to the target, or as far toward it as the source goes, shapes (s,). [kg/kg]

    Parameters
    ----------
    way : array, shape (s,)
        Water to the target, below zero where it is given off, dry basis. [kg/kg]
    end : array, shape (s,)
        Water to where the source leaves off, with its sign. [kg/kg]
    """
    forward = np.sign(way)
    return forward * np.minimum(np.abs(way), np.maximum(forward * end, 0.0))


def jar_temperature(bench: Bench) -> float:
    """Temperature of the jar: given, else that of the room. [K]"""
    t = bench.job.jar.temperature or bench.job.room.temperature
    return t if t is not None else float(np.median(bench.typical("room", "temperature")))


def described(bench: Bench) -> Pellets:
    """The job's pellets, with typical sizes where it gives none."""
    given = bench.job.pellets
    if given.diameter or given.thickness:
        return given
    if given.shape == "flake" and bench.job.sheet.spread is not None:
        return replace(given, thickness=_of_the_sheet(bench))
    bench.used["pellets"] = UsedNumber(
        "pellets", _TYPICAL["diameter"], "m", "assumed", "no sizes given: 3 mm cylinders stand in"
    )
    return replace(
        given, shape="cylinder", diameter=_TYPICAL["diameter"], length=_TYPICAL["length"]
    )


def _of_the_sheet(bench: Bench) -> float:
    """Thickness of flakes whose job tells how thick their gel was spread. [m]"""
    from moldwin.stages.sheet import dry_thickness  # only such jobs need it

    thickness = dry_thickness(bench)
    source = "the gel of [pot], spread as in [sheet], dried on its plate"
    bench.used["pellets.thickness"] = UsedNumber(
        "pellets.thickness", thickness, "m", "derived", source
    )
    return thickness


def even_time(run: Run) -> Any:
    """When skin and heart are at last within 0.5 % of the mean, wet basis, shape (s,). [s]"""
    course = run.course
    mean, skin, heart = (_wet_basis(x) for x in (course.mean, course.skin, course.heart))
    apart = np.maximum(np.abs(skin - mean), np.abs(heart - mean))
    uneven = apart > EVEN
    last = uneven.shape[-1] - 1 - np.argmax(uneven[..., ::-1], axis=-1)
    # straight from the last time it was too much to the first it was not
    i = np.minimum(last, len(course.times) - 2)
    rows = np.arange(len(i))
    before, after = (apart[rows, k] for k in (i, i + 1))
    share = (before - EVEN) / np.where(before == after, 1.0, before - after)
    times = course.times
    even = times[i] + np.clip(share, 0.0, 1.0) * (times[i + 1] - times[i])
    return np.where(uneven[..., -1], np.inf, np.where(uneven.any(axis=-1), even, 0.0))


def _shape(pellets: Pellets) -> tuple[str, float | None]:
    if pellets.shape == "sphere":
        return "sphere", None
    if pellets.shape in ("flake", "slab") or pellets.diameter is None:
        return "slab", None
    return "finite-cylinder", (pellets.length or pellets.diameter) / pellets.diameter


def _dry_basis(w: Any) -> Any:
    return w / (1.0 - w)


def _wet_basis(x: Any) -> Any:
    x = np.maximum(x, 0.0)
    return x / (1.0 + x)
