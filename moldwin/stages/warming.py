"""The charge warming through: how far behind the wall its middle, its mean and its skin are."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.inputs.job import Press
from moldwin.physics.annulus import annulus_mode
from moldwin.physics.soaking import SlowMode, first_mode, hot_time, warming_shortfall
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_diffusivity
from moldwin.stages.shot import Ram
from moldwin.stages.state import State

__all__ = ["Warming"]

#: Where the melt's properties are read. [K]
_MELT_T = 393.15
#: The last, slow part of warming through happens as melt: its properties count for this much of
#: the logarithm, the loose pellets' for the rest. A finite-volume solution is held beside it.
_AS_MELT = 0.8
#: Layers of equal mass, by the share of the mass that lies nearer to the coldest place.
_LAYERS = (1.0 / 6.0, 0.5, 5.0 / 6.0)
#: Soaks tried, as multiples of the time constant: from a warm skin to even.
_SOAK_STEPS = (1.4, 2.0, 2.6, 3.2, 4.0, 5.0)


class Warming:
    """A charge pressed into its barrel at room temperature and left there.

    Parameters
    ----------
    bench, blend, state, reach
        The job, dry shares, the blend at one moisture, the ram. [SI]
    """

    def __init__(self, bench: Bench, blend: Blend, state: State, reach: Ram) -> None:
        press = bench.job.press
        self._radius = (press.barrel_diameter or reach.bore) / 2.0
        melt = melt_diffusivity(bench, blend, state.w_water, _MELT_T)
        loose = bench.typical("press", "loose_diffusivity")
        self._diffusivity = melt**_AS_MELT * loose ** (1.0 - _AS_MELT)
        loose_conductivity = bench.typical("press", "loose_conductivity")
        melt_conductivity = bench.typical("melt", "conductivity")
        conductivity = melt_conductivity**_AS_MELT * loose_conductivity ** (1.0 - _AS_MELT)
        biot = bench.typical("press", "wall_transfer") * self._radius / conductivity
        self._mode = _slow_mode(press, self._radius, biot)
        #: Time constant of the slowest mode, shape (s,). [s]
        self.time_constant = self._radius**2 / (self._diffusivity * self._mode.root**2)

    def soaks_to_try(self) -> Any:
        """Soaks worth trying in this barrel, shape (k,): one set for all samples. [s]"""
        return float(np.median(self.time_constant)) * np.array(_SOAK_STEPS)

    def left(self, soak: Any, where: str) -> Any:
        """Share of wall minus start still missing in the ``"center"`` or ``"mean"``, (k, s). [-]"""
        fourier = self._fourier(np.asarray(soak, dtype=float)[:, None])
        return warming_shortfall(where, fourier, self._mode, check=False)

    def layers(self, soak: Any) -> list[Any]:
        """The same in layers of equal mass, from the coldest to the skin, each (k, s). [-]

        By the parabola in mass that has the mode's coldest place, mean and skin; the mode of a
        full cylinder runs within 1 % of it.
        """
        center, mean, skin = self._mode.center, self._mode.mean, self._mode.skin
        bend = 3.0 * (center + skin) - 6.0 * mean
        slope = skin - center - bend
        fading = np.exp(-np.asarray(soak, dtype=float)[:, None] / self.time_constant)
        return [
            np.clip((center + share * (slope + share * bend)) * fading, 0.0, 1.0)
            for share in _LAYERS
        ]

    def skin_hot_time(self, time: Any, t_wall: Any, t_start: Any, energy: Any) -> Any:
        """Time at wall temperature that the skin's own history is worth, shape of all. [s]"""
        lacking = np.minimum(self._mode.skin, 1.0) * np.maximum(t_wall - t_start, 0.0)
        return hot_time(time, self.time_constant, lacking, t_wall, energy)

    def _fourier(self, time: Any) -> Any:
        return self._diffusivity * time / self._radius**2


def _slow_mode(press: Press, radius: float, biot: Any) -> SlowMode:
    """Of the full barrel, or of the annulus round a spreader that no heat reaches."""
    if press.spreader_diameter is None:
        return first_mode(biot)
    return annulus_mode(press.spreader_diameter / 2.0 / radius, biot)
