"""The melt's law, and the least pressure that fills nozzle, runner, gate and part with it."""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics import flow, viscosity
from moldwin.physics.heat import filling_heat_loss
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_diffusivity
from moldwin.stages.runner import runner_to
from moldwin.stages.shot import Geometry, nozzle_bore, nozzle_length
from moldwin.stages.state import State

__all__ = ["MeltFlow", "thickening"]

#: Where the thermal diffusivity of the melt is read; it changes by a tenth over the window. [K]
_MELT_T = 403.15
#: A flow of 1 cm³/s, at which the sections' resistances are worked out once. [m³/s]
_UNIT_FLOW = 1e-6
#: Quickest filling by hand. [s]
_FASTEST = 0.3
#: Filling times tried, as shares of the longest that anyone leans on a ram.
_TIMES = tuple(0.5**halving for halving in range(8))


@dataclass(frozen=True)
class _Try:
    """One of the filling times tried, arrays of shape (s,).

    That time [s], the share of its heat that the melt has lost on average in each section that
    cools it [-], and how many times as much pressure as the unit flow it takes [-].
    """

    time: Any
    lost: dict[str, Any]
    quicker: Any


@dataclass(frozen=True)
class _Way:
    """The way into one part: what temperature does not change, arrays of shape (s,).

    Pressure over K at the unit flow, of what the melt passes before it cools and by section of
    what it passes afterward.
    """

    hot: Any
    cooled: dict[str, Any]
    tries: list[_Try]


class MeltFlow:
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
        # what does not change with temperature is added up once
        self._level = plain + np.log(thickening(bench, blend, state)) - self.activation / 433.15
        self._t_join = state.tg + viscosity.WLF_REACH
        self._ways: dict[Geometry, _Way] = {}

    def at_moisture(self, water: Any, plasticizer: Any, tg: Any) -> MeltFlow:
        """The same melt at other shares in its phase [kg/kg] and glass transition [K]: (..., s).

        Drying crowds the solids by a few percent more; that is left out.
        """
        other = copy(self)
        other._level = (
            self._level
            + self.slopes["water"] * (self.water - water)
            + self.slopes["plasticizer"] * (self.plasticizer - plasticizer)
        )
        other.water, other.plasticizer = water, plasticizer
        other._t_join = tg + viscosity.WLF_REACH
        return other

    def consistency(self, t: Any) -> Any:
        """ln K of the filled melt at temperatures (..., s). [-]

        The melt's own law from 50 K above the glass transition; below, the
        Williams-Landel-Ferry shift takes over from the value there, without a jump. That shift is
        one of time: at a given rate a melt of index n stiffens by its n-th power only (Ferry).
        """
        return self._level + self._by_temperature(t)

    def _by_temperature(self, t: Any, out: Any = None) -> Any:
        """The part of ln K that changes with temperature, shape of ``t``. [-]"""
        stiffer = np.asarray(self._t_join - t)
        viscosity.wlf_below_reach(stiffer, check=False, out=stiffer)
        stiffer *= self.n
        found = np.maximum(t, self._t_join, out=out)
        found = np.divide(self.activation, found, out=out)
        return np.add(found, stiffer, out=out)

    def pressure_needed(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> Any:
        """ln of the least pressure [Pa] that fills the cavities, shape of ``t_melt``.

        The ram fills at the speed that needs the least pressure: slower asks less of the melt but
        lets it cool against the wall.
        """
        pressures = self._pressures(self._way(geometry), t_melt, t_mold)
        least = next(pressures).copy()
        for pressure in pressures:
            np.minimum(least, pressure, out=least)
        return self._level + np.log(least)

    def pressure_shares(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> dict[str, Any]:
        """Share of the filling pressure by section: nozzle, runner and gate if known, part. [-]"""
        _, lost = self._best(geometry, t_melt, t_mold)
        at_entry = self._by_temperature(t_melt)
        ln = {}
        for name, section in self._sections(geometry).items():
            t = t_melt - lost.get(name, 0.0) * (t_melt - t_mold)
            ln[name] = section + self._by_temperature(t) - at_entry
        whole = np.logaddexp.reduce(list(ln.values()))
        return {name: np.exp(section - whole) for name, section in ln.items()}

    def filling(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> tuple[Any, Any]:
        """Time of the filling that needs the least pressure [s], and the part's mean then [K]."""
        time, lost = self._best(geometry, t_melt, t_mold)
        return time, t_melt - lost["part"] * (t_melt - t_mold)

    def _best(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> tuple[Any, dict[str, Any]]:
        """That time, and the share of its heat that the melt has lost then in each section."""
        way = self._way(geometry)
        least: Any = np.inf
        time: Any = np.nan
        lost: dict[str, Any] = dict.fromkeys(way.cooled, np.nan)
        pressures = self._pressures(way, t_melt, t_mold)
        for tried, pressure in zip(way.tries, pressures, strict=True):
            better = pressure < least
            least = np.where(better, pressure, least)
            time = np.where(better, tried.time, time)
            lost = {name: np.where(better, tried.lost[name], lost[name]) for name in lost}
        return time, lost

    def _pressures(self, way: _Way, t_melt: Any, t_mold: Any) -> Iterator[Any]:
        """The pressure that each of the filling times needs, in one array for all of them.

        It lacks what temperature and time do not change. Added up as it is: its logarithm takes
        several times as long.
        """
        hot = way.hot * np.exp(self._by_temperature(t_melt))
        above_mold = t_melt - t_mold
        found = np.empty(np.broadcast_shapes(np.shape(hot), np.shape(above_mold)))
        section = np.empty_like(found)
        for tried in way.tries:
            found[...] = hot
            for name, pressure in way.cooled.items():
                np.multiply(tried.lost[name], above_mold, out=section)
                np.subtract(t_melt, section, out=section)
                np.exp(self._by_temperature(section, out=section), out=section)
                section *= pressure
                found += section
            found *= tried.quicker
            yield found

    def _way(self, geometry: Geometry) -> _Way:
        if geometry not in self._ways:
            tries = self._tries(geometry)
            hot, cooled = 0.0, {}
            for name, ln in self._sections(geometry).items():
                if name in tries[0].lost:
                    cooled[name] = np.exp(ln)
                else:
                    hot = hot + np.exp(ln)
            self._ways[geometry] = _Way(hot, cooled, tries)
        return self._ways[geometry]

    def _tries(self, geometry: Geometry) -> list[_Try]:
        """Filling times tried, and what the melt loses in each to runner and part.

        The gate's melt is as cold as the runner's when it leaves, and mixes as it squeezes through:
        the part cools what is left.
        """
        longest = self.bench.typical("press", "flow_time_longest")
        contact = self.bench.typical("mold", "contact") / self.bench.typical("melt", "conductivity")
        flow_rates = geometry.shot_volume / _UNIT_FLOW
        runner, thickness = runner_to(self.bench, geometry), geometry.thickness
        found = []
        for share in _TIMES:
            time = np.maximum(longest * share, _FASTEST)
            fourier = self.diffusivity * time / thickness**2
            in_part = filling_heat_loss(fourier, contact * thickness, check=False)
            lost = {"part": in_part}
            if runner is not None:
                at_end = runner.heat_loss(self.diffusivity, contact, geometry.shot_volume / time)
                # cooled layers grow with the power 2/3 of the way: 3/5 of its end is their mean
                lost = {
                    "runner": 0.6 * at_end,
                    "gate": at_end,
                    "part": 1.0 - (1.0 - at_end) * (1.0 - in_part),
                }
            found.append(_Try(time, lost, (flow_rates / time) ** self.n))
        return found

    def _sections(self, geometry: Geometry) -> dict[str, Any]:
        """ln of pressure over K at the unit flow, of every section that is known."""
        sections = {
            "nozzle": self._nozzle(),
            "runner": self._runner(geometry),
            "gate": self._gate(geometry),
            "part": self._part(geometry),
        }
        return {name: ln for name, ln in sections.items() if ln is not None}

    def _runner(self, geometry: Geometry) -> Any:
        """ln of pressure over K at the unit flow through the runner; ``None`` if unknown."""
        runner = runner_to(self.bench, geometry)
        return None if runner is None else np.log(runner.pressure(self.n, _UNIT_FLOW))

    def _nozzle(self) -> Any:
        """ln of pressure over K at the unit flow through the nozzle."""
        bore = nozzle_bore(self.bench)
        # what the melt needs to squeeze into the bore counts as so many more radii of it (Bagley)
        entrance = self.bench.typical("press", "entrance_radii") * bore / 2.0
        length = nozzle_length(self.bench) + entrance
        return np.log(flow.power_law_tube(1.0, self.n, _UNIT_FLOW, bore / 2.0, length))

    def _part(self, geometry: Geometry) -> Any:
        """ln of pressure over K at the unit flow into the part, filled under steady push."""
        part = flow.power_law_slot(
            1.0,
            self.n,
            _UNIT_FLOW * geometry.volume / geometry.shot_volume,
            geometry.width,
            geometry.thickness,
            geometry.flow_length,
        )
        # pushed at constant pressure the front is fast at first: it takes n/(n+1) of the time
        return np.log(part) + self.n * np.log(flow.constant_pressure_fill_time_ratio(self.n))

    def _gate(self, geometry: Geometry) -> Any:
        """ln of pressure over K at the unit flow through one cavity's gate; ``None`` if unknown.

        Hot melt keeps it open while it fills; what it needs to squeeze in counts as length, as at
        the nozzle.
        """
        thickness = self.bench.job.mold.gate_thickness
        if thickness is None:
            return None
        width = thickness * self.bench.typical("mold", "gate_aspect")
        entrance = self.bench.typical("press", "entrance_radii") * thickness / 2.0
        flow_share = geometry.volume / geometry.shot_volume
        return np.log(
            flow.power_law_slot(
                1.0,
                self.n,
                _UNIT_FLOW * flow_share,
                np.minimum(width, np.maximum(geometry.width, thickness)),
                thickness,
                self.bench.typical("mold", "gate_length") + entrance,
            )
        )


def thickening(bench: Bench, blend: Blend, state: State) -> Any:
    """Suspended ash, fiber and undissolved seaweed thicken the melt, shape (s,). [-]"""
    dry = 1.0 - state.w_water
    solid = blend.filler * dry / 1.6
    fluid = blend.amorphous * dry / 1.5 + state.w_water
    phi = np.clip(solid / np.maximum(solid + fluid, 1e-12), 0.0, 0.999)
    packing = bench.typical("melt", "solids_packing")
    return viscosity.solids_thickening(phi, packing)  # infinite where the solids jam
