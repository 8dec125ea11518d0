"""The barrel: for each limit a margin per sample at given set points and soaks.

Arrays have shape (t, k, s): set point, soak, sample, or anything that broadcasts to it. Every
margin is above zero where the limit holds. Limits are judged at the moisture at fill: a sealed
charge loses only what its voids take up, an open one dries while it soaks above its steam onset.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.inputs.fitted_cards import is_fitted
from moldwin.physics.degradation import quality_limit_time
from moldwin.physics.melt_water import volume_fractions
from moldwin.physics.melting import granule_melting_point
from moldwin.physics.mold_wall import contact_share
from moldwin.physics.swing import ageing_in_swing, surface_swing
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.browning import browned
from moldwin.stages.filling import MeltFlow
from moldwin.stages.melt import melt_effusivity, melt_heat_capacity
from moldwin.stages.moisture import HotActivity
from moldwin.stages.mold_material import mold_material
from moldwin.stages.open_charge import OpenSoak, onset_of_steam
from moldwin.stages.room import air_pressure, room_temperature
from moldwin.stages.shot import Geometry, Ram
from moldwin.stages.state import State
from moldwin.stages.warming import Warming

__all__ = ["HIGH_LIMITS", "LOW_LIMITS", "Barrel", "Charge", "heater_error"]

LOW_LIMITS = ("weld", "fill", "granules")
HIGH_LIMITS = ("browning", "fiber-scorch", "fumes", "steam", "heater")

#: Where the heat that the charge takes up and holds is read. [K]
_MELT_T = 393.15
#: The far tails of a wide heater error would reach what no barrel can be, or no water. [K]
_ANY_WALL = (180.0, 640.0)


@dataclass(frozen=True)
class Charge:
    """The charge as it is pressed, shape (t, k, s), or (s,) where nothing has changed.

    Temperature of its middle and its mean [K]; water in its melting phase [kg/kg], where it welds
    [K]; and how it flows.
    """

    center: Any
    mean: Any
    phase_water: Any
    t_weld: Any
    flow: MeltFlow


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
        self._weld_offset = bench.typical("press", "weld_offset")
        self.t_weld = state.tg + self._weld_offset
        self._activity = HotActivity(bench, blend, state.w_water, state.tg, state.a_water)
        self.warming = Warming(bench, blend, state, reach)
        self.flow = MeltFlow(bench, blend, state)
        self._open = None if self.sealed else self._open_soak()

    # -- what the charge is like -------------------------------------------------------------

    def true_temperature(self, t_set: Any) -> Any:
        """Barrel wall for set points (t,) or (t, 1, s), shape (t, 1, s). [K]"""
        return np.clip(_beside_samples(t_set) + heater_error(self.bench), *_ANY_WALL)

    def charge_temperature(self, t_wall: Any, soak: Any, where: str) -> Any:
        """Center or mean of the charge after soaks (k,), shape (t, k, s). [K]"""
        if self._open is None:
            left = self.warming.left(soak, where)
        else:
            left = self._open.left(t_wall, soak, where)
        return t_wall - left * (t_wall - self.start_t)

    def moisture_at_fill(self, t_wall: Any, soak: Any) -> Any:
        """Mean water of the charge when it is pressed, wet basis, shape (t, k, s) or (s,). [kg/kg]

        What was loaded where the nozzle is sealed.
        """
        if self._open is None:
            return self.state.w_water
        return self._open.pressed(t_wall, soak)[1]

    def charge(self, t_wall: Any, soak: Any) -> Charge:
        """The charge at the moment it is pressed, after soaks (k,)."""
        if self._open is None or not np.any(t_wall > self._onset):
            return self._as_loaded(t_wall, soak)
        left, w = self._open.pressed(t_wall, soak)
        phase = self.blend.water_in_phase(w)
        tg = self.state.open_charge.glass_transition(self.state.w_water, self.state.tg, w)
        amorphous = np.maximum(self.blend.amorphous, 1e-12)
        plasticizer = self.blend.plasticizer / amorphous * (1.0 - phase)
        return Charge(
            center=t_wall - left * (t_wall - self.start_t),
            mean=self.charge_temperature(t_wall, soak, "mean"),
            phase_water=phase,
            t_weld=tg + self._weld_offset,
            flow=self.flow.at_moisture(phase, plasticizer, tg),
        )

    def _as_loaded(self, t_wall: Any, soak: Any) -> Charge:
        center, mean = (
            t_wall - self.warming.left(soak, where) * (t_wall - self.start_t)
            for where in ("center", "mean")
        )
        return Charge(
            center=center,
            mean=mean,
            phase_water=self.state.phase_water,
            t_weld=self.t_weld,
            flow=self.flow,
        )

    def _open_soak(self) -> OpenSoak:
        w = self.state.w_water
        heat = melt_heat_capacity(self.bench, self.blend, w, _MELT_T)
        return OpenSoak(self.state.open_charge, self.warming, w, self._onset, self.start_t, heat)

    def steam_activity(self, t: Any) -> Any:
        """Water activity of the hot charge at temperatures (..., s). [-]"""
        return self._activity.at(t)

    def onset(self) -> Any:
        """Temperature at which the steam of what was loaded passes the air pressure, (s,). [K]"""
        return self._onset

    @cached_property
    def _onset(self) -> Any:
        return onset_of_steam(self._activity, self.air_pressure, (self.bench.count,))

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

    def margins(self, t_set: Any, soak: Any, *, side: str | None = None) -> dict[str, Any]:
        """Every limit's margin at set points (t,), (t, 1, s) or (t, k, s) [K] and soaks (k,) [s].

        Above zero is fine. ``side``, ``"low"`` or ``"high"``, asks for the limits of one side
        alone.
        """
        wall = self.true_temperature(t_set)
        low = {} if side == "high" else self._low_margins(wall, soak)
        return low if side == "low" else low | self._high_margins(t_set, wall, soak)

    def _high_margins(self, t_set: Any, wall: Any, soak: Any) -> dict[str, Any]:
        """What must not get too hot."""
        found = {
            "browning": -np.log(self.browning_dose(wall, np.asarray(soak, dtype=float)[:, None])),
            "steam": self._steam(wall),
        }
        if self.blend.fibrous:
            scorch = self._scorch(wall)
            if scorch is not None:
                found["fiber-scorch"] = scorch
        return found | self._of_the_set_point(t_set, wall)

    def set_point_margins(self, t_set: Any) -> dict[str, Any]:
        """Margins that neither soak nor moisture moves: heater, and fumes if any, (t, 1, s). [K]"""
        return self._of_the_set_point(t_set, self.true_temperature(t_set))

    def _of_the_set_point(self, t_set: Any, wall: Any) -> dict[str, Any]:
        fumes = self._fumes(wall)
        return {"heater": self._heater(t_set)} | ({} if fumes is None else {"fumes": fumes})

    def _low_margins(self, wall: Any, soak: Any) -> dict[str, Any]:
        """What has to be warm enough, at the moisture at fill.

        Beyond its steam's onset an open charge dries and may stiffen again. There the steam is its
        limit; one on the low side that held at the onset goes on holding.
        """
        found = self._low_margins_of(wall, self.charge(wall, soak))
        if self._open is None or not np.any(wall > self._onset):
            return found
        below = np.minimum(wall, self._onset)
        loaded = self._low_margins_of(below, self._as_loaded(below, soak))
        return {name: np.maximum(margin, loaded[name]) for name, margin in found.items()}

    def _low_margins_of(self, wall: Any, charge: Charge) -> dict[str, Any]:
        found = {"weld": charge.center - charge.t_weld, "fill": self._fill(wall, charge)}
        if not self.bench.job.blend.cooked:
            found["granules"] = self._granules(charge)
        return found

    def freezing_margin(self, t_set: float, soak: float) -> Any:
        """How far the melt stays above welding while it fills, shape (s,). [K]"""
        wall = self.true_temperature(np.array([t_set]))
        charge = self.charge(wall, np.array([soak]))
        face = self._mold_face(charge.mean)
        t_fill = charge.flow.filling(self.geometry, charge.mean, face)[1]
        return (t_fill - charge.t_weld)[0, 0]

    def pressure_shares(self, t_set: Any, soak: Any) -> dict[str, Any]:
        """Share of the filling pressure by section, shape (t, k, s). [-]"""
        charge = self.charge(self.true_temperature(t_set), soak)
        face = self._mold_face(charge.mean)
        return charge.flow.pressure_shares(self.geometry, charge.mean, face)

    def browning_dose(self, t_wall: Any, soak: Any) -> Any:
        """Share of the browning clock that the skin of the charge has used after soaks [s]. [-]

        The skin follows the wall with the delay of its own warming; after the soak it stays at wall
        temperature for handling and filling. Each earlier pass through a barrel is counted as one
        more of the same. Each polymer has its own clock, and the first to run out spoils the part.
        The heater swings: the hot half of a swing browns more than the cold half saves.
        """
        handling = self.bench.typical("press", "handling_time")

        def used(limit: Any, energy: Any) -> Any:
            hot = self.warming.skin_hot_time(soak, t_wall, self.start_t, energy) + handling
            hot = hot * ageing_in_swing(self._skin_swing, t_wall, energy)
            return hot / quality_limit_time(t_wall, limit, energy, check=False)

        passes = 1.0 + self.bench.job.pellets.times_heated
        return np.maximum(browned(self.bench, self.blend, used) * passes, 1e-12)

    @cached_property
    def _effusivity(self) -> Any:
        return melt_effusivity(self.bench, self.blend, self.state.w_water, _MELT_T)

    @cached_property
    def _skin_swing(self) -> Any:
        """How far the skin of the charge swings either way with the heater, shape (s,). [K]"""
        amplitude, period, transfer = (
            self.bench.typical("press", key)
            for key in ("heater_swing", "heater_period", "wall_transfer")
        )
        return surface_swing(amplitude, period, self._effusivity, transfer)

    @cached_property
    def _face_share(self) -> Any:
        """How far the melt's face falls toward the mold's temperature; 1 for metal unnamed. [-]"""
        material = mold_material(self.bench)
        return 1.0 if material is None else contact_share(self._effusivity, material.effusivity)

    def _mold_face(self, t_melt: Any) -> Any:
        """Temperature of the mold's face under the melt that fills it, shape of ``t_melt``. [K]"""
        return t_melt - self._face_share * (t_melt - self.t_mold)

    def _steam(self, wall: Any) -> Any:
        """Sealed and packed, bubbles cannot grow; open, the onset of what was loaded is the limit.

        Judged at the moisture at fill it would be the same: an open charge always holds at least
        what keeps its steam at the pressure of the air.
        """
        return np.log(self.held_pressure()) - np.log(np.maximum(self.steam_pressure(wall), 1.0))

    def _heater(self, t_set: Any) -> Any:
        top = self.bench.given(
            "press.heater_max",
            self.bench.job.press.heater_max,
            "K",
            typical=("press", "heater_max"),
        )
        return top - _beside_samples(t_set) + 1e-6

    def _granules(self, charge: Charge) -> Any:
        """Uncooked starch has to melt in the barrel, with water alone as its diluent."""
        starches = [e for e in self.blend.polymers if e.card.get("melting_dry") is not None]
        if not starches:
            return np.full(np.shape(charge.center), np.inf)
        amorphous = np.maximum(self.blend.amorphous, 1e-12)
        plasticizer = self.blend.plasticizer / amorphous * (1.0 - charge.phase_water)
        f_water, _ = volume_fractions(charge.phase_water, plasticizer)
        card = starches[0].card
        melting = granule_melting_point(
            f_water, self.bench.of(card, "melting_dry"), self.bench.of(card, "melting_heat")
        )
        return charge.center - melting

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
        if not fumes:
            return None
        return np.minimum.reduce(fumes) - self.bench.typical("press", "fume_margin") - wall

    def _fill(self, wall: Any, charge: Charge) -> Any:
        """Logarithm of the pressure at hand over the pressure that filling needs.

        The melt mixes as it squeezes into the nozzle, so its mean is what has to flow; what has not
        welded yet is a plug that rubs on the wall.
        """
        behind = np.maximum(wall - charge.center, 1e-6)
        unmelted = 1.0 - np.clip((wall - charge.t_weld) / behind, 0.0, 1.0)
        at_hand = np.log(self.reach.pressure) + self.reach.log_share(unmelted)
        face = self._mold_face(charge.mean)
        return at_hand - charge.flow.pressure_needed(self.geometry, charge.mean, face)


def heater_error(bench: Bench) -> Any:
    """True barrel minus set point, (s,): by trials, else by the job, else a typical one. [K]

    A card fitted to trials started from what the job says, so it knows more.
    """
    card, u = bench.library.card("press"), bench.job.press.heater_u
    by_trials = is_fitted(card) and card["heater_error"].status == "measured"
    if u is None or by_trials:
        return bench.typical("press", "heater_error")
    return bench.given("press.heater_error", 0.0, "K", u=u)


def _beside_samples(t_set: Any) -> Any:
    """Set points (t,) as (t, 1, 1); those given for each sample, (t, 1, s), as they are."""
    t_set = np.asarray(t_set, dtype=float)
    return t_set[:, None, None] if t_set.ndim == 1 else t_set
