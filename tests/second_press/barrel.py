"""The charge soaking in the barrel: heat through layers, a melting front, water lost, browning.

Crank-Nicolson over rings of equal thickness; the first axis of every array here is the ring, from
the center to the wall, and the second the shot.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.second_press import laws
from tests.second_press.hidden import Truth
from tests.second_press.known import Known

RINGS = 10
_STEPS = 48
#: Softening runs over this many kelvin. [K]
_FRONT = 12.0
#: Steam is looked at every so many steps: it costs a bisection.
_LOOKS = 6
_SAG_TIME = 70.0  # s until the wall has recovered from a cold charge (assumed)
_COLOR_REFERENCE = 423.15


@dataclass(frozen=True)
class Soaked:
    """The charge when the nozzle opens."""

    t_rings: Any
    t_mean: Any
    x: Any
    unmelted: Any
    dose: Any
    puff: Any
    density: Any


def air_pressure(known: Known) -> Any:
    """Pressure of the air at the maker's altitude: scale height 8.4 km. [Pa]"""
    return 101325.0 * np.exp(-known.altitude_m / 8400.0)


def soak(known: Known, truth: Truth, x0: Any, set_point: Any, time: Any) -> Soaked:
    """Soak a charge of water ``x0`` at a set point [K] as the maker reads it, for a time [s]."""
    shape = np.broadcast_shapes(np.shape(x0), np.shape(set_point), np.shape(time))
    x = np.broadcast_to(np.asarray(x0, float), shape).copy()
    dt = np.broadcast_to(np.asarray(time, float) * truth.timing / _STEPS, shape)
    radius = known.bore_mm / 2e3
    mixed = truth.mix
    rho_melt = laws.density(mixed, x, 400.0, truth.expansion)
    poured = np.minimum(known.bulk_g_cm3 * 1e3 * truth.packed, 0.85 * rho_melt)
    room = known.room_c + 273.15
    t = np.broadcast_to(room, (RINGS, *shape)).copy()
    molten = np.zeros_like(t)
    dose = np.zeros(shape)
    puff = np.zeros(shape)
    air = air_pressure(known)
    areas = (2.0 * np.arange(RINGS) + 1.0) / RINGS**2
    areas = areas.reshape((RINGS,) + (1,) * len(shape))
    for step in range(_STEPS):
        clock = (step + 0.5) * dt
        wall = _wall(truth, set_point, clock)
        rho = poured + (rho_melt - poured) * molten
        k = truth.k_loose + (truth.k_melt - truth.k_loose) * molten
        contact = truth.wall_loose + (truth.wall_melt - truth.wall_loose) * molten[-1]
        t = _conduct(t, k, rho * truth.heat_capacity, contact, radius, wall, dt)
        tg = laws.glass_point(mixed, x)
        t, molten = _melt(t, molten, tg + truth.weld_above_tg, poured, rho_melt)
        mean = (areas * t).sum(axis=0)
        x = _lose_water(known, truth, x, mean, air, dt)
        dose += dt * _browning(truth, t[-1])
        if step % _LOOKS == _LOOKS - 1:
            puff += _LOOKS * dt * _puffing(truth, x, mean, tg, air)
    return Soaked(
        t_rings=t,
        t_mean=(areas * t).sum(axis=0),
        x=x,
        unmelted=1.0 - (areas * molten).sum(axis=0),
        dose=dose,
        puff=puff,
        density=rho_melt,
    )


def _wall(truth: Truth, set_point: Any, clock: Any) -> Any:
    """The wall: off the set point, swinging, and chilled at first by the charge. [K]"""
    swing = truth.swing * np.sin(2.0 * np.pi * clock / truth.swing_period)
    return set_point + truth.heater_off + swing - truth.sag * np.exp(-clock / _SAG_TIME)


def _conduct(t: Any, k: Any, capacity: Any, contact: Any, radius: Any, wall: Any, dt: Any) -> Any:
    """One Crank-Nicolson step of conduction in a cylinder."""
    dr = radius / RINGS
    inner = np.arange(1, RINGS).reshape((RINGS - 1,) + (1,) * (t.ndim - 1))
    # conductance between rings per 2 pi and per length: r k / dr, with r = i dr
    between = inner * 2.0 * k[:-1] * k[1:] / (k[:-1] + k[1:])
    outer = RINGS / (0.5 / k[-1] + 1.0 / (contact * dr))
    rings = np.arange(RINGS).reshape((RINGS,) + (1,) * (t.ndim - 1)) + 0.5
    beta = 0.5 * dt / (capacity * rings * dr**2)
    left = np.concatenate([np.zeros_like(t[:1]), between]) * beta
    right = np.concatenate([between, outer[None]]) * beta
    neighbor = np.concatenate([t[1:], np.broadcast_to(wall, t.shape[1:])[None]])
    before = np.concatenate([t[:1], t[:-1]])
    known_side = t + left * (before - t) + right * (neighbor - t)
    known_side[-1] += right[-1] * wall
    return _thomas(-left, 1.0 + left + right, -right, known_side)


def _thomas(lower: Any, middle: Any, upper: Any, side: Any) -> Any:
    """Tridiagonal systems along the first axis."""
    n = len(middle)
    c, d = np.empty_like(middle), np.empty_like(middle)
    c[0], d[0] = upper[0] / middle[0], side[0] / middle[0]
    for i in range(1, n):
        pivot = middle[i] - lower[i] * c[i - 1]
        c[i] = upper[i] / pivot
        d[i] = (side[i] - lower[i] * d[i - 1]) / pivot
    for i in range(n - 2, -1, -1):
        d[i] -= c[i] * d[i + 1]
    return d


def _melt(t: Any, molten: Any, front: Any, poured: Any, dense: Any) -> tuple[Any, Any]:
    """Rings that soften collapse, and what fills their pores comes from the cold core above."""
    now = np.maximum(molten, np.clip((t - front) / _FRONT + 0.5, 0.0, 1.0))
    added = (now - molten) * (dense - poured) / (poured + (dense - poured) * now)
    return t - added * np.maximum(t - t[0], 0.0), now


def _lose_water(known: Known, truth: Truth, x: Any, t: Any, air: Any, dt: Any) -> Any:
    """A sealed charge leaks a little; an open one dries toward steam of the air's pressure."""
    leaking = x * truth.leak * dt / 600.0 * (t > 373.0)
    open_to = laws.equilibrium_water(truth.mix, air / laws.saturation_pressure(t), t)
    drying = np.maximum(x - open_to, 0.0) * dt / (truth.breathing + dt) * (t > 373.0)
    return x - np.where(known.sealed, leaking, drying)


def _puffing(truth: Truth, x: Any, t: Any, tg: Any, air: Any) -> Any:
    """How fast steam would blow the bulk of an open charge up: strain per second.

    A bubble in a melt grows at its overpressure over four viscosities (viscous growth, Amon &
    Denson 1984, from memory) once that exceeds what yield and skin hold, and the melt is as far
    above Tg as expansion needs. Voids are seen in extruded starch above 100 °C (review, read).
    """
    over = laws.water_activity(truth.mix, x, t) * laws.saturation_pressure(t) - air
    rest = laws.rest_viscosity(truth.pin, truth.flow_heat, truth.bend, tg, t)
    able = t > tg + truth.foam_above_tg
    return np.where(able, np.maximum(over - 4.0 * truth.yielding, 0.0) / (4.0 * rest), 0.0)


def _browning(truth: Truth, t: Any) -> Any:
    """Color per second, 1 being one that is minded."""
    slower = truth.brown_heat / laws.GAS * (1.0 / t - 1.0 / _COLOR_REFERENCE)
    return np.exp(-slower) / truth.brown_150
