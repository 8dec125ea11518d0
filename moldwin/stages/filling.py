"""The melt's law, and the least pressure that fills nozzle and part with it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics import flow, viscosity
from moldwin.physics.heat import LOSS_COEFFICIENT, filling_heat_loss
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_diffusivity
from moldwin.stages.shot import Geometry, nozzle_bore, nozzle_length
from moldwin.stages.state import State

__all__ = ["MeltFlow"]

#: Where the thermal diffusivity of the melt is read; it changes by a tenth over the window. [K]
_MELT_T = 403.15
#: A flow of 1 cm³/s, at which the sections' resistances are worked out once. [m³/s]
_UNIT_FLOW = 1e-6
#: Quickest filling by hand. [s]
_FASTEST = 0.3
#: A part that has lost this share of its heat while filling is a plug, whatever the law says.
_MOST_HEAT_LOST = 0.6


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
        self._level = plain + np.log(_thickening(bench, blend, state)) - self.activation / 433.15
        self._t_join = state.tg + viscosity.WLF_REACH

    def consistency(self, t: Any) -> Any:
        """ln K of the filled melt at temperatures (..., s). [-]

        The melt's own law from 50 K above the glass transition; below, the
        Williams-Landel-Ferry shift takes over from the value there, without a jump.
        """
        below = self._t_join - t
        if not np.any(below > 0.0):
            return self._level + self.activation / t
        return (
            self._level
            + self.activation / np.maximum(t, self._t_join)
            + viscosity.wlf_below_reach(np.maximum(below, 0.0))
        )

    def pressure_needed(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> Any:
        """ln of the least pressure [Pa] that fills the cavities, shape of ``t_melt``.

        The ram fills at the speed that needs the least pressure: slower asks less of the melt but
        lets it cool against the wall. That speed is known in closed form.
        """
        n = self.n
        time, t_fill = self.filling(geometry, t_melt, t_mold)
        ln_flow = np.log(geometry.shot_volume / _UNIT_FLOW / time)
        nozzle, part = self._resistances(geometry)
        ln_nozzle = nozzle + self.consistency(t_melt)
        ln_part = part + self.consistency(t_fill)
        return n * ln_flow + np.logaddexp(ln_nozzle, ln_part)

    def nozzle_share(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> Any:
        """Share of the filling pressure that the nozzle takes, shape of ``t_melt``. [-]"""
        _, t_fill = self.filling(geometry, t_melt, t_mold)
        nozzle, part = self._resistances(geometry)
        ln_ratio = part - nozzle + self.activation * (1.0 / t_fill - 1.0 / t_melt)
        return 1.0 / (1.0 + np.exp(ln_ratio))

    def filling(self, geometry: Geometry, t_melt: Any, t_mold: Any) -> tuple[Any, Any]:
        """Time that filling takes [s], and the mean temperature of the melt meanwhile [K].

        With a heat loss growing as time to 2/3 the least pressure lies where the fall of the flow's
        part (n ln t) and the rise of the cooling's part balance.
        """
        scale = self.diffusivity / geometry.thickness**2
        rate = LOSS_COEFFICIENT * scale ** (2.0 / 3.0)
        cooling = self.activation * np.maximum(t_melt - t_mold, 1.0) / t_melt**2 * rate
        slowest = self.bench.typical("press", "flow_time_longest")
        time = np.clip((1.5 * self.n / cooling) ** 1.5, _FASTEST, slowest)
        time = np.minimum(time, (_MOST_HEAT_LOST / rate) ** 1.5)
        lost = filling_heat_loss(scale * time, check=False)
        return time, t_melt - lost * (t_melt - t_mold)

    def _resistances(self, geometry: Geometry) -> tuple[Any, Any]:
        """ln of pressure over K at the unit flow: nozzle, and the part filled under steady push."""
        n, bore = self.n, nozzle_bore(self.bench)
        # what the melt needs to squeeze into the bore counts as so many more radii of it (Bagley)
        entrance = self.bench.typical("press", "entrance_radii") * bore / 2.0
        nozzle = flow.power_law_tube(
            1.0, n, _UNIT_FLOW, bore / 2.0, nozzle_length(self.bench) + entrance
        )
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


def _thickening(bench: Bench, blend: Blend, state: State) -> Any:
    """Suspended ash, fiber and undissolved seaweed thicken the melt, shape (s,). [-]"""
    dry = 1.0 - state.w_water
    solid = blend.filler * dry / 1.6
    fluid = blend.amorphous * dry / 1.5 + state.w_water
    phi = np.clip(solid / np.maximum(solid + fluid, 1e-12), 0.0, 0.999)
    packing = bench.typical("melt", "solids_packing")
    return viscosity.solids_thickening(phi, packing)  # infinite where the solids jam
