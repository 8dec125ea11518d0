"""The blend at one moisture: what every later stage starts from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.moisture import Isotherm, moisture_error
from moldwin.stages.open_charge import OpenCharge
from moldwin.stages.room import room_temperature
from moldwin.stages.softening import glass_transition, prepare_blend

__all__ = ["Material", "State"]

#: The wettest pellet that a wide reading may mean: beyond, it would be a gel, and what follows
#: water through it (up to 2 kg per kg dry) does not go there. [kg/kg]
_WETTEST = 0.66


@dataclass(frozen=True)
class State:
    """The blend at one nominal moisture; arrays have shape (s,).

    Parameters
    ----------
    nominal : float
        Moisture as the user reads it, wet basis. [kg/kg]
    w_water : array
        True moisture, wet basis. [kg/kg]
    tg : array
        Glass transition of the amorphous phase. [K]
    a_water : array
        Water activity at room temperature. [-]
    phase_water, phase_plasticizer : array
        Mass fractions in the amorphous phase. [kg/kg]
    open_charge : OpenCharge
        How the blend dries where nothing holds its steam. [-]
    """

    nominal: float
    w_water: Any
    tg: Any
    a_water: Any
    phase_water: Any
    phase_plasticizer: Any
    open_charge: OpenCharge


class Material:
    """The prepared blend with its isotherm: gives the state at any moisture.

    Parameters
    ----------
    bench : Bench
        The job and its draws; a softening measurement in the job shifts them here. [-]
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.blend: Blend = prepare_blend(bench)
        self.room_t = room_temperature(bench)
        self.isotherm = Isotherm(bench, self.blend, self.room_t)
        self._error = moisture_error(bench)
        self._open_charge = OpenCharge(bench, self.blend, self.isotherm)

    def glass_transition(self, w_water: Any) -> Any:
        """Glass transition at true moistures (..., s), wet basis. [K]"""
        return glass_transition(self.bench, self.blend, w_water)

    def at(self, nominal: float) -> State:
        """The state at one nominal moisture, wet basis. [kg/kg]"""
        w = np.clip(nominal + self._error, 1e-4, _WETTEST)
        phase = self.blend.water_in_phase(w)
        amorphous = np.maximum(self.blend.amorphous, 1e-12)
        return State(
            nominal=nominal,
            w_water=w,
            tg=glass_transition(self.bench, self.blend, w),
            a_water=self.isotherm.activity(w),
            phase_water=phase,
            phase_plasticizer=self.blend.plasticizer / amorphous * (1.0 - phase),
            open_charge=self._open_charge,
        )
