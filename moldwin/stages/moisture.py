"""Water activity of the blend: in the room by its isotherm, in the melt by Flory-Huggins."""

from __future__ import annotations

from functools import cache, cached_property
from itertools import pairwise
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
#: Moved no warmer than this, times the factor on the heat, every isotherm rises by itself; a test
#: holds it for each card. [K]
_RISES = 20.0
#: Over this much above the glass transition the isotherm hands over to the melt's law. [K]
_HANDOVER = 20.0
#: Plasticizer share from which the whole spread of the interaction factor counts. [kg/kg]
_FULL_INTERACTION = 0.05
#: Standard uncertainty of a moisture nobody gave one for (assumed). [kg/kg]
_MOISTURE_U = 0.005
#: Where the moisture of the pellets comes from.
_MEASURED = ("measured", "your job file")
_GUESSED = ("assumed", "a guess in your job file: nobody measured it")


def moisture_error(bench: Bench) -> Any:
    """How far the true moisture lies from the reading, shape (s,). [kg/kg]

    The same slip at every moisture: a scale or oven that reads high reads high next week too.
    """
    pellets = bench.job.pellets
    u = _MOISTURE_U if pellets.moisture_u is None else pellets.moisture_u
    reading = pellets.moisture or 0.0
    origin = _GUESSED if pellets.moisture_guessed else _MEASURED
    return bench.given("pellets.moisture", reading, "kg/kg", u=u, origin=origin) - reading


class Isotherm:
    """Equilibrium moisture of the blend at one temperature, per sample.

    Built ingredient by ingredient (weight-fraction mixing with the interaction factor of
    plasticizer), moved to the temperature by the heat of that water, plus the water that dissolved
    salt holds; read by straight lines between nodes of water activity, from a table of all nodes
    that is made when it is first of use. It rises throughout, at every temperature.

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
        self._bench, self._blend = bench, blend
        self._interaction = _interaction(bench, blend)
        self._shift = np.clip(np.asarray(t) - _ISOTHERM_T, -_LONGEST_SHIFT, _LONGEST_SHIFT)
        self._heat_factor = _heat_factor(bench)

    @property
    def _rises(self) -> bool:
        """Whether every sample's isotherm rises by itself, not by being mended."""
        return bool(np.all(self._shift * self._heat_factor <= _RISES))

    @cached_property
    def _table(self) -> tuple[Any, Any]:
        """Water per dry solids and water activity at all nodes, both of shape (nodes, s)."""
        x, aw = self._at(np.arange(len(_NODES))[:, None])
        for rising in (x, aw):  # whatever the cards hold, no equilibrium falls
            for lower, upper in pairwise(rising):  # accumulate takes ten times as long
                np.maximum(lower, upper, out=upper)
        return x, aw

    def _at(self, node: Any) -> tuple[Any, Any]:
        """Water per dry solids and its activity, at nodes (..., 1) or (..., s). [kg/kg], [-]

        Only water that polymer, plasticizer and fiber bind moves with temperature. Brine has no
        heat of sorption: it dissolves at nearly the same humidity warm or cold, so it is added
        where the moved activity says. Counted as bound it would end that heat in one step, and
        the isotherm would bend back there.
        """
        bound = _bound_water(self._bench, self._blend, self._interaction, node)
        per_wetted = bound / np.maximum(self._blend.wetted, 1e-9)
        heat = self._heat_factor * net_sorption_heat(np.minimum(per_wetted, 1.0), check=False)
        to = _ISOTHERM_T + self._shift
        aw = shift_water_activity(_NODES[node], _ISOTHERM_T, to, heat, check=False)
        # a little more at each node, so that no two have the same
        return bound + _brine(self._blend, aw) + 1e-9 * node, aw

    def activity(self, w_water: Any) -> Any:
        """Water activity at a moisture, shapes (..., s). [-]"""
        w = np.asarray(w_water, dtype=float)
        x = w / (1.0 - w)
        if x.ndim == 1 and "_table" not in vars(self) and self._rises:
            return np.minimum(self._read_once(x), 0.999)
        return np.minimum(_row_interpolate(x, *self._table), 0.999)

    def _read_once(self, x: Any) -> Any:
        """What the table would say, from the few nodes of each sample that halving passes."""
        below = np.zeros(np.broadcast_shapes(x.shape, (self._bench.count,)), dtype=int)
        last = len(_NODES) - 2
        for step in (32, 16, 8, 4, 2, 1):
            node = np.minimum(below + step, last)
            below = np.where(self._at(node)[0] <= x, node, below)
        (low, aw_low), (high, aw_high) = self._at(below), self._at(below + 1)
        return _on_line(x, low, high, aw_low, aw_high)

    def moisture(self, a_water: Any) -> Any:
        """Equilibrium moisture, wet basis, at a water activity, shapes (..., s). [kg/kg]"""
        xs, aws = self._table
        x = _row_interpolate(np.asarray(a_water, dtype=float), aws, xs)
        return x / (1.0 + x)

    def highest_moisture(self) -> Any:
        """Moisture at the top of the published isotherms, shape (s,). [kg/kg]"""
        x = self._table[0][-1]
        return x / (1.0 + x)


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
        heat = heat * _heat_factor(bench)
        hottest = _ISOTHERM_T + _LONGEST_SHIFT
        room = np.minimum(room_activity, 1.0)
        self._molten = np.minimum(flory_huggins_activity(*fractions, chi1, check=False), 1.0)
        self._glassy = shift_water_activity(room, _ISOTHERM_T, hottest, heat, check=False)
        self._tg = tg

    def at(self, t: Any) -> Any:
        """Water activity at temperatures (..., s). [-]"""
        molten_share = np.clip((t - self._tg) / _HANDOVER, 0.0, 1.0)
        return self._glassy + molten_share * (self._molten - self._glassy)


def _bound_water(bench: Bench, blend: Blend, interaction: Any, node: Any) -> Any:
    """Water that all but the salt takes up at nodes (..., 1) or (..., s), shape (..., s). [kg/kg]

    Per dry solids, at the temperature of the isotherms.
    """
    aw = _NODES[node]
    shape = np.broadcast_shapes(aw.shape, (bench.count,))
    polymer_like, fibrous = np.zeros(shape), np.zeros(shape)
    for target, entries in ((polymer_like, blend.polymers), (fibrous, blend.fibrous)):
        for entry in entries:
            if entry.card.get("xm") is None:
                continue
            xm, c, k = (bench.of(entry.card, key) for key in ("xm", "c", "k"))
            # the isotherm ends where k aw = 1; it is read up to AW_TOP
            target += entry.share * gab(aw, xm, c, np.minimum(k, 0.999 / AW_TOP))
    bath = _glycerol_water()
    for entry in blend.plasticizers:
        polymer_like += entry.share * bench.of(entry.card, "uptake_relative", 1.0) * bath[node]
    return polymer_like * interaction + fibrous


def _brine(blend: Blend, aw: Any) -> Any:
    """Water that dissolved salt holds per dry solids, at activities (..., s). [kg/kg]"""
    if not np.any(blend.salt):
        return 0.0
    return blend.salt * np.interp(aw, _NODES, _salt_water())


def _interaction(bench: Bench, blend: Blend) -> Any:
    """How much more or less the blend takes up than its parts alone, shape (s,). [-]"""
    plasticizer = np.minimum(blend.plasticizer + np.zeros(bench.count), 1.0)
    spread = np.minimum(plasticizer / _FULL_INTERACTION, 1.0)
    factor = glycerol_interaction(plasticizer, check=False)
    return factor * bench.typical("jar", "isotherm_factor") ** spread


def _heat_factor(bench: Bench) -> Any:
    """True net heat of sorption over the curve's, one for all that binds water, shape (s,). [-]"""
    return bench.typical("jar", "sorption_heat_factor")


@cache
def _glycerol_water() -> Any:
    """Water that a kilogram of glycerol holds at each node, shape (nodes,). [kg/kg]"""
    bath = glycerol_mass_fraction(np.clip(_NODES, 1e-3, None), _ISOTHERM_T)
    return np.where(_NODES > 0, (1.0 - bath) / bath, 0.0)


@cache
def _salt_water() -> Any:
    """Water that a kilogram of salt holds at each node, shape (nodes,). [kg/kg]"""
    return salt_water(_NODES, check=False)


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
    return _on_line(flat, x0, x1, y0, y1).reshape(at.shape)


def _on_line(x: Any, x0: Any, x1: Any, y0: Any, y1: Any) -> Any:
    """The straight line through two points, nowhere below 0."""
    return np.maximum(y0 + (x - x0) * (y1 - y0) / np.maximum(x1 - x0, 1e-12), 0.0)
