"""The melt on its way from ram to end of part, station by station, freezing as it goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import erfinv

from tests.second_press import laws
from tests.second_press.barrel import Soaked
from tests.second_press.hidden import Truth
from tests.second_press.known import Known

STATIONS = 8
_HALVINGS = 11  # to 0.006 in the logarithm of the flow
_PATIENCE = 40.0  # s a maker leans on a ram that hardly moves (assumed)
_GATE_LENGTH = 2e-3


@dataclass(frozen=True)
class Filled:
    """How the part filled."""

    share: Any
    charge_share: Any
    t_in: Any
    end_pressure: Any
    seconds: Any


@dataclass(frozen=True)
class _Melt:
    """The melt's law at one temperature per shot, and the pressure behind it."""

    truth: Truth
    tg: Any
    thick: Any

    def stress(self, rate: Any, t: Any) -> Any:
        truth = self.truth
        rest = laws.rest_viscosity(truth.pin, truth.flow_heat, truth.bend, self.tg, t)
        crowded = rest * self.thick
        return laws.cross_stress(crowded, truth.thinning, truth.knee, truth.yielding, rate)


def ram_pressure(known: Known, truth: Truth, unmelted: Any, volume: Any) -> Any:
    """Pressure on the melt: the force less friction, less what an unmelted plug eats. [Pa]"""
    area = np.pi / 4 * (known.bore_mm / 1e3) ** 2
    slender = volume / area / (known.bore_mm / 1e3)
    # what lies under the ram stays cold whatever the soak: the ram comes in cold and leads heat off
    cold = np.maximum(truth.cold_end, slender * np.sqrt(np.clip(unmelted, 0.0, 1.0)))
    plug = np.exp(-4.0 * truth.plug * np.minimum(cold, slender))
    return known.force_kn * 1e3 * truth.force_share / area * plug


def needed_volume(known: Known) -> Any:
    """Part, runner and nozzle. [m³]"""
    part = known.length_mm * known.width_mm * known.thickness_mm * 1e-9
    nozzle = np.pi / 4 * known.nozzle_mm**2 * known.nozzle_length_mm * 1e-9
    return part + known.runner_cm3 * 1e-6 + nozzle


def fill(known: Known, truth: Truth, soaked: Soaked, mold: Any, charge_kg: Any) -> Filled:
    """Push the charge through nozzle, runner and gate into a mold at ``mold``. [K]"""
    tg = laws.glass_point(truth.mix, soaked.x)
    solids = laws.solids_volume(truth.mix, soaked.x)
    lumps = solids + (1.0 - solids) * 0.5 * soaked.unmelted
    melt = _Melt(truth, tg, laws.crowding(lumps, truth.packing))
    rho = laws.density(truth.mix, soaked.x, soaked.t_mean, truth.expansion)
    at_hand = charge_kg * truth.scale_share * (1.0 - truth.lost) / rho
    charge_share = _charge_share(known, at_hand)
    pressure = ram_pressure(known, truth, soaked.unmelted, charge_kg / rho)
    t_in = soaked.t_mean + 0.3 * pressure / (rho * truth.heat_capacity)  # warmed by its own shear
    wall = mold + truth.mold_off
    share, seconds, left = _march(known, truth, melt, pressure, t_in, wall, tg)
    return Filled(np.minimum(share, charge_share), charge_share, t_in, left, seconds)


def _charge_share(known: Known, at_hand: Any) -> Any:
    """Share of the part that the charge has volume for."""
    part = known.length_mm * known.width_mm * known.thickness_mm * 1e-9
    return np.clip((at_hand - (needed_volume(known) - part)) / part, 0.0, 1.0)


def _march(
    known: Known, truth: Truth, melt: _Melt, pressure: Any, t_in: Any, wall: Any, tg: Any
) -> tuple[Any, Any, Any]:
    """Front by front: the flow that the pressure can drive, and the time it takes."""
    h, w = known.thickness_mm / 1e3, known.width_mm / 1e3
    piece = known.length_mm / 1e3 / STATIONS
    shape = np.broadcast_shapes(np.shape(t_in), np.shape(wall))
    fastest = np.broadcast_to(truth.speed * np.pi / 4 * (known.bore_mm / 1e3) ** 2, shape)
    flow, seconds = fastest, np.zeros(shape)
    share, alive = np.zeros(shape), np.ones(shape, dtype=bool)
    reached = np.zeros((STATIONS, *shape))  # when the front came to each piece
    cold = np.clip((tg + truth.stop_above_tg - wall) / np.maximum(t_in - wall, 1.0), 0.0, 0.999)
    skin = 2.0 * erfinv(cold)  # of a half-space chilled at its face
    alpha = truth.k_melt / (1350.0 * truth.heat_capacity)
    late = (truth.k_melt / truth.mold_contact) ** 2 / alpha  # the contact delays the skin
    for j in range(STATIONS):
        step = np.zeros(shape)
        for _ in range(2):  # once to know how long the step takes, once with that
            ages = seconds + 0.5 * step - reached[: j + 1]
            frozen = skin * (np.sqrt(alpha * (ages + late)) - np.sqrt(alpha * late))
            # twice 0.6: hot melt running by keeps either skin thinner (assumed)
            gap = np.maximum(h - 1.2 * frozen, 0.03 * h)
            t = _cooled(truth, t_in, wall, gap, w, piece, flow)
            flow = _drivable(known, truth, melt, pressure, t_in, t, gap, w, piece, fastest)
            step = piece * h * w / flow
        seconds = seconds + step
        alive &= (seconds < _PATIENCE) & (gap.min(axis=0) > 0.08 * h)
        share = np.where(alive, (j + 1) / STATIONS, share)
        if j + 1 < STATIONS:
            reached[j + 1] = seconds
    held = pressure - 2.0 * truth.yielding * known.length_mm / 1e3 / gap.min(axis=0)
    return share, seconds, held


def _cooled(truth: Truth, t_in: Any, wall: Any, gap: Any, w: Any, piece: Any, flow: Any) -> Any:
    """The melt in each piece behind the front: it has cooled on its way there. [K]

    Flow between cold plates: Graetz with Leveque's entry, Nu = max(7.54, 1.85 Gz^(1/3)) on twice
    the gap (Shah & London 1978, from memory), Gz = 4 / Fourier of the time under way.

    ``flow`` is that of the step before. With the flow sought in its place there would be two
    answers, a fast warm one and a slow cold one; the melt starts on the fast one.
    """
    pieces = (np.arange(len(gap)) + 0.5).reshape((len(gap),) + (1,) * (gap.ndim - 1))
    alpha = truth.k_melt / (1350.0 * truth.heat_capacity)
    fourier = alpha * pieces * piece * gap * w / flow / gap**2
    nusselt = np.maximum(7.54, 1.85 * (4.0 / fourier) ** (1.0 / 3.0))
    return wall + (t_in - wall) * np.exp(-nusselt * fourier)


def _drivable(
    known: Known,
    truth: Truth,
    melt: _Melt,
    pressure: Any,
    t_in: Any,
    t: Any,
    gap: Any,
    w: Any,
    piece: Any,
    fastest: Any,
) -> Any:
    """The flow at which the drops along the way add up to the pressure, or the ram's fastest.

    Bisection in the logarithm: a yield stress makes secants run away. What flows a hundred
    thousand times slower than the ram can go does not flow.
    """
    high = np.log(fastest)
    low = high - 12.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        drop = _drop(known, truth, melt, np.exp(middle), t_in, t, gap, w, piece)
        low, high = np.where(drop < pressure, middle, low), np.where(drop < pressure, high, middle)
    return np.exp(0.5 * (low + high))


def _drop(
    known: Known,
    truth: Truth,
    melt: _Melt,
    flow: Any,
    t_in: Any,
    t: Any,
    gap: Any,
    w: Any,
    piece: Any,
) -> Any:
    """Pressure that a flow costs from the ram to the front. [Pa]"""
    bore, length = known.nozzle_mm / 2e3, known.nozzle_length_mm / 1e3
    nozzle = melt.stress(4.0 * flow / (np.pi * bore**3), t_in - truth.nozzle_cooler * 0.3)
    total = 2.0 * nozzle * (length / bore + truth.entry)
    run_r = known.runner_mm / 2e3
    run_l = known.runner_cm3 * 1e-6 / (np.pi * run_r**2)
    total = total + 2.0 * melt.stress(4.0 * flow / (np.pi * run_r**3), t_in) * run_l / run_r
    gate, gate_w = known.gate_mm / 1e3, np.maximum(3e-3, 0.3 * w)
    total = total + 2.0 * melt.stress(6.0 * flow / (gate_w * gate**2), t_in) * _GATE_LENGTH / gate
    part = melt.stress(6.0 * flow / (w * gap**2), np.maximum(t, melt.tg - 20.0))
    return total + (2.0 * part * piece / gap).sum(axis=0)
