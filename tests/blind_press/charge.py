"""The soak: rings of charge in a hot barrel by finite volumes, their damage and what stays hard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.blind_press import laws
from tests.blind_press.hidden import Truth
from tests.second_press.known import Known

#: Heat capacity of the dense melt by volume, J/m³/K (1400 kg/m³ by 2.1 kJ/kg/K, handbooks).
HEAT_CAPACITY = 3.0e6
_RINGS = 12
_STEPS = 48
#: How fast air gets thinner with height, m.
_SCALE_HEIGHT = 8400.0


@dataclass(frozen=True)
class Soaked:
    """The charge as it leaves; temperatures in kelvin, shares of the charge's volume."""

    t_rings: Any
    volumes: Any
    t_mean: Any
    w_water: Any
    tg: Any
    unmelted: Any
    browned: Any
    heat_in: Any  # through the wall, J/m³ of charge


def room_pressure(known: Known) -> Any:
    """Of the air. [Pa]"""
    return 101325.0 * np.exp(-known.altitude_m / _SCALE_HEIGHT)


def weld_offset(truth: Truth) -> Any:
    """How far above the glass transition pellets become one. [K]"""
    return 20.0 + 40.0 * truth.weld_and_foam


def soak(known: Known, truth: Truth, w_water: Any, barrel_c: Any, soak_s: Any) -> Soaked:
    """Heat rings from the wall for the soak and for as long as hands need afterward.

    Backward steps in time: rings whose pellets have not welded conduct as a bed does.
    """
    n = len(truth)
    radius = known.bore_mm / 2e3
    wall = np.minimum(barrel_c, known.heater_max_c) + 273.15 + truth.heater_off
    faces = np.linspace(0.0, 1.0, _RINGS + 1)
    volumes = np.diff(faces**2)  # shares of the whole
    width = radius[:, None] / _RINGS
    fused = (laws.glass_transition(truth, w_water) + weld_offset(truth))[:, None]
    dt = ((soak_s + truth.handling_s) / _STEPS)[:, None]

    t = np.repeat((known.room_c + 273.15)[:, None], _RINGS, axis=1)
    dose, heat = np.zeros((n, _RINGS)), np.zeros(n)
    for _ in range(_STEPS):
        slower = np.where(t > fused, 1.0, truth.loose_slower[:, None])
        alpha = truth.diffusivity[:, None] / slower
        between = 2.0 * alpha[:, 1:] * alpha[:, :-1] / (alpha[:, 1:] + alpha[:, :-1])
        # each conductance over the volume of the unit charge: 1/s
        inner = 2.0 * faces[1:-1] * between / (width * radius[:, None])
        film = truth.contact[:, None] / HEAT_CAPACITY
        outer = 2.0 / radius[:, None] / (1.0 / film + width / 2.0 / alpha[:, -1:])
        t = _step(t, wall, inner, outer[:, 0], volumes, dt)
        heat = heat + HEAT_CAPACITY * (outer * dt)[:, 0] * (wall - t[:, -1])
        dose = dose + dt * _rate(truth, t)
    fill_w = _after_drying(known, truth, w_water, t @ volumes)
    tg = laws.glass_transition(truth, fill_w)
    return Soaked(
        t_rings=t,
        volumes=volumes,
        t_mean=t @ volumes,
        w_water=fill_w,
        tg=tg,
        unmelted=(t < (tg + weld_offset(truth))[:, None]) @ volumes,
        browned=np.clip(dose > 1.0, 0, 1) @ volumes,
        heat_in=heat,
    )


def _step(t: Any, wall: Any, inner: Any, outer: Any, volumes: Any, dt: Any) -> Any:
    """One backward step: a tridiagonal system per charge, solved by elimination."""
    below = np.zeros_like(t)
    above = np.zeros_like(t)
    below[:, 1:] = -inner * dt / volumes[1:]
    above[:, :-1] = -inner * dt / volumes[:-1]
    own = 1.0 - below - above
    right = t.copy()
    gain = outer * dt[:, 0] / volumes[-1]
    own[:, -1] += gain
    right[:, -1] += gain * wall
    for i in range(1, _RINGS):
        part = below[:, i] / own[:, i - 1]
        own[:, i] -= part * above[:, i - 1]
        right[:, i] -= part * right[:, i - 1]
    found = np.empty_like(t)
    found[:, -1] = right[:, -1] / own[:, -1]
    for i in range(_RINGS - 2, -1, -1):
        found[:, i] = (right[:, i] - above[:, i] * found[:, i + 1]) / own[:, i]
    return found


def _rate(truth: Truth, t: Any) -> Any:
    """Browning of every ring. [1/s]"""
    hot = np.exp(truth.clock_energy[:, None] / 8.314 * (1.0 / 423.15 - 1.0 / t))
    return laws.browning_rate(truth, 423.15)[:, None] * hot


def _after_drying(known: Known, truth: Truth, w_water: Any, t: Any) -> Any:
    """Moisture left: an open nozzle lets the charge come part of the way to rest with the air."""
    low, high = np.full(len(truth), 1e-4), np.full(len(truth), 0.5)
    at_rest = room_pressure(known) / laws.saturation_pressure(t)
    for _ in range(24):
        middle = (low + high) / 2.0
        over = laws.melt_activity(truth, middle) > at_rest
        high = np.where(over, middle, high)
        low = np.where(over, low, middle)
    lost = truth.dries * np.maximum(w_water - low, 0.0)
    return np.where(known.sealed, w_water, w_water - lost)
