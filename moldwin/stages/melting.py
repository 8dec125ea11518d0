"""The barrel: for each limit a margin per sample at given set points and soaks.

Arrays have shape (t, k, s): set point, soak, sample, or anything that broadcasts to it. Every
margin is above zero where the limit holds. The moisture at fill is the moisture loaded: a sealed
charge loses only what its voids take up, and an open one is not to be used above its steam onset.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.inputs.job import Press
from moldwin.physics import flow, viscosity
from moldwin.physics.degradation import quality_limit_time
from moldwin.physics.heat import soak_shortfall, soak_time_constant
from moldwin.physics.melt_water import volume_fractions
from moldwin.physics.melting import granule_melting_point
from moldwin.physics.vapor import (
    water_saturation_pressure,
    water_saturation_temperature,
)
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_diffusivity
from moldwin.stages.moisture import melt_activity
from moldwin.stages.room import air_pressure, room_temperature
from moldwin.stages.shot import Geometry, Ram
from moldwin.stages.state import State

__all__ = ["HIGH_LIMITS", "LOW_LIMITS", "Barrel", "soaks_to_try"]

LOW_LIMITS = ("weld", "fill", "granules")
HIGH_LIMITS = ("browning", "fiber-scorch", "fumes", "steam", "heater")

#: Soaks tried, as multiples of the barrel's own time constant: from a warm skin to even.
_SOAK_STEPS = (1.4, 2.0, 2.6, 3.2, 4.0, 5.0)
#: Where the thermal diffusivity of the melt is read; it changes by a tenth over the window. [K]
_MELT_T = 403.15
#: Set point at which the choice of a mold temperature is judged. [K]
_WARM_CHARGE = 413.15
#: A flow of 1 cm³/s, at which the sections' resistances are worked out once. [m³/s]
_UNIT_FLOW = 1e-6
#: Quickest filling by hand. [s]
_FASTEST = 0.3
#: A part that has lost this share of its heat while filling is a plug, whatever the law says.
_MOST_HEAT_LOST = 0.6


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
        self.room_t = room_temperature(bench)
        self.air_pressure = air_pressure(bench)
        # the offset between glass transition and welding also starts foaming: one draw for both
        self.t_weld = state.tg + bench.typical("press", "weld_offset")
        self._radius = heated_radius(press, reach)
        self._diffusivity = bench.typical("press", "loose_diffusivity")
        self._law = _FlowLaw(bench, blend, state)

    # -- what the charge is like -------------------------------------------------------------

    def true_temperature(self, t_set: Any) -> Any:
        """Barrel wall for set points (t,), shape (t, 1, s). [K]"""
        u = self.bench.job.press.heater_u
        if u is None:
            error = self.bench.typical("press", "heater_error")
        else:
            error = self.bench.given("press.heater_error", 0.0, "K", u=u)
        return np.asarray(t_set, dtype=float)[:, None, None] + error

    def charge_temperature(self, t_wall: Any, soak: Any, where: str) -> Any:
        """Center or mean of the charge after soaks (k,), shape (t, k, s). [K]"""
        left = soak_shortfall(np.asarray(soak)[:, None], self._radius, self._diffusivity, where)
        return t_wall - left * (t_wall - self.room_t)

    def steam_activity(self, t: Any) -> Any:
        """Water activity of the hot charge at temperatures (..., s). [-]"""
        s = self.state
        return melt_activity(self.bench, self.blend, s.w_water, t, s.tg, s.a_water)

    def onset(self) -> Any:
        """Temperature at which the charge's steam passes the air pressure, shape (s,). [K]"""
        t = np.full(self.bench.count, 383.15)
        for _ in range(4):  # the activity changes slowly with temperature: this settles at once
            aw = np.maximum(self.steam_activity(t), 1e-3)
            pressure = np.clip(self.air_pressure / aw, 700.0, 2.0e7)
            t = water_saturation_temperature(pressure, check=False)
        return t

    def steam_pressure(self, t_wall: Any) -> Any:
        """Pressure of the steam in the charge. [Pa]"""
        return self.steam_activity(t_wall) * water_saturation_pressure(t_wall, check=False)

    # -- the margins -------------------------------------------------------------------------

    def margins(self, t_set: Any, soak: Any) -> dict[str, Any]:
        """Every limit's margin at set points (t,) [K] and soaks (k,) [s]; above zero is fine."""
        wall = self.true_temperature(t_set)
        center = self.charge_temperature(wall, soak, "center")
        mean = self.charge_temperature(wall, soak, "mean")
        hot = np.asarray(soak, dtype=float)[:, None]
        found = {
            "weld": center - self.t_weld,
            "fill": self._fill(wall, center, mean),
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
        mean = self.charge_temperature(wall, np.array([soak]), "mean")[0, 0]
        return self._law.filling(self.geometry, mean, self.t_mold)[1] - self.t_weld

    def filling_margins(self, t_mold: Any) -> Any:
        """Fill margin at mold temperatures (m,), for a charge warm all through, shape (m, s)."""
        wall = self.true_temperature(np.array([_WARM_CHARGE]))[0]
        needed = self._law.pressure_needed(self.geometry, wall, np.asarray(t_mold)[:, None])
        return np.log(self.reach.at_melt) - needed

    def browning_dose(self, t_wall: Any, hot_time: Any) -> Any:
        """Share of the browning clock that the wall layer has used after a time [s]. [-]

        The wall layer sits at barrel temperature from the start; each earlier pass through a
        barrel is counted as one more of the same.
        """
        rate = self._browning_rate(t_wall)
        handling = self.bench.typical("press", "handling_time")
        passes = 1.0 + self.bench.job.pellets.times_heated
        return np.maximum((hot_time + handling) * rate * passes, 1e-12)

    def hold_limit(self, t_set: float, confidence: float) -> float:
        """Longest time [s] at a set point that this share of the browning clocks bears."""
        wall = self.true_temperature(np.array([t_set]))[0, 0]
        limit = 1.0 / (self._browning_rate(wall) * (1.0 + self.bench.job.pellets.times_heated))
        return float(np.quantile(limit, 1.0 - confidence))

    def _browning_rate(self, t_wall: Any) -> Any:
        """Browning clocks run side by side, each with the share of its polymer. [1/s]"""
        total = np.maximum(self.blend.polymer, 1e-12)
        rate = np.zeros(np.shape(t_wall))
        for entries in _by_card(self.blend).values():
            share = sum(e.share for e in entries) / total
            limit = self.bench.of(entries[0].card, "browning_limit")
            energy = self.bench.of(entries[0].card, "browning_activation")
            rate = rate + share / quality_limit_time(t_wall, limit, energy, check=False)
        return rate * acid_speedup(self.bench, self.blend)

    def _steam(self, wall: Any) -> Any:
        """Sealed and packed, bubbles cannot grow; open, the onset is the limit."""
        held = self.air_pressure
        if self.sealed:
            packing = self.bench.typical("press", "packing_share")
            held = self.air_pressure + self.reach.at_melt * packing
        return np.log(held) - np.log(np.maximum(self.steam_pressure(wall), 1.0))

    def _heater(self, t_set: Any) -> Any:
        top = self.bench.given(
            "press.heater_max",
            self.bench.job.press.heater_max,
            "K",
            typical=("press", "heater_max"),
        )
        return top - np.asarray(t_set, dtype=float)[:, None, None] + 1e-6

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

    def _fill(self, wall: Any, center: Any, mean: Any) -> Any:
        """Logarithm of the pressure at hand over the pressure that filling needs."""
        melted = np.clip((wall - self.t_weld) / np.maximum(wall - center, 1e-6), 1e-3, 1.0)
        at_hand = np.log(self.reach.at_melt) + np.log(melted)
        return at_hand - self._law.pressure_needed(self.geometry, mean, self.t_mold)


class _FlowLaw:
    """The melt's law in this state, and the least pressure that fills a part with it."""

    def __init__(self, bench: Bench, blend: Blend, state: State) -> None:
        self.bench = bench

        def mean(key: str) -> Any:
            return blend.mean_over_polymers(bench, key)

        total = np.maximum(blend.polymer, 1e-12)
        self.pivot = np.exp(
            sum(e.share * np.log(bench.of(e.card, "melt_viscosity")) for e in blend.polymers)
            / total
        )
        self.n = mean("flow_index")
        self.activation = mean("flow_activation")
        self.slopes = {"water": mean("flow_water"), "plasticizer": mean("flow_plasticizer")}
        self.water, self.plasticizer = state.phase_water, state.phase_plasticizer
        self.diffusivity = melt_diffusivity(bench, blend, state.w_water, _MELT_T)
        self.thickening = np.log(_thickening(bench, blend, state))

    def consistency(self, t: Any) -> Any:
        """ln K of the filled melt at temperatures (..., s). [-]"""
        plain = viscosity.consistency_log(
            np.float64(433.15),
            self.water,
            self.plasticizer,
            pivot=self.pivot,
            n=self.n,
            activation=0.0,
            water_slope=self.slopes["water"],
            glycerol_slope=self.slopes["plasticizer"],
        )
        return plain + self.thickening + self.activation * (1.0 / t - 1.0 / 433.15)

    def pressure_needed(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> Any:
        """ln of the least pressure [Pa] that fills the cavities, shape of ``t_melt``.

        The ram fills at the speed that needs the least pressure: slower asks less of the melt but
        lets it cool against the wall. With a heat loss growing as the square root of time that
        speed is known in closed form.
        """
        n = self.n
        time, t_fill = self.filling(geometry, t_melt, t_mold)
        ln_flow = np.log(geometry.shot_volume / _UNIT_FLOW / time)
        nozzle, part = self._resistances(geometry)
        ln_nozzle = nozzle + self.consistency(t_melt)
        ln_part = part + self.consistency(t_fill)
        return n * ln_flow + np.logaddexp(ln_nozzle, ln_part)

    def filling(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> tuple[Any, Any]:
        """Time that filling takes [s], and the mean temperature of the melt meanwhile [K].

        By the square root of time a slab loses 4/sqrt(pi) sqrt(Fo) of its heat while that is less
        than half of it; the melt that comes late has touched the wall for less long: 2/3.
        """
        lost_per_root = (2.0 / 3.0) * 4.0 / np.sqrt(np.pi) * np.sqrt(self.diffusivity)
        lost_per_root = lost_per_root / geometry.thickness
        cooling = self.activation * np.maximum(t_melt - t_mold, 1.0) / t_melt**2 * lost_per_root
        slowest = self.bench.typical("press", "flow_time_longest")
        time = np.clip((2.0 * self.n / cooling) ** 2, _FASTEST, slowest)
        time = np.minimum(time, (_MOST_HEAT_LOST / lost_per_root) ** 2)
        return time, t_melt - lost_per_root * np.sqrt(time) * (t_melt - t_mold)

    def _resistances(self, geometry: Geometry) -> tuple[Any, Any]:
        """ln of pressure over K at the unit flow: nozzle, and the part filled under steady push."""
        press = self.bench.job.press
        n = self.n
        bore = self.bench.given(
            "press.nozzle_diameter",
            press.nozzle_diameter,
            "m",
            typical=("press", "nozzle_diameter"),
        )
        length = self.bench.given(
            "press.nozzle_length", press.nozzle_length, "m", typical=("press", "nozzle_length")
        )
        nozzle = flow.power_law_tube(1.0, n, _UNIT_FLOW, bore / 2.0, length)
        part = flow.power_law_slot(
            1.0,
            n,
            _UNIT_FLOW * geometry.volume / geometry.shot_volume,
            geometry.width,
            geometry.thickness,
            geometry.flow_length,
        )
        # pushed at constant pressure the front is fast at first: it takes n/(n+1) of the time
        steady_push = n * np.log(flow.constant_pressure_fill_time_ratio(n))
        return np.log(nozzle), np.log(part) + steady_push


def soaks_to_try(bench: Bench, reach: Ram) -> Any:
    """Soaks [s] worth trying in this barrel, shape (k,): one set for all samples."""
    radius = heated_radius(bench.job.press, reach)
    typical = float(np.median(bench.typical("press", "loose_diffusivity")))
    return soak_time_constant(radius, typical) * np.array(_SOAK_STEPS)


def heated_radius(press: Press, reach: Ram) -> float:
    """Radius of the full cylinder that warms through as slowly as this barrel. [m]

    Round a spreader the charge is a layer heated from outside (the spreader counted as no help):
    its time constant s²/2.467 equals that of a cylinder of radius 1.53 s.
    """
    radius = (press.barrel_diameter or reach.bore) / 2.0
    if press.spreader_diameter is None:
        return radius
    layer = radius - press.spreader_diameter / 2.0
    return min(radius, layer * float(np.sqrt(5.783 / 2.467)))


def acid_speedup(bench: Bench, blend: Blend) -> Any:
    """How many times faster the blend browns for the acid in it, shape (s,) or 1. [-]"""
    factor: Any = 1.0
    for name in ("citric-acid", "vinegar"):
        if name in blend.additives:
            factor = factor * bench.of(bench.library.card(name), "browning_speedup", 1.0)
    return factor


def _thickening(bench: Bench, blend: Blend, state: State) -> Any:
    """Suspended ash, fiber and undissolved seaweed thicken the melt, shape (s,). [-]"""
    dry = 1.0 - state.w_water
    solid = blend.filler * dry / 1.6
    fluid = blend.amorphous * dry / 1.5 + state.w_water
    phi = np.clip(solid / np.maximum(solid + fluid, 1e-12), 0.0, 0.999)
    packing = bench.typical("melt", "solids_packing")
    return viscosity.solids_thickening(np.minimum(phi, 0.98 * packing), packing)


def _by_card(blend: Blend) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for entry in blend.polymers:
        found.setdefault(entry.card.name, []).append(entry)
    return found
