"""Filling under a given pressure, cell by cell, with a melt that cools and a skin that grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import erfinv

from tests.blind_press import laws
from tests.blind_press.charge import HEAT_CAPACITY, Soaked
from tests.blind_press.hidden import Truth
from tests.second_press.known import Known

_CELLS = 6
_NEWTON = 4
#: A gate half as wide as the part and this long (assumed).
_GATE_LAND = 1.5e-3
#: A sudden contraction costs as much as this many bores of capillary (memory: Bagley, 2 to 5).
_ENTRANCE = 3.0


@dataclass(frozen=True)
class Filled:
    """What came of the push."""

    share: Any
    charge_share: Any
    t_in: Any
    pressure: Any  # at the nozzle, Pa


def needed_volume(known: Known) -> Any:
    """Part, runner and nozzle. [m³]"""
    part = known.length_mm * known.width_mm * known.thickness_mm / 1e9
    nozzle = np.pi / 4.0 * (known.nozzle_mm / 1e3) ** 2 * known.nozzle_length_mm / 1e3
    return part + known.runner_cm3 / 1e6 + nozzle


def fill(known: Known, truth: Truth, soaked: Soaked, mold_k: Any, charge_kg: Any) -> Filled:
    """Push until full, frozen or out of patience."""
    rho = laws.density(truth, soaked.w_water, soaked.t_mean)
    charge_share = charge_kg / rho / needed_volume(known)
    pressure = _pressure(known, truth, soaked, charge_kg / rho)
    # work of the push warms the melt; the nozzle is a little colder than the barrel
    warmer = 0.5 * pressure / HEAT_CAPACITY
    t_in = soaked.t_mean + warmer - truth.nozzle_drop
    share = _march(known, truth, soaked, t_in, mold_k, pressure)
    return Filled(np.minimum(share, charge_share), charge_share, t_in, pressure)


def _pressure(known: Known, truth: Truth, soaked: Soaked, volume: Any) -> Any:
    """What reaches the nozzle: less, the longer the charge and the more of it is still hard. [Pa]

    The share drawn holds for a charge two bores long; friction on the wall makes it a power.
    """
    area = np.pi / 4.0 * (known.bore_mm / 1e3) ** 2
    bores = volume / area / (known.bore_mm / 1e3)
    stuck = bores / 2.0 * (1.0 + 2.0 * soaked.unmelted)
    return known.force_kn * 1e3 / area * truth.share_reaching**stuck


def _march(known: Known, truth: Truth, soaked: Soaked, t_in: Any, mold: Any, p: Any) -> Any:
    """Share of the part filled, cell after cell.

    When the front stands in cell k, the melt in cell i came through the gate when it stood in cell
    k - i: that is how long it has cooled. Each cell is filled twice over: once to learn how long it
    takes, then with walls and melt as they are half-way through.
    """
    height, width = known.thickness_mm / 1e3, known.width_mm / 1e3
    cell = known.length_mm / 1e3 / _CELLS
    bore = np.pi / 4.0 * (known.bore_mm / 1e3) ** 2
    fastest = np.log(truth.ram_speed * bore)
    clock, share = np.zeros(len(truth)), np.zeros(len(truth))
    reached: list[Any] = []
    log_q = fastest
    melt = laws.Melt(truth, soaked.w_water)
    flows = np.ones(len(truth), dtype=bool)
    for _ in range(_CELLS):
        reached.append(clock)
        takes: Any = 0.0
        for _again in range(2):
            slots = _Slots(known, truth, melt, soaked.tg, t_in, mold)
            now = clock + takes / 2.0
            slots.runner_for(np.minimum(known.runner_cm3 / 1e6 / np.exp(log_q), now))
            for came, touched in zip(reached[::-1], reached, strict=True):
                slots.add(now - touched, now - came, cell)
            log_q = np.minimum(slots.rate(p, log_q), fastest)
            takes = cell * width * height / np.exp(log_q)
        left = truth.patience_s - clock
        flows &= slots.open
        share = share + np.where(flows, np.clip(left / takes, 0.0, 1.0), 0.0) / _CELLS
        flows &= takes <= left
        clock = clock + np.minimum(takes, np.maximum(left, 0.0))
    return share


class _Slots:
    """Resistances in a row, at the moment when the front stands in the last cell."""

    def __init__(
        self, known: Known, truth: Truth, melt: laws.Melt, tg: Any, t_in: Any, mold: Any
    ) -> None:
        self._known, self._truth, self._melt = known, truth, melt
        self._t_in, self._mold = t_in, mold
        self._height = known.thickness_mm / 1e3
        self._k = truth.diffusivity * HEAT_CAPACITY
        self._cells: list[tuple[Any, Any, Any]] = []
        self._t_runner = t_in
        self.open = np.ones(len(truth), dtype=bool)
        span = np.maximum(t_in - mold, 1.0)
        self._skin = erfinv(np.clip((tg + truth.no_flow - mold) / span, 0.0, 0.9999))

    def runner_for(self, seconds: Any) -> None:
        """How long the melt spends in the runner."""
        self._t_runner = self._cooled(seconds, self._known.runner_mm / 1e3)

    def add(self, contact_s: Any, age_s: Any, length: Any) -> None:
        """A cell that melt has touched for so long, filled with melt of this age.

        The film between melt and mold holds the skin up by the depth that resists as much.
        """
        film = self._k / self._truth.mold_contact
        skin = 2.0 * np.sqrt(self._truth.diffusivity * contact_s) * self._skin - film
        free = self._height - 2.0 * np.maximum(skin, 0.0)
        least = 0.05 * self._height
        self.open &= free > least
        t = self._cooled(age_s, self._height)
        self._cells.append((np.maximum(free, least), t, length))

    def rate(self, pressure: Any, log_q: Any) -> Any:
        """Logarithm of the flow that the pressure drives, by Newton in logarithms."""
        for _ in range(_NEWTON):
            drop = self._drop(np.exp(log_q))
            slope = np.clip(np.log(self._drop(np.exp(log_q + 0.05)) / drop) / 0.05, 0.15, 1.2)
            log_q = np.clip(log_q - np.log(drop / pressure) / slope, -45.0, 0.0)
        return log_q

    def _drop(self, q: Any) -> Any:
        """Pressure from the nozzle to the front. [Pa]"""
        known = self._known
        bore, wide = known.nozzle_mm / 1e3, known.width_mm / 1e3
        nozzle = known.nozzle_length_mm / 1e3 + _ENTRANCE * bore
        round_bore = known.runner_mm / 1e3
        runner = known.runner_cm3 / 1e6 / (np.pi / 4.0 * round_bore**2)
        total = self._round(q, bore, nozzle, self._t_in)
        total = total + self._round(q, round_bore, runner, self._t_runner)
        total = total + self._slot(q, known.gate_mm / 1e3, wide / 2.0, _GATE_LAND, self._t_in)
        for free, t, length in self._cells:
            total = total + self._slot(q, free, wide, length, t)
        return total

    def _cooled(self, seconds: Any, height: Any) -> Any:
        """Mean temperature after so long between walls this far apart. [K]"""
        resistance = height / 4.0 / self._k + 1.0 / self._truth.mold_contact
        left = np.exp(-seconds / (HEAT_CAPACITY * height / 2.0 * resistance))
        return self._mold + (self._t_in - self._mold) * left

    def _round(self, q: Any, bore: Any, length: Any, t: Any) -> Any:
        rate = 32.0 * q / (np.pi * bore**3)
        return 4.0 * length / bore * rate * self._thick(t, 0.83 * rate)

    def _slot(self, q: Any, height: Any, width: Any, length: Any, t: Any) -> Any:
        rate = 6.0 * q / (width * height**2)
        return 2.0 * length / height * rate * self._thick(t, 0.8 * rate)

    def _thick(self, t: Any, rate: Any) -> Any:
        return self._melt.viscosity(t, rate)
