"""The spread gel on its plate: what it dries to, how long that takes, when it tears or curls."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.physics.film_drying import (
    convective_heat_transfer,
    evaporation_flux,
    gel_diffusivity,
    shrinking_diffusivity,
    surface_temperature,
    volume_left,
)
from moldwin.physics.film_stress import curl_curvature
from moldwin.physics.sheet_course import SheetCourse, sheet_course
from moldwin.physics.shrinkage import linear_from_volume
from moldwin.physics.uptake import first_time
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.melt import melt_density
from moldwin.stages.moisture import Isotherm
from moldwin.stages.pot import Pot, fill_pot
from moldwin.stages.room import air_pressure, room_humidity, room_temperature
from moldwin.stages.softening import glass_transition, prepare_blend

__all__ = [
    "HOUR",
    "STORE_AW",
    "Drying",
    "SheetAir",
    "WetSheet",
    "dry_basis",
    "dry_thickness",
    "wet_basis",
]

HOUR = 3600.0
#: Kept at or below this water activity nothing grows, however long it is stored (read).
STORE_AW = 0.65
#: Wetter than this a sheet molds within days, and that is counted from the start (judgment).
_MOLDS_AW = 0.9
#: Followed for so many times what air and sheet take, and for so many foldings at the end.
_LONG, _TAIL = 2.0, 8.0
#: A sheet is dry when its mean is within this of what the air holds it at, dry basis. [kg/kg]
_SETTLED = 0.01
#: Wetter, or warmer, no isotherm is read: wet basis, and the top of its shift. [-, K]
_WETTEST_AIR, _ISOTHERM_TOP = 0.95, 333.15
#: Nothing weighed into a pot makes a wetter or drier gel than this, dry basis. [kg/kg]
_GELS = (0.1, 30.0)


@dataclass(frozen=True)
class SheetAir:
    """Air over the sheet.

    Parameters
    ----------
    t : float, optional
        Warmed to this; left out, the room's. [K]
    fan : bool
        Whether a fan blows over it. [-]
    covered : bool
        Whether a cloth or a lid ajar slows it. [-]
    both_faces : bool
        Whether it hangs or lies on a mesh, open to both sides. [-]
    """

    t: float | None = None
    fan: bool = False
    covered: bool = False
    both_faces: bool = False


@dataclass(frozen=True)
class Drying:
    """One course of a sheet in one air; arrays of shape (s,), or (r, s) for r spreads at once.

    Parameters
    ----------
    t : array
        Temperature of the air, and of the sheet once its surface is no longer wet. [K]
    curve : SheetCourse
        Mean, skin and underside over time, dry basis. [kg/kg]
    a_air : array
        Humidity of the air. [-]
    x_end : array
        What the air holds it at, dry basis. [kg/kg]
    dry, peel, store : array
        Until it is dry, firm enough to peel, and safe to store; infinite for never. [s]
    flux : array
        Water that leaves while the surface is wet. [kg/m2/s]
    wet_for : array
        How long that would take for all of it: the least that air allows. [s]
    t_wet : array
        Temperature of the wet surface. [K]
    soaked : array
        Until the underside is too dry for mold to grow at once. [s]
    """

    t: Any
    curve: SheetCourse
    a_air: Any
    x_end: Any
    dry: Any
    peel: Any
    store: Any
    flux: Any
    wet_for: Any
    t_wet: Any
    soaked: Any

    def mean_at(self, time: Any) -> Any:
        """Mean moisture at times (s,), dry basis. [kg/kg]"""
        return _read(self.curve.times, self.curve.mean, time)

    def faces_at(self, time: Any) -> tuple[Any, Any]:
        """Moisture of the skin and of the underside at times (s,), dry basis. [kg/kg]"""
        curve = self.curve
        return _read(curve.times, curve.skin, time), _read(curve.times, curve.underside, time)


class WetSheet:
    """The gel of a job as spread.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    spread : float, optional
        Wet thickness; left out, the job's, or the typical one. [m]

    Notes
    -----
    The plate passes no water, so that one face dries; all shrinkage is in thickness as long as it
    holds. Depth is counted by the solids above it. The wet surface is as cold as evaporation makes
    it; inside, the sheet has the temperature of the air.
    """

    def __init__(self, bench: Bench, spread: float | None = None) -> None:
        self.bench, job = bench, bench.job
        self.blend = prepare_blend(bench)
        self.room_t = room_temperature(bench)
        none = np.zeros(bench.count)
        given = bench.given("sheet.spread", job.sheet.spread, "m", typical=("sheet", "spread"))
        self.spread = given if spread is None else none + spread
        self.pot: Pot = fill_pot(bench)
        self.x_wet = np.clip(1.0 / self.pot.solids - 1.0, *_GELS)
        t = float(np.median(self.room_t))
        #: Dry solids without pores. [kg/m3]
        self.density = melt_density(bench, self.blend, none, t)
        #: Thickness of the dry solids alone. [m]
        self.solids = self.spread * volume_left(self.x_wet, 0.0, self.density)
        self.dry_per_area = self.solids * self.density
        self.factor = self.blend.mean_over_polymers(bench, "diffusivity_factor", 1.0) + none
        self.isotherm = Isotherm(bench, self.blend, self.room_t)

    def spread_to(self, spread: Any) -> WetSheet:
        """The same gel spread otherwise, shape (s,) or (r, 1) for several spreads at once. [m]"""
        twin = copy(self)
        twin.spread = spread + np.zeros(self.bench.count)
        twin.solids = twin.spread * volume_left(self.x_wet, 0.0, self.density)
        twin.dry_per_area = twin.solids * self.density
        return twin

    @property
    def wet_per_area(self) -> Any:
        """Gel on the plate, shape (s,). [kg/m2]"""
        return self.dry_per_area * (1.0 + self.x_wet)

    @cached_property
    def x_room(self) -> Any:
        """What the room holds it at, dry basis, shape (s,). [kg/kg]"""
        return dry_basis(self.isotherm.moisture(room_humidity(self.bench)))

    def thickness(self, x: Any) -> Any:
        """While stuck to its plate, at moistures (..., s), dry basis. [m]"""
        return self.spread * volume_left(self.x_wet, x, self.density)

    def free_shrinkage(self, x: Any) -> Any:
        """Share lost of every length of a body of this gel that nothing holds, (..., s). [-]"""
        return linear_from_volume(volume_left(self.x_wet, x, self.density))

    def moisture_at(self, above_tg: Any) -> Any:
        """Driest moisture at which the room is so far above the glass transition, (s,). [kg/kg]

        Dry basis; 0 where it is so however dry. [K] in, by halving.
        """
        low, high = np.zeros(self.bench.count), np.full(self.bench.count, 0.6)
        for _ in range(30):
            w = (low + high) / 2
            soft = self.room_t - self.tg(w) >= above_tg
            low, high = np.where(soft, low, w), np.where(soft, w, high)
        return np.where(low > 0.0, dry_basis(high), 0.0)

    def tg(self, w_water: Any) -> Any:
        """Glass transition at moistures (..., s), wet basis. [K]"""
        return glass_transition(self.bench, self.blend, np.clip(w_water, 0.0, 0.95))

    def drying(
        self, air: SheetAir = SheetAir(), *, x_start: Any = None, steps: int = 100
    ) -> Drying:
        """Down to what this air holds it at, from wet or from another mean moisture."""
        t = self.room_t if air.t is None else air.t + 0.0 * self.room_t
        in_room = room_humidity(self.bench) * water_saturation_pressure(self.room_t, check=False)
        a_air = np.clip(in_room / water_saturation_pressure(t, check=False), 1e-3, _WETTEST_AIR)
        isotherm = self.isotherm
        if air.t is not None:
            isotherm = Isotherm(self.bench, self.blend, min(air.t, _ISOTHERM_TOP))
        x_end = dry_basis(isotherm.moisture(a_air))
        film, heat = self._transfer(air, t)
        flux = evaporation_flux(t, a_air, 1.0, film, heat, check=False)
        faces = 2.0 if air.both_faces else 1.0
        start = self.x_wet if x_start is None else x_start
        leaves = self.dry_per_area * np.maximum(start - x_end, 0.0)
        wet_for = leaves / np.maximum(faces * flux, 1e-12)
        law, half = self._diffusivity(t), self.solids / faces
        activity = _wet_activity(isotherm)

        def evaporation(x: Any) -> Any:
            return evaporation_flux(t, a_air, activity(x), film, heat, check=False)

        # the pull of the air fades as the sheet nears its balance
        fading = self.dry_per_area / faces * _SETTLED / evaporation(x_end + _SETTLED)
        longest = _LONG * (wet_for + half**2 / law(x_end)) + _TAIL * fading
        start = np.maximum(start, 1.01 * x_end)  # nothing to dry is next to nothing
        curve = sheet_course(
            longest, start, x_end, half, self.density, law, evaporation, steps=steps
        )
        mean, underside = curve.mean, curve.underside

        def until(values: Any, goal: Any) -> Any:
            """When it is as dry as that; at once where it is so from the start."""
            return np.where(start <= goal, 0.0, first_time(curve.times, values, goal))

        # out of warm air it is taken as soon as it is as dry as its room will keep it
        goal = x_end if air.t is None else np.maximum(x_end, self.x_room)
        dry, store = until(mean, goal + _SETTLED), until(underside, self.x_store)
        return Drying(
            t=t,
            curve=curve,
            a_air=a_air,
            x_end=x_end,
            dry=dry,
            # no underside gets drier than the air makes it
            peel=until(underside, np.maximum(self.x_peel, goal + _SETTLED)),
            store=np.maximum(store, dry),
            flux=flux,
            wet_for=wet_for,
            t_wet=surface_temperature(t, a_air, 1.0, film, heat, check=False),
            soaked=until(underside, self._x_molds),
        )

    @cached_property
    def x_store(self) -> Any:
        """Wettest that stores without mold, dry basis, shape (s,). [kg/kg]"""
        return dry_basis(self.isotherm.moisture(STORE_AW))

    @cached_property
    def _x_molds(self) -> Any:
        """Wetter than this mold shows within days, dry basis, shape (s,). [kg/kg]"""
        return dry_basis(self.isotherm.moisture(_MOLDS_AW))

    @cached_property
    def x_peel(self) -> Any:
        """Wettest underside that does not stick to hand or plate, dry basis, shape (s,). [kg/kg]"""
        return self.moisture_at(self.bench.typical("part", "stick_offset"))

    @cached_property
    def x_glass(self) -> Any:
        """Moisture below which it snaps instead of bending, dry basis, shape (s,). [kg/kg]"""
        return self.moisture_at(0.0)

    def curl(self, drying: Drying, time: Any) -> Any:
        """Curvature of the sheet let go at a time (s,), toward its dry face. [1/m]"""
        skin, under = drying.faces_at(time)
        difference = self.free_shrinkage(skin) - self.free_shrinkage(under)
        return curl_curvature(difference, self.thickness(drying.mean_at(time)))

    def _transfer(self, air: SheetAir, t: Any) -> tuple[Any, Any]:
        """Coefficients of vapor and of heat, shape (s,). [m/s, W/m2/K]"""
        bench = self.bench
        film = bench.typical("sheet", "film")
        if air.fan:
            film = film * bench.typical("sheet", "fan_factor")
        if air.covered:
            film = film * bench.typical("sheet", "cover_share")
        heat = convective_heat_transfer(film, t, air_pressure(bench))
        heat = heat + bench.typical("sheet", "radiation")
        if not air.both_faces:  # the other face warms itself
            heat = heat * (1.0 + bench.typical("sheet", "underside"))
        return film, heat

    def _diffusivity(self, t: Any) -> Callable[[Any], Any]:
        free = self.bench.typical("sheet", "free_diffusivity")

        def law(x: Any) -> Any:
            still = gel_diffusivity(x, t, self.factor, free, self.density, check=False)
            return shrinking_diffusivity(still, x, self.density)

        return law


def dry_thickness(bench: Bench) -> float:
    """Likely thickness of the job's sheet, dried stuck to its plate to what its room holds. [m]"""
    sheet = WetSheet(bench)
    return float(np.median(sheet.thickness(np.minimum(sheet.x_room, sheet.x_wet))))


def dry_basis(w: Any) -> Any:
    """Water per dry solids from water per whole. [kg/kg]

    Parameters
    ----------
    w : float or array
        Water per whole, below 1. [kg/kg]
    """
    return w / (1.0 - w)


def wet_basis(x: Any) -> Any:
    """Water per whole from water per dry solids. [kg/kg]

    Parameters
    ----------
    x : float or array
        Water per dry solids; what is below 0 counts as 0. [kg/kg]
    """
    x = np.maximum(x, 0.0)
    return x / (1.0 + x)


def _wet_activity(isotherm: Isotherm) -> Callable[[Any], Any]:
    """Water activity at moistures (..., s), dry basis, wet gels included.

    Above the top of the isotherm what is missing to 1 falls as the solids are diluted.
    """
    top_w = isotherm.highest_moisture()
    top, at_top = dry_basis(top_w), isotherm.activity(top_w)

    def activity(x: Any) -> Any:
        x = np.maximum(x, 0.0)
        below = isotherm.activity(wet_basis(np.minimum(x, top)))
        return np.where(x > top, 1.0 - (1.0 - at_top) * top / np.maximum(x, 1e-9), below)

    return activity


def _read(times: Any, values: Any, at: Any) -> Any:
    """Values at a time of each sample, straight between the known times; all (s, n) but ``at``."""
    at = np.minimum(at, times[:, -1])
    i = np.clip((times <= at[:, None]).sum(axis=1) - 1, 0, times.shape[1] - 2)
    rows = np.arange(len(values))
    (t0, t1), (v0, v1) = ((of[rows, i], of[rows, i + 1]) for of in (times, values))
    return v0 + (at - t0) / (t1 - t0) * (v1 - v0)
