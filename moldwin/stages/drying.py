"""Oven or air drying to a target: how long, how warm at most, what leaves besides water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.quantities import Quantity
from moldwin.physics.degradation import quality_limit_time
from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.loss_on_drying import glycerol_flux, glycerol_lost
from moldwin.physics.pellet import DenseStarch, Pellet
from moldwin.physics.uptake import UptakeCurve, first_time, uptake_curve
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.browning import browned
from moldwin.stages.humidity_sources import spread_activity
from moldwin.stages.jar_stage import JarStage
from moldwin.stages.moisture import Isotherm
from moldwin.stages.room import room_humidity, room_temperature
from moldwin.stages.state import Material

__all__ = ["HOUR", "LIMITS", "Drying", "Oven", "coolest_that_dries"]

HOUR = 3600.0
#: What may not happen while pellets dry, in the order of the page.
LIMITS = ("fuse", "browning", "glycerol")
_WATER_GAS_CONSTANT = 461.526  # J/kg/K
_LATENT = 2.4e6  # J/kg, near 50 °C (from memory)
#: Air of an oven with its fan off, or of a room: film coefficient of water vapor and of heat,
#: radiation included (assumed, a factor 2 either way); with a fan, so many times more (assumed).
_FILM, _FILM_FACTOR, _HEAT = 0.005, 2.0, 14.0
_FANNED, _FANNED_HEAT = 3.0, 2.0
#: Pellets fuse this far above their glass transition: 10 to 20 K, while they lie for hours.
_FUSE = (10.0, 15.0, 20.0)
#: Standard uncertainty of a kitchen oven (assumed). [K]
_OVEN_U = 3.0
#: What drying may use up of the browning clock, which the press needs too, and of the glycerol
#: (judgment). [-]
_BROWNED, _GLYCEROL_GONE = 0.1, 0.05
#: Dry starch keeps for months up to here: what the press's clock, made for 120 °C and more, still
#: counts at this temperature is not browning (judgment). [K]
_KEEPS = 333.15
_TIMES = np.concatenate([[0.0], HOUR * np.geomspace(0.02, 2e5, 151)])
#: The isotherm is moved at most this far; above it stays where it was. [K]
_ISOTHERM_TOP = 333.15
#: Nobody leaves pellets out for longer: what leaves is counted up to here. [s]
_LONGEST = 30.0 * 86400.0
#: Air dries well when it is drier than the target's balance by this factor (judgment).
_DRIER = 0.7
#: Wetter than this, wet basis, no air takes the pellets. [kg/kg]
_WETTEST = 0.64
#: Activity of glycerol in dry starch, and film of its vapor in an oven (assumed). [-, m/s]
_GLYCEROL_ACTIVITY, _GLYCEROL_FILM = 0.3, 0.005


@dataclass(frozen=True)
class Drying:
    """Pellets in warm air of one temperature; arrays of shape (s,).

    Parameters
    ----------
    t : float
        Of the air, as set. [K]
    a_air : array
        Its humidity at that temperature. [-]
    times : dict of str to array
        Until 50, 90 and 99 % of the way to the target; infinite where the air is too damp. [s]
    to_target : array
        Until the mean is at the target. [s]
    limit_now, limit_target : array
        Temperature at which pellets fuse, at the moisture now and at the target. [K]
    final : array
        Mass of the pellets at the target. [kg]
    glycerol : array
        Glycerol lost by then. [kg]
    glycerol_share : array
        Of what there was. [kg/kg]
    browning : array
        Share of the browning clock used up by then. [-]
    margins : dict of str to array
        For each of ``LIMITS``, above zero is fine. [-]
    curve : UptakeCurve
        Over time. [SI]
    """

    t: float
    a_air: Any
    times: dict[str, Any]
    to_target: Any
    limit_now: Any
    limit_target: Any
    final: Any
    glycerol: Any
    glycerol_share: Any
    browning: Any
    margins: dict[str, Any]
    curve: UptakeCurve

    @property
    def harmless(self) -> Any:
        """Where no limit is broken, shape (s,)."""
        return np.all([margin > 0.0 for margin in self.margins.values()], axis=0)


class Oven:
    """The pellets of a job, spread over the area of its bed, in air of any temperature.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    material : Material
        Its prepared blend. [-]
    now : float
        Moisture as the user reads it, wet basis. [kg/kg]

    Notes
    -----
    The air is the room's, warmed: as damp per volume of dry air as the room's. Film over the bed, a
    third of the bed's depth and the air round each pellet lie in series; the heat that evaporation
    draws through the same film lowers what passes (one linear step, assumed).
    """

    def __init__(self, bench: Bench, material: Material, now: float) -> None:
        self.bench, self.material = bench, material
        self.stage = JarStage(bench, material, now)
        self.glycerol = self.stage.dry_mass * material.blend.dry_share_of("glycerol")
        room_p = water_saturation_pressure(room_temperature(bench), check=False)
        self._room_p = room_humidity(bench) * room_p
        self._fuse = bench.draws.samples(
            Quantity("drying.fuse_offset", _FUSE[1], "K", low=_FUSE[0], high=_FUSE[2])
        )
        #: What passes the film of air over the bed, of the typical. [-]
        self.film_factor = bench.draws.samples(
            Quantity("drying.film", 1.0, "1", factor=_FILM_FACTOR, source="our own choice")
        )
        bench.columns["drying.film"] = "drying.film"
        self._error = bench.draws.samples(Quantity("drying.oven_error", 0.0, "K", u=_OVEN_U))

    def curve(self, t: float, times: Any = _TIMES) -> tuple[Any, UptakeCurve]:
        """Humidity of the air at a temperature [K], shape (s,), and the pellets' course in it."""
        isotherm = Isotherm(self.bench, self.material.blend, min(t, _ISOTHERM_TOP))
        a_air = np.clip(self._room_p / water_saturation_pressure(t, check=False), 1e-4, 0.98)
        a_air = spread_activity(isotherm, a_air, _WETTEST, self.bench.count)
        old = self.stage.pellet
        law = DenseStarch(t, self.stage.diffusivity_factor)
        pellet = Pellet(old.shape, old.half, old.density, law, _on(isotherm), old.aspect)
        film = self._film(isotherm, t)
        x_start = self.stage.x_start
        return a_air, uptake_curve(times, x_start, a_air, pellet, film, accuracy=1e-3, check=False)

    def dry(self, target: float, t: float) -> Drying:
        """Down to a target, wet basis [kg/kg], in air of one temperature [K]."""
        a_air, curve = self.curve(t)
        x_start, x_target = self.stage.x_start, _dry_basis(self.material.at(target).w_water)
        times = {}
        for name, share in (("50", 0.5), ("90", 0.9), ("99", 0.99), ("all", 1.0)):
            goal = x_start + share * (x_target - x_start)
            times[name] = first_time(_TIMES, curve.mean, goal)
        to_target = times.pop("all")
        lying = np.minimum(to_target, _LONGEST)
        lost = self.glycerol_lost(lying, t)
        gone = lost / np.maximum(self.glycerol, 1e-12)
        browning = self._browning(lying, t)
        limit = self.stage.now.tg + self._fuse
        return Drying(
            t=t,
            a_air=a_air,
            times=times,
            to_target=to_target,
            limit_now=limit,
            limit_target=self.material.at(target).tg + self._fuse,
            final=self.stage.gross(x_target),
            glycerol=lost,
            glycerol_share=gone,
            browning=browning,
            margins={
                "fuse": limit - (t + self._error),
                "browning": np.log(_BROWNED / np.maximum(browning, 1e-12)),
                "glycerol": _GLYCEROL_GONE - gone,
            },
            curve=curve,
        )

    def glycerol_lost(self, time: Any, t: float) -> Any:
        """Glycerol that has left after times [s], shapes (..., s). [kg]"""
        hot = t + self._error
        flux = glycerol_flux(hot, _GLYCEROL_ACTIVITY, _GLYCEROL_FILM, check=False)
        return glycerol_lost(time, flux, self.stage.jar.bed_area, self.glycerol)

    def lost(self, t: float, times: Any) -> Any:
        """What the scale sees leave by each time [s] per mass at the start, shape (s, n). [-]"""
        _, curve = self.curve(t, times)
        x0 = self.stage.x_start[:, None]
        water = (x0 - curve.mean) / (1.0 + x0)
        glycerol = self.glycerol_lost(np.asarray(times, dtype=float)[:, None], t)
        return water + (glycerol / self.stage.mass).T

    def _browning(self, time: Any, t: float) -> Any:
        """Share of the browning clock that times [s] at a temperature use up, shape (s,). [-]

        Only what goes faster than where dry starch keeps; the clock's steepness is drawn, and its
        flat end would have pellets brown in a cupboard.
        """

        def used(limit: Any, energy: Any) -> Any:
            hot, kept = (
                1.0 / quality_limit_time(at, limit, energy, check=False)
                for at in (t + self._error, _KEEPS)
            )
            return time * np.maximum(hot - kept, 0.0)

        return browned(self.bench, self.material.blend, used)

    def _film(self, isotherm: Isotherm, t: float) -> Any:
        """Water per area of pellet, time and unit of activity, shape (s,). [kg/m2/s]"""
        stage, bench = self.stage, self.bench
        k, heat = _FILM * self.film_factor, _HEAT
        if bench.job.jar.fan:
            k, heat = _FANNED * k, _FANNED_HEAT * heat
        area, pellet = stage.jar.bed_area, stage.pellet
        density = water_saturation_pressure(t, check=False) / (_WATER_GAS_CONSTANT * t)
        # evaporation cools the surface: its vapor pressure falls by L/(R T²) per kelvin
        fall = _LATENT / (_WATER_GAS_CONSTANT * t**2)
        damp = isotherm.activity(stage.now.w_water)
        over = k * density / (1.0 + k * density * _LATENT * fall * damp / heat)
        through = still_air_conductance(1.0, stage.jar.bed_depth / 3.0, t, check=False)
        through = through * stage.jar.voids
        per_bed = area / (1.0 / over + 1.0 / through)  # kg/s for all pellets
        dimension = {"slab": 1.0, "sphere": 3.0}.get(pellet.shape, 2.0)
        surface = dimension / (pellet.half * pellet.density)
        if pellet.aspect is not None:
            surface = (2.0 + 1.0 / pellet.aspect) / (pellet.half * pellet.density)
        whole = surface * stage.dry_mass
        round_each = still_air_conductance(1.0, pellet.half, t, check=False)
        return 1.0 / (whole / per_bed + 1.0 / round_each)


def coolest_that_dries(bench: Bench, material: Material, target: float) -> float:
    """Temperature from which the room's air, warmed, dries the pellets to a target. [K]

    Likely values; at most 100 °C.

    Parameters
    ----------
    target : float
        Moisture to come to, wet basis. [kg/kg]
    """
    room_p = room_humidity(bench) * water_saturation_pressure(room_temperature(bench), check=False)
    w = material.at(target).w_water
    for t in np.arange(288.15, 373.16, 5.0):
        balance = Isotherm(bench, material.blend, min(float(t), _ISOTHERM_TOP)).activity(w)
        air = room_p / water_saturation_pressure(float(t), check=False)
        if np.median(air - _DRIER * balance) <= 0.0:
            return float(t)
    return 373.15


def _on(isotherm: Isotherm) -> Any:
    def activity(x: Any) -> Any:
        x = np.maximum(x, 0.0)
        return isotherm.activity(x / (1.0 + x))

    return activity


def _dry_basis(w: Any) -> Any:
    return w / (1.0 - w)
