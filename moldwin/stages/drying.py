"""Oven or air drying to a target: how long, how warm at most, what leaves besides water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.quantities import Quantity
from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.loss_on_drying import glycerol_flux, glycerol_lost
from moldwin.physics.pellet import DenseStarch, Pellet
from moldwin.physics.uptake import UptakeCurve, first_time, uptake_curve
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.humidity_sources import spread_activity
from moldwin.stages.jar_stage import JarStage, RisingIsotherm
from moldwin.stages.moisture import Isotherm
from moldwin.stages.room import room_humidity, room_temperature
from moldwin.stages.state import Material

__all__ = ["Drying", "coolest_that_dries", "dry"]

_HOUR = 3600.0
_WATER_GAS_CONSTANT = 461.526  # J/kg/K
_LATENT = 2.4e6  # J/kg, near 50 °C (from memory)
#: Air of an oven with its fan off, or of a room: film coefficient of water vapor and of heat,
#: radiation included (assumed, a factor 2 either way).
_FILM, _FILM_FACTOR, _HEAT = 0.005, 2.0, 14.0
#: Pellets fuse this far above their glass transition: 10 to 20 K, while they lie for hours.
_FUSE = (10.0, 15.0, 20.0)
_TIMES = np.concatenate([[0.0], _HOUR * np.geomspace(0.02, 2e5, 151)])
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
    """Pellets in warm air; arrays of shape (s,).

    Parameters
    ----------
    t : float
        Of the air. [K]
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
    curve: UptakeCurve


def dry(bench: Bench, material: Material, now: float, target: float, t: float) -> Drying:
    """Dry the pellets of a job, spread over the area of its bed, in air of one temperature.

    Parameters
    ----------
    bench, material
        The job and its prepared blend. [-]
    now, target : float
        Wet basis. [kg/kg]
    t : float
        Of oven or room. [K]

    Returns
    -------
    Drying
        [SI]

    Notes
    -----
    The air is the room's, warmed: as damp per volume of dry air as the room's. Film over the bed, a
    third of the bed's depth and the air round each pellet lie in series; the heat that evaporation
    draws through the same film lowers what passes (one linear step, assumed).
    """
    stage = JarStage(bench, material, now)
    room_p = room_humidity(bench) * water_saturation_pressure(room_temperature(bench), check=False)
    saturated = water_saturation_pressure(t, check=False)
    a_air = np.clip(room_p / saturated, 1e-4, 0.98)
    isotherm = RisingIsotherm(bench, material.blend, min(t, _ISOTHERM_TOP))
    old = stage.pellet
    law = DenseStarch(t, stage.diffusivity_factor)
    activity = _on(isotherm)
    a_air = spread_activity(isotherm, a_air, _WETTEST, bench.count)
    pellet = Pellet(old.shape, old.half, old.density, law, activity, old.aspect)
    x_start = stage.x_start
    film = _film(bench, stage, isotherm, t)
    curve = uptake_curve(_TIMES, x_start, a_air, pellet, film, accuracy=1e-3, check=False)
    x_target = _dry_basis(material.at(target).w_water)
    times = {}
    for name, share in (("50", 0.5), ("90", 0.9), ("99", 0.99), ("all", 1.0)):
        goal = x_start + share * (x_target - x_start)
        times[name] = first_time(_TIMES, curve.mean, goal)
    to_target = times.pop("all")
    fuse = bench.draws.samples(
        Quantity("drying.fuse_offset", _FUSE[1], "K", low=_FUSE[0], high=_FUSE[2])
    )
    glycerol = stage.dry_mass * material.blend.dry_share_of("glycerol")
    flux = glycerol_flux(t, _GLYCEROL_ACTIVITY, _GLYCEROL_FILM, check=False)
    soaked = np.minimum(to_target, _LONGEST)
    lost = glycerol_lost(soaked, flux, stage.jar.bed_area, glycerol)
    return Drying(
        t=t,
        a_air=a_air,
        times=times,
        to_target=to_target,
        limit_now=material.at(now).tg + fuse,
        limit_target=material.at(target).tg + fuse,
        final=stage.gross(x_target),
        glycerol=lost,
        glycerol_share=lost / np.maximum(glycerol, 1e-12),
        curve=curve,
    )


def coolest_that_dries(bench: Bench, material: Material, target: float) -> float:
    """Temperature from which the room's air, warmed, dries the pellets to a target. [K]

    Likely values; at most 100 °C.
    """
    room_p = room_humidity(bench) * water_saturation_pressure(room_temperature(bench), check=False)
    w = material.at(target).w_water
    for t in np.arange(288.15, 373.16, 5.0):
        balance = RisingIsotherm(bench, material.blend, min(float(t), _ISOTHERM_TOP)).activity(w)
        air = room_p / water_saturation_pressure(float(t), check=False)
        if np.median(air - _DRIER * balance) <= 0.0:
            return float(t)
    return 373.15


def _on(isotherm: Isotherm) -> Any:
    def activity(x: Any) -> Any:
        x = np.maximum(x, 0.0)
        return isotherm.activity(x / (1.0 + x))

    return activity


def _film(bench: Bench, stage: JarStage, isotherm: Isotherm, t: float) -> Any:
    """Water per area of pellet, time and unit of activity, shape (s,). [kg/m2/s]"""
    k = bench.draws.samples(
        Quantity("drying.film", _FILM, "m/s", factor=_FILM_FACTOR, source="our own choice")
    )
    area, pellet = stage.jar.bed_area, stage.pellet
    density = water_saturation_pressure(t, check=False) / (_WATER_GAS_CONSTANT * t)
    # evaporation cools the surface: its vapor pressure falls by L/(R T²) per kelvin
    fall = _LATENT / (_WATER_GAS_CONSTANT * t**2)
    damp = isotherm.activity(stage.now.w_water)
    over = k * density / (1.0 + k * density * _LATENT * fall * damp / _HEAT)
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


def _dry_basis(w: Any) -> Any:
    return w / (1.0 - w)
