"""What an open, loose charge still holds when it is pressed: it dries while it soaks.

Above the onset of its steam the bed gives water off until that pushes no harder than the air of the
room. A sealed charge loses only what its voids take up, and a compacted one what diffuses out at
its ends: both far less than a moisture reading is unsure by (tests show it), so neither is counted.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np

from moldwin.physics.boiling_off import (
    boiling_shortfall,
    evaporation_stretch,
    layered_moisture,
)
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.moisture import HotActivity, Isotherm
from moldwin.stages.room import air_pressure
from moldwin.stages.softening import glass_transition, tg_misfit

__all__ = ["OpenCharge", "OpenSoak", "onset_of_steam"]

#: Halvings of 310 K: the onset to a hundredth of a kelvin.
_HALVINGS = 15
_COLDEST, _HOTTEST = 330.0, 640.0
#: Moistures at which the onset is found, wet basis: from all but dry to a gel.
_WATERS = np.geomspace(0.003, 0.45, 14)
#: Temperatures at which the moisture is kept ready. [K]
_STEP = 5.0
_TEMPERATURES = np.arange(345.0, 560.0 + 1e-9, _STEP)


def onset_of_steam(activity: HotActivity, pressure: Any, shape: tuple[int, ...]) -> Any:
    """Temperature at which a charge's steam passes a pressure [Pa], of the given shape. [K]

    Halved down rather than iterated: where the glass hands over to the melt the activity rises
    steeply with temperature.

    Parameters
    ----------
    activity : HotActivity
        Of the charge's water by temperature. [-]
    pressure : float or array
        What holds the steam down. [Pa]
    shape : tuple of int
        Of the answer. [-]
    """
    low, high = np.full(shape, _COLDEST), np.full(shape, _HOTTEST)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        steam = activity.at(middle) * water_saturation_pressure(middle, check=False)
        low, high = (
            np.where(steam > pressure, low, middle),
            np.where(steam > pressure, middle, high),
        )
    return 0.5 * (low + high)


class OpenCharge:
    """One blend, loose in an open barrel: what it holds does not depend on what was loaded.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    blend : Blend
        Dry shares per sample. [kg/kg]
    isotherm : Isotherm
        Of the blend at room temperature. [-]
    """

    def __init__(self, bench: Bench, blend: Blend, isotherm: Isotherm) -> None:
        self._bench, self._blend, self._isotherm = bench, blend, isotherm

    def moisture(self, t: Any) -> Any:
        """Water in equilibrium with steam at the air's pressure, temperatures (..., s). [kg/kg]"""
        place = np.clip((t - _TEMPERATURES[0]) / _STEP, 0.0, len(_TEMPERATURES) - 1.000001)
        below = place.astype(int)
        column = np.arange(self._bench.count)
        low, high = self._ln_water[below, column], self._ln_water[below + 1, column]
        return np.exp(low + (place - below) * (high - low))

    def glass_transition(self, w_from: Any, tg_from: Any, w: Any) -> Any:
        """Glass transition at moistures (..., s), from that at one moisture, (s,). [K]

        The mixing law of the blend in closed form: along water alone it is a hyperbola, given by
        its value without water, that of water, and one point between.
        """
        misfit = tg_misfit(self._bench, self._blend)
        water = self._bench.of(self._bench.library.card("water"), "tg_dry") + misfit
        x, x_from = w / (1.0 - w), w_from / (1.0 - w_from)
        pull = (self._tg_dry - tg_from) / ((tg_from - water) * x_from)
        return water + (self._tg_dry - water) / (1.0 + pull * x)

    @cached_property
    def _tg_dry(self) -> Any:
        return glass_transition(self._bench, self._blend, np.full(self._bench.count, 1e-9))

    @cached_property
    def _ln_water(self) -> Any:
        """ln of the moisture at each of the temperatures, shape (t, s)."""
        w = np.broadcast_to(_WATERS[:, None], (len(_WATERS), self._bench.count))
        tg = glass_transition(self._bench, self._blend, w)
        room = self._isotherm.activity(w)
        activity = HotActivity(self._bench, self._blend, w, tg, room)
        onset = onset_of_steam(activity, air_pressure(self._bench), w.shape)
        # the wettest first: from there on the onset rises, in steps where the pressure is out of
        # reach
        rising = np.maximum.accumulate(onset[::-1], axis=0)
        rising += 1e-6 * np.arange(len(_WATERS))[:, None]
        return _read(_TEMPERATURES, rising, np.log(_WATERS[::-1]))


class OpenSoak:
    """One loading of an open charge in its barrel.

    Parameters
    ----------
    charge : OpenCharge
        The blend. [-]
    warming : Warming
        How it warms without boiling. [-]
    w_water, onset, t_start, heat_capacity : array, shape (s,)
        Water as loaded [kg/kg], where its steam starts [K], its temperature then [K], its heat
        capacity [J/kg/K].
    """

    def __init__(
        self,
        charge: OpenCharge,
        warming: Any,
        w_water: Any,
        onset: Any,
        t_start: Any,
        heat_capacity: Any,
    ) -> None:
        self._charge, self._warming, self._w = charge, warming, w_water
        self._onset, self._start, self._heat_capacity = onset, t_start, heat_capacity

    def left(self, t_wall: Any, soak: Any, where: str) -> Any:
        """Share of wall minus start still missing in the ``"center"`` or ``"mean"``, (t, k, s)."""
        at_onset, stretch, _, _ = self._boiling(t_wall)
        power = stretch**2 if where == "center" else stretch
        return boiling_shortfall(self._warming.left(soak, where), at_onset, power)

    def pressed(self, t_wall: Any, soak: Any) -> tuple[Any, Any]:
        """Share still missing in the center [-], and mean water, wet basis [kg/kg], (t, k, s)."""
        at_onset, stretch, w_middle, w_even = self._boiling(t_wall)
        center = boiling_shortfall(self._warming.left(soak, "center"), at_onset, stretch**2)
        begun = np.maximum(at_onset, 1e-12)
        missing = [
            np.where(at_onset > 0.0, boiling_shortfall(layer, at_onset, stretch) / begun, 1.0)
            for layer in self._warming.layers(soak)
        ]
        return center, layered_moisture(missing, self._w, w_middle, w_even)

    def _boiling(self, t_wall: Any) -> tuple[Any, Any, Any, Any]:
        """What is missing at the onset, the stretch beyond, water halfway and at the wall."""
        at_onset = (t_wall - self._onset) / np.maximum(t_wall - self._start, 1.0)
        w_even = np.minimum(self._charge.moisture(t_wall), self._w)
        w_middle = np.minimum(self._charge.moisture(0.5 * (t_wall + self._onset)), self._w)
        stretch = evaporation_stretch(self._w, w_even, self._onset, t_wall, self._heat_capacity)
        return at_onset, stretch, w_middle, w_even


def _read(at: Any, xs: Any, ys: Any) -> Any:
    """Straight lines through ``ys`` (n,) over rising ``xs`` (n, s), read at (t,), shape (t, s)."""
    below = (xs[None, 1:-1] <= at[:, None, None]).sum(axis=1)
    column = np.arange(xs.shape[1])
    x0, x1 = xs[below, column], xs[below + 1, column]
    along = np.clip((at[:, None] - x0) / (x1 - x0), 0.0, 1.0)
    return ys[below] + along * (ys[below + 1] - ys[below])
