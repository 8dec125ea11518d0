"""The barrel: for each limit a margin per sample at given set points and soaks.

Arrays have shape (t, k, s): set point, soak, sample, or anything that broadcasts to it. Every
margin is above zero where the limit holds. The moisture at fill is the moisture loaded: a sealed
charge loses only what its voids take up, and an open one is not to be used above its steam onset.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.degradation import quality_limit_time
from moldwin.physics.melt_water import volume_fractions
from moldwin.physics.melting import granule_melting_point
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.filling import MeltFlow
from moldwin.stages.moisture import HotActivity
from moldwin.stages.room import air_pressure, room_temperature
from moldwin.stages.shot import Geometry, Ram
from moldwin.stages.state import State
from moldwin.stages.warming import Warming

__all__ = ["HIGH_LIMITS", "LOW_LIMITS", "Barrel"]

LOW_LIMITS = ("weld", "fill", "granules")
HIGH_LIMITS = ("browning", "fiber-scorch", "fumes", "steam", "heater")

#: Acid of the dry mass from which its whole effect on browning counts (assumed). [kg/kg]
_FULL_ACID = 0.005
#: Halvings of 310 K: the onset to a hundredth of a kelvin.
_HALVINGS = 15


class Barrel:
    """One material state in one barrel.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    blend : Blend
        Dry shares. [kg/kg]
    state : State
        The blend at one moisture. [SI]
    geometry : Geometry
        The part. [SI]
    reach : Ram
        What the ram can do. [SI]
    t_mold : float
        Mold temperature while filling; may be set later, when the mold window is known. [K]
    """

    def __init__(
        self,
        bench: Bench,
        blend: Blend,
        state: State,
        geometry: Geometry,
        reach: Ram,
        t_mold: float = 333.15,
    ) -> None:
        self.bench, self.blend, self.state = bench, blend, state
        self.geometry, self.reach, self.t_mold = geometry, reach, t_mold
        press = bench.job.press
        self.sealed = bool(press.sealed_nozzle)
        loaded = bench.job.pellets.temperature
        self.start_t = room_temperature(bench) if loaded is None else loaded
        self.air_pressure = air_pressure(bench)
        # the offset between glass transition and welding also starts foaming: one draw for both
        self.t_weld = state.tg + bench.typical("press", "weld_offset")
        self._activity = HotActivity(bench, blend, state.w_water, state.tg, state.a_water)
        self.warming = Warming(bench, blend, state, reach)
        self.flow = MeltFlow(bench, blend, state)

    # -- what the charge is like -------------------------------------------------------------

    def true_temperature(self, t_set: Any) -> Any:
        """Barrel wall for set points (t,) or (t, 1, s), shape (t, 1, s). [K]"""
        u = self.bench.job.press.heater_u
        if u is None:
            error = self.bench.typical("press", "heater_error")
        else:
            error = self.bench.given("press.heater_error", 0.0, "K", u=u)
        return _beside_samples(t_set) + error

    def charge_temperature(self, t_wall: Any, soak: Any, where: str) -> Any:
        """Center or mean of the charge after soaks (k,), shape (t, k, s). [K]"""
        return t_wall - self.warming.left(soak, where) * (t_wall - self.start_t)

    def steam_activity(self, t: Any) -> Any:
        """Water activity of the hot charge at temperatures (..., s). [-]"""
        return self._activity.at(t)

    def onset(self) -> Any:
        """Temperature at which the charge's steam passes the air pressure, shape (s,). [K]

        Halved down rather than iterated: where the glass hands over to the melt the activity rises
        steeply with temperature.
        """
        low, high = np.full(self.bench.count, 330.0), np.full(self.bench.count, 640.0)
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            steams = self.steam_pressure(middle) > self.air_pressure
            low, high = np.where(steams, low, middle), np.where(steams, middle, high)
        return 0.5 * (low + high)

    def steam_pressure(self, t_wall: Any) -> Any:
        """Pressure of the steam in the charge. [Pa]"""
        return self.steam_activity(t_wall) * water_saturation_pressure(t_wall, check=False)

    def held_pressure(self) -> Any:
        """Pressure that keeps bubbles small: packing where sealed, the air's where not. [Pa]"""
        if not self.sealed:
            return self.air_pressure
        packing = self.bench.typical("press", "packing_share")
        return self.air_pressure + self.reach.at_melt * packing

    # -- the margins -------------------------------------------------------------------------

    def margins(self, t_set: Any, soak: Any) -> dict[str, Any]:
        """Every limit's margin at set points (t,) or (t, 1, s) [K] and soaks (k,) [s].

        Above zero is fine.
        """
        wall = self.true_temperature(t_set)
        center = self.charge_temperature(wall, soak, "center")
        hot = np.asarray(soak, dtype=float)[:, None]
        found = {
            "weld": center - self.t_weld,
            "fill": self._fill(wall, center),
            "browning": -np.log(self.browning_dose(wall, hot)),
            "steam": self._steam(wall),
            "heater": self._heater(t_set),
        }
        if not self.bench.job.blend.cooked:
            found["granules"] = self._granules(center)
        if self.blend.fibrous:
            scorch = self._scorch(wall)
            if scorch is not None:
                found["fiber-scorch"] = scorch
        fumes = self._fumes(wall)
        if fumes is not None:
            found["fumes"] = fumes
        return found

    def freezing_margin(self, t_set: float, soak: float) -> Any:
        """How far the melt stays above welding while it fills, shape (s,). [K]"""
        wall = self.true_temperature(np.array([t_set]))
        center = self.charge_temperature(wall, np.array([soak]), "center")[0, 0]
        return self.flow.filling(self.geometry, center, self.t_mold)[1] - self.t_weld

    def browning_dose(self, t_wall: Any, soak: Any) -> Any:
        """Share of the browning clock that the skin of the charge has used after soaks [s]. [-]

        The skin follows the wall with the delay of its own warming; after the soak it stays at wall
        temperature for handling and filling. Each earlier pass through a barrel is counted as one
        more of the same. The blend's clocks run side by side, each with the share of its polymer.
        """
        handling = self.bench.typical("press", "handling_time")
        total = np.maximum(self.blend.polymer, 1e-12)
        dose: Any = 0.0
        for entries in _by_card(self.blend).values():
            share = sum(e.share for e in entries) / total
            limit = self.bench.of(entries[0].card, "browning_limit")
            energy = self.bench.of(entries[0].card, "browning_activation")
            hot = self.warming.skin_hot_time(soak, t_wall, self.start_t, energy) + handling
            dose = dose + share * hot / quality_limit_time(t_wall, limit, energy, check=False)
        passes = 1.0 + self.bench.job.pellets.times_heated
        return np.maximum(dose * passes * acid_speedup(self.bench, self.blend), 1e-12)

    def hold_limit(self, t_set: float, confidence: float) -> float:
        """Longest time [s] at a set point that this share of the browning clocks bears."""
        wall = self.true_temperature(np.array([t_set]))[0, 0]
        hour = 3600.0
        rate = self.browning_dose(wall, 2.0 * hour) - self.browning_dose(wall, hour)
        used = self.browning_dose(wall, hour)
        limit = hour + (1.0 - used) * hour / np.maximum(rate, 1e-30)
        return max(0.0, float(np.quantile(limit, 1.0 - confidence)))

    def _steam(self, wall: Any) -> Any:
        """Sealed and packed, bubbles cannot grow; open, the onset is the limit."""
        return np.log(self.held_pressure()) - np.log(np.maximum(self.steam_pressure(wall), 1.0))

    def _heater(self, t_set: Any) -> Any:
        top = self.bench.given(
            "press.heater_max",
            self.bench.job.press.heater_max,
            "K",
            typical=("press", "heater_max"),
        )
        return top - _beside_samples(t_set) + 1e-6

    def _granules(self, center: Any) -> Any:
        """Uncooked starch has to melt in the barrel, with water alone as its diluent."""
        starches = [e for e in self.blend.polymers if e.card.get("melting_dry") is not None]
        if not starches:
            return np.full(np.shape(center), np.inf)
        f_water, _ = volume_fractions(self.state.phase_water, self.state.phase_plasticizer)
        card = starches[0].card
        melting = granule_melting_point(
            f_water, self.bench.of(card, "melting_dry"), self.bench.of(card, "melting_heat")
        )
        return center - melting

    def _scorch(self, wall: Any) -> Any:
        scorched = [
            self.bench.of(e.card, "scorch_t")
            for e in self.blend.fibrous
            if e.card.get("scorch_t") is not None
        ]
        return np.minimum.reduce(scorched) - wall if scorched else None

    def _fumes(self, wall: Any) -> Any:
        fumes = [
            self.bench.of(e.card, "fume_t")
            for e in self.blend.plasticizers
            if e.card.get("fume_t") is not None
        ]
        return np.minimum.reduce(fumes) - wall if fumes else None

    def _fill(self, wall: Any, center: Any) -> Any:
        """Logarithm of the pressure at hand over the pressure that filling needs.

        Judged at the middle of the charge: its coldest, stiffest part has to pass the nozzle too.
        """
        melted = np.clip((wall - self.t_weld) / np.maximum(wall - center, 1e-6), 1e-3, 1.0)
        at_hand = np.log(self.reach.at_melt) + np.log(melted)
        return at_hand - self.flow.pressure_needed(self.geometry, center, self.t_mold)


def acid_speedup(bench: Bench, blend: Blend) -> Any:
    """How many times faster the blend browns for the acid in it, shape (s,) or 1. [-]"""
    factor: Any = 1.0
    for name in ("citric-acid", "vinegar"):
        if name in blend.additives:
            whole = bench.of(bench.library.card(name), "browning_speedup", 1.0)
            factor = factor * whole ** np.minimum(blend.additives[name] / _FULL_ACID, 1.0)
    return factor


def _beside_samples(t_set: Any) -> Any:
    """Set points (t,) as (t, 1, 1); those given for each sample, (t, 1, s), as they are."""
    t_set = np.asarray(t_set, dtype=float)
    return t_set[:, None, None] if t_set.ndim == 1 else t_set


def _by_card(blend: Blend) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for entry in blend.polymers:
        found.setdefault(entry.card.name, []).append(entry)
    return found
