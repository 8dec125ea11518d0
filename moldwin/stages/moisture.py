"""Water activity of the blend: in the room by its isotherm, in the melt by Flory-Huggins."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.brine import salt_water
from moldwin.physics.humidity import glycerol_mass_fraction
from moldwin.physics.melt_water import flory_huggins_activity, volume_fractions
from moldwin.physics.sorption import (
    gab,
    glycerol_interaction,
    net_sorption_heat,
    shift_water_activity,
)
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend

__all__ = ["AW_TOP", "HotActivity", "Isotherm", "moisture_error"]

#: The isotherms are published up to here; beyond, an answer is an extrapolation.
AW_TOP = 0.98
_NODES = np.concatenate([[0.0, 0.005, 0.01, 0.02], np.arange(0.04, AW_TOP + 1e-9, 0.02)])
_ISOTHERM_T = 298.15
#: How far an isotherm is moved in temperature at the most. [K]
_LONGEST_SHIFT = 35.0
#: Over this much above the glass transition the isotherm hands over to the melt's law. [K]
_HANDOVER = 20.0
#: Plasticizer share from which the whole spread of the interaction factor counts. [kg/kg]
_FULL_INTERACTION = 0.05
#: Standard uncertainty of a moisture nobody gave one for (assumed). [kg/kg]
_MOISTURE_U = 0.005


def moisture_error(bench: Bench) -> Any:
    """How far the true moisture lies from the reading, shape (s,). [kg/kg]

    The same slip at every moisture: a scale or oven that reads high reads high next week too.
    """
    pellets = bench.job.pellets
    u = _MOISTURE_U if pellets.moisture_u is None else pellets.moisture_u
    reading = pellets.moisture or 0.0
    return bench.given("pellets.moisture", reading, "kg/kg", u=u) - reading


class Isotherm:
    """Equilibrium moisture of the blend at one temperature, per sample.

    Built ingredient by ingredient (weight-fraction mixing with the interaction factor of
    plasticizer), plus the water that dissolved salt holds; tabulated once on a grid of water
    activity and read by straight lines between nodes.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    blend : Blend
        Dry shares per sample. [kg/kg]
    t : array, shape (s,) or float
        Temperature. [K]
    """

    def __init__(self, bench: Bench, blend: Blend, t: Any) -> None:
        x = _blend_uptake(bench, blend)
        shift = np.clip(np.asarray(t) - _ISOTHERM_T, -_LONGEST_SHIFT, _LONGEST_SHIFT)
        heat = net_sorption_heat(np.minimum(x, 1.0), check=False)
        aw = np.broadcast_to(_NODES[:, None], x.shape)
        moved = shift_water_activity(aw, _ISOTHERM_T, _ISOTHERM_T + shift, heat, check=False)
        self._x, self._aw = x, moved

    def activity(self, w_water: Any) -> Any:
        """Water activity at a moisture, shapes (..., s). [-]"""
        w = np.asarray(w_water, dtype=float)
        x = w / (1.0 - w)
        return np.minimum(_row_interpolate(x, self._x, self._aw), 0.999)

    def moisture(self, a_water: Any) -> Any:
        """Equilibrium moisture, wet basis, at a water activity, shapes (..., s). [kg/kg]"""
        x = _row_interpolate(np.asarray(a_water, dtype=float), self._aw, self._x)
        return x / (1.0 + x)

    def highest_moisture(self) -> Any:
        """Moisture at the top of the published isotherms, shape (s,). [kg/kg]"""
        return self._x[-1] / (1.0 + self._x[-1])


class HotActivity:
    """Water activity of the hot charge at any temperature.

    Flory-Huggins well above the glass transition; below it the room isotherm, moved up by as much
    as it may be moved; blended over the first 20 K above the transition. Neither of the two
    depends on temperature itself, so both are worked out once.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    blend : Blend
        Dry shares per sample. [kg/kg]
    w_water : array, shape (..., s)
        Water at fill, wet basis. [kg/kg]
    tg : array, shape (..., s)
        Glass transition. [K]
    room_activity : array, shape (..., s)
        Activity at room temperature by the isotherm. [-]
    """

    def __init__(
        self, bench: Bench, blend: Blend, w_water: Any, tg: Any, room_activity: Any
    ) -> None:
        phase = np.clip(blend.water_in_phase(w_water), 1e-6, 0.95)
        plasticizer = blend.plasticizer / np.maximum(blend.amorphous, 1e-12) * (1.0 - phase)
        fractions = volume_fractions(phase, plasticizer)
        chi1 = bench.typical("melt", "chi1")
        w = np.asarray(w_water, dtype=float)
        heat = net_sorption_heat(np.minimum(w / (1.0 - w), 1.0), check=False)
        hottest = _ISOTHERM_T + _LONGEST_SHIFT
        room = np.minimum(room_activity, 1.0)
        self._molten = np.minimum(flory_huggins_activity(*fractions, chi1, check=False), 1.0)
        self._glassy = shift_water_activity(room, _ISOTHERM_T, hottest, heat, check=False)
        self._tg = tg

    def at(self, t: Any) -> Any:
        """Water activity at temperatures (..., s). [-]"""
        molten_share = np.clip((t - self._tg) / _HANDOVER, 0.0, 1.0)
        return self._glassy + molten_share * (self._molten - self._glassy)


def _blend_uptake(bench: Bench, blend: Blend) -> Any:
    """Water per dry solids at every node of water activity, shape (nodes, s). [kg/kg]"""
    aw = _NODES[:, None]
    polymer_like = np.zeros((len(_NODES), bench.count))
    fibrous = np.zeros_like(polymer_like)
    for target, entries in ((polymer_like, blend.polymers), (fibrous, blend.fibrous)):
        for entry in entries:
            if entry.card.get("xm") is None:
                continue
            xm, c, k = (bench.of(entry.card, key) for key in ("xm", "c", "k"))
            # the isotherm ends where k aw = 1; it is read up to AW_TOP
            target += entry.share * gab(aw, xm, c, np.minimum(k, 0.999 / AW_TOP))
    if blend.plasticizers:
        bath = glycerol_mass_fraction(np.clip(_NODES, 1e-3, None), _ISOTHERM_T)
        uptake = (np.where(_NODES > 0, (1.0 - bath) / bath, 0.0))[:, None]
        for entry in blend.plasticizers:
            polymer_like += entry.share * bench.of(entry.card, "uptake_relative", 1.0) * uptake
    plasticizer = np.minimum(blend.plasticizer + np.zeros(bench.count), 1.0)
    spread = np.minimum(plasticizer / _FULL_INTERACTION, 1.0)
    factor = glycerol_interaction(plasticizer, check=False)
    factor = factor * bench.typical("jar", "isotherm_factor") ** spread
    x = polymer_like * factor + fibrous + blend.salt * salt_water(aw, check=False)
    return np.maximum.accumulate(x + 1e-9 * np.arange(len(_NODES))[:, None], axis=0)


def _row_interpolate(at: Any, xs: Any, ys: Any) -> Any:
    """Straight lines through ``ys`` over rising ``xs``, both (nodes, s), read at (..., s).

    Outside the nodes the first or last line goes on.
    """
    at = np.asarray(at, dtype=float)
    at = np.broadcast_to(at, np.broadcast_shapes(at.shape, xs.shape[1:]))
    flat = at.reshape(-1, xs.shape[1])
    below = (xs[None, 1:-1] <= flat[:, None, :]).sum(axis=1)
    column = np.arange(xs.shape[1])
    x0, x1 = xs[below, column], xs[below + 1, column]
    y0, y1 = ys[below, column], ys[below + 1, column]
    out = y0 + (flat - x0) * (y1 - y0) / np.maximum(x1 - x0, 1e-12)
    return np.maximum(out, 0.0).reshape(at.shape)
