"""Glycerol that leaves a dish in the drying oven, per sample of what is not known about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.quantities import Quantity
from moldwin.inputs.weighings import DriedSample
from moldwin.physics.diffusion import dense_starch_diffusivity
from moldwin.physics.loss_on_drying import glycerol_flux, glycerol_lost
from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench, UsedNumber
from moldwin.stages.room import room_humidity, room_temperature

__all__ = ["Evaporation", "Gentler"]

_FILM = Quantity("oven.film", 5e-3, "m/s", factor=2.0, source="still oven; a factor 2 either way")
_ACTIVITY = Quantity(
    "oven.glycerol_activity", 0.3, "1", low=0.2, high=0.6, source="in dried starch; 0.2 to 0.6"
)
#: Loading from which that activity holds; it falls in proportion below (assumed). [kg/kg dry]
_FULL_LOADING = 0.20
#: Stand-ins for what nobody said about the oven.
_TEMPERATURE = Quantity(
    "oven.temperature", 378.15, "K", low=363.15, high=406.15, source="not given; 90 to 133 °C"
)
_TIME = Quantity(
    "oven.time", 7200.0, "s", low=2700.0, high=36000.0, log=True, source="not given; 45 min to 10 h"
)
_DISH = Quantity(
    "oven.dish_area", 20e-4, "m2", factor=2.0, source="not given; a factor 2 either way"
)
#: Standard uncertainty of a kitchen oven (assumed) and of a measured dish, as a share. [K, -]
_OVEN_U, _DISH_U = 3.0, 0.05

#: Cooler ovens that are looked at. [K]
_COOLER = (378.15, 363.15)
#: A cooler oven must be cooler by this much to be worth naming. [K]
_WORTH = 5.0
#: Dry basis at which drying times at two temperatures are compared. [kg/kg]
_X_COMPARED = 0.05


@dataclass(frozen=True)
class Gentler:
    """A cooler oven that dries as far: how long it takes, and what it still misreads.

    Parameters
    ----------
    temperature, time : float
        Oven temperature, and the time that lets water go as far. [K, s]
    glycerol : float
        Likely glycerol in the loss, of the wet mass. [kg/kg]
    a_water : float
        Water activity that the room's air holds a sample at, once warmed to this. [-]
    """

    temperature: float
    time: float
    glycerol: float
    a_water: float


class Evaporation:
    """Glycerol lost from the samples of one oven.

    Parameters
    ----------
    bench : Bench
        The job's oven and room, and the draws. [-]
    loading : array, shape (s,)
        Glycerol per dry solids, itself included. [kg/kg]
    used : dict
        Takes up what is assumed. [-]
    """

    def __init__(self, bench: Bench, loading: Any, used: dict[str, UsedNumber]) -> None:
        oven = bench.job.oven
        self._bench, self._loading, self._used = bench, loading, used
        self._film = self._samples(_FILM)
        activity = self._samples(_ACTIVITY)
        self._activity = activity * np.minimum(loading / _FULL_LOADING, 1.0)
        self._t = self._given(_TEMPERATURE, oven.temperature, _OVEN_U)
        area = oven.dish_area
        self._area = self._given(_DISH, area, _DISH_U * (area or 0.0))
        self._typical_time: Any = None

    def keep(self, order: Any) -> None:
        """Go on with these draws only, each as often as it is named, index of shape (s,)."""
        self._film, self._activity = self._film[order], self._activity[order]
        self._t, self._area = self._t[order], self._area[order]
        self._loading = self._loading[order]

    def part(self, sample: DriedSample, t: Any = None, longer: float = 1.0) -> Any:
        """Glycerol in a sample's loss, of the wet mass, never more than the loss, (s,). [kg/kg]"""
        lost = glycerol_lost(
            longer * self._time(sample), self._flux(t), self._area, self._in(sample)
        )
        return np.minimum(lost / sample.net, max(sample.moisture, 0.0))

    def rate(self, sample: DriedSample) -> Any:
        """How fast glycerol still leaves at the last weighing, of the wet mass, (s,). [1/s]"""
        flow, held = self._flux() * self._area, self._in(sample)
        left = np.exp(-flow * self._time(sample) / np.maximum(held, 1e-12))
        return np.where(held > 0.0, flow * left / sample.net, 0.0)

    def gentler(self, samples: Sequence[DriedSample]) -> tuple[Gentler, ...]:
        """Cooler ovens, each for as long as lets the water go as far; none for an unknown oven."""
        now = self._bench.job.oven.temperature
        found = []
        for cooler in _COOLER:
            if now is None or cooler > now - _WORTH:
                continue
            fast, slow = (
                float(dense_starch_diffusivity(_X_COMPARED, t, check=False)) for t in (now, cooler)
            )
            longer, t = fast / slow, self._t + (cooler - now)
            parts = [float(np.median(self.part(sample, t, longer))) for sample in samples]
            times = [float(np.median(self._time(sample))) for sample in samples]
            found.append(
                Gentler(cooler, longer * max(times), sum(parts) / len(parts), self._dry_air(cooler))
            )
        return tuple(found)

    def _dry_air(self, t: float) -> float:
        """Activity of the room's water vapor against a sample at oven temperature."""
        room = water_saturation_pressure(room_temperature(self._bench), check=False)
        vapor = float(np.median(room_humidity(self._bench) * room))
        return vapor / float(water_saturation_pressure(t, check=False))

    def _flux(self, t: Any = None) -> Any:
        return glycerol_flux(self._t if t is None else t, self._activity, self._film, check=False)

    def _in(self, sample: DriedSample) -> Any:
        """Glycerol in the wet sample, from what was left of it. [kg]"""
        return self._loading * (sample.dry - sample.dish)

    def _time(self, sample: DriedSample) -> Any:
        if not math.isnan(sample.time):
            return sample.time
        if self._typical_time is None:
            self._typical_time = self._given(_TIME, self._bench.job.oven.time, 0.0)
        return self._typical_time

    def _given(self, typical: Quantity, value: float | None, u: float) -> Any:
        if value is None:
            return self._samples(typical)
        measured = Quantity(
            typical.name, value, typical.unit, u=u, status="measured", source="as given"
        )
        return self._samples(measured)

    def _samples(self, quantity: Quantity) -> Any:
        self._used[quantity.name] = UsedNumber(
            quantity.name, quantity.value, quantity.unit, quantity.status, quantity.source
        )
        return self._bench.draws.samples(quantity)
