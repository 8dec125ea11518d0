"""When a sheet tears on its plate, and what one torn or whole sheet teaches about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.draws import effective_size
from moldwin.base.normal import normal_cdf
from moldwin.physics.film_drying import volume_left
from moldwin.physics.film_stress import (
    channel_crack_thickness,
    hindered_stress,
    lets_go_thickness,
    network_value,
    skin_pull,
)
from moldwin.stages.molding import Stiffness
from moldwin.stages.sheet import HOUR, Drying, SheetAir, WetSheet, wet_basis

__all__ = ["Tearing", "learned_order", "tearing"]

#: Solids' share of the volume where the gel's numbers are stated, and where leather's are.
_GEL_SHARE, _LEATHER_SHARE = 0.10, 0.75
#: Steps on the way from wet to dry, and the wet spreads that are looked at. [-, m]
_STEPS = 80
#: In time: what tears is known to a factor, not to percents.
_COARSE = 50
_LADDER = (0.0004, 0.0016, 0.0055, 0.018, 0.060)
#: The wet stage for which the card states how much stress is kept. [s]
_DAY = 24.0 * HOUR
#: To count volumes: of what plasticizes (glycerol), and of water. [kg/m3]
_PLASTICIZER_DENSITY, _WATER_DENSITY = 1260.0, 998.0
#: Draws that must count after a torn sheet was heard, as a share of all.
_FEWEST = 1 / 16


@dataclass(frozen=True)
class Tearing:
    """What the plate does to the sheet that it keeps from shrinking; arrays of shape (s,).

    Parameters
    ----------
    spread : array
        Wet spread above which it tears. [m]
    peeled : array
        The same where it is peeled as soon as it is firm enough: what comes later pulls no more.
        [m]
    lets_go : array
        Wet spread above which it lets go of its plate by itself. [m]
    stress : array
        Stress when dry, of the thinnest spread looked at. [Pa]
    """

    spread: Any
    peeled: Any
    lets_go: Any
    stress: Any


def tearing(sheet: WetSheet, air: SheetAir) -> Tearing:
    """The spreads from which this gel tears, and lets go, in one air.

    Parameters
    ----------
    sheet : WetSheet
        The gel; how thick the job spreads it does not matter. [-]
    air : SheetAir
        The air it dries in. [-]

    Returns
    -------
    Tearing
        [SI]

    Notes
    -----
    A ladder of spreads is dried. Each skin is followed: the stress it has gathered, its stiffness
    and toughness at its moisture, and how soft the underside still is. It tears where at any time
    a crack through the sheet sets free more energy than it takes.
    """
    ladder = np.array(_LADDER)
    *pulls, stress = _pulls(sheet.spread_to(ladder[:, None]), air)
    tears, peeled, goes = (_where_one(ladder, np.maximum.accumulate(pull)) for pull in pulls)
    return Tearing(tears, peeled, goes, stress)


def _pulls(sheet: WetSheet, air: SheetAir) -> tuple[Any, Any, Any, Any]:
    """Energy set free over energy it takes, at its worst, (rungs, s).

    To tear, to tear before it is peeled, to let go.

    And the stress of the thinnest at the end, shape (s,).
    """
    bench = sheet.bench
    drying = sheet.drying(air, steps=_COARSE)
    curve = drying.curve
    skin, under, mean = (np.moveaxis(x, -1, 0) for x in (curve.skin, curve.underside, curve.mean))
    way = _Way(sheet, drying)
    # what dries more slowly creeps a little more
    slow = np.maximum(drying.wet_for / _DAY, 1e-6) ** -bench.typical("sheet", "relaxation")
    stress = slow * way.read(way.stress, skin)
    stiff, soft = way.read(way.modulus, skin), way.read(way.modulus, under)
    shape = bench.typical("sheet", "crack_shape") * skin_pull(stiff, soft)
    crack = channel_crack_thickness(way.read(way.toughness, skin), stiff, stress, shape)
    even = slow * way.read(way.stress, mean)
    adhesion = bench.typical("sheet", "adhesion")
    goes = lets_go_thickness(adhesion, way.read(way.modulus, mean), even)
    thick, times = sheet.thickness(mean), np.moveaxis(curve.times, -1, 0)
    if air.t is not None:  # warm air is left once the sheet is dry; the room is not
        thick = np.where(times <= drying.dry, thick, 0.0)
    pull = thick / crack
    before = np.where(times <= drying.peel, pull, 0.0)
    return pull.max(axis=0), before.max(axis=0), (thick / goes).max(axis=0), stress[-1, 0]


class _Way:
    """Stress, stiffness and toughness from wet to dry, on even steps of the log of moisture."""

    def __init__(self, sheet: WetSheet, drying: Drying) -> None:
        self._wet = np.log(sheet.x_wet)
        self._span = np.maximum(self._wet - np.log(drying.x_end), 1e-6)
        x = np.exp(self._wet - self._span * np.linspace(0.0, 1.0, _STEPS)[:, None])
        self.modulus, self.toughness = _stiff_and_tough(sheet, x, drying.t)
        # in its plane a free body would have shrunk by the cube root
        left = volume_left(sheet.x_wet, x, sheet.density)
        strain = np.maximum(-np.log(left) / 3.0, 0.0)
        kept = sheet.bench.typical("sheet", "stress_kept")
        self.stress = hindered_stress(strain, self.modulus, kept=kept)

    def read(self, values: Any, x: Any) -> Any:
        """Values (n, s) at moistures (..., s), straight between the steps."""
        place = (self._wet - np.log(np.maximum(x, 1e-9))) / self._span * (_STEPS - 1)
        place = np.clip(place, 0.0, _STEPS - 1)
        below = np.minimum(place.astype(int), _STEPS - 2)
        columns = np.arange(values.shape[1])
        low, high = values[below, columns], values[below + 1, columns]
        return low + (place - below) * (high - low)


def _where_one(ladder: Any, ratios: Any) -> Any:
    """Where ratios (rungs, s) that rise along a ladder pass 1, shape (s,).

    Straight in the logarithms; beyond the ladder's ends in proportion.
    """
    steps, logs = np.log(ladder), np.log(np.maximum(ratios, 1e-12))
    logs = logs + 1e-9 * np.arange(len(steps))[:, None]
    below = np.clip((logs <= 0.0).sum(axis=0) - 1, 0, len(steps) - 2)
    columns = np.arange(logs.shape[1])
    low, high = logs[below, columns], logs[below + 1, columns]
    along = -low / (high - low) * (steps[below + 1] - steps[below])
    found = steps[below] + along
    found = np.where(logs[0] > 0.0, steps[0] - logs[0], found)
    return np.exp(np.where(logs[-1] <= 0.0, steps[-1] - logs[-1], found))


def learned_order(tears: Any, torn: float | None, whole: float | None, scatter: float) -> Any:
    """Which draws to go on with, each as often as it deserves, after a sheet tore or held.

    Parameters
    ----------
    tears : array, shape (s,)
        Wet spread above which each draw's sheet tears. [m]
    torn, whole : float, optional
        Spread of a sheet that tore, and of one that stayed whole. [m]
    scatter : float
        From sheet to sheet, standard deviation of the logarithm of that spread. [-]

    Returns
    -------
    tuple
        Draws to keep, index of shape (s,), and whether the sheets lay inside what was expected.
        Where they did not they are doubted until enough draws can follow them. [-]
    """
    weights = _weights(tears, torn, whole, scatter)
    inside = effective_size(weights) >= _FEWEST * len(weights)
    while effective_size(weights) < _FEWEST * len(weights):
        scatter *= 1.2
        weights = _weights(tears, torn, whole, scatter)
    steps = (np.arange(len(weights)) + 0.5) / len(weights)
    order = np.searchsorted(np.cumsum(weights), steps)
    return np.minimum(order, len(weights) - 1), inside


def _weights(tears: Any, torn: float | None, whole: float | None, scatter: float) -> Any:
    logs = np.log(np.clip(tears, 1e-9, 1e9))
    weights = np.ones_like(logs)
    if torn is not None:
        weights = weights * normal_cdf((np.log(torn) - logs) / scatter)
    if whole is not None:
        weights = weights * normal_cdf((logs - np.log(whole)) / scatter)
    weights = np.maximum(weights, 1e-300)
    return weights / weights.sum()


def _stiff_and_tough(sheet: WetSheet, x: Any, t: Any) -> tuple[Any, Any]:
    """Modulus and tearing energy on the way, shapes (n, s). [Pa, J/m2]

    As a swollen network while soft, falling over to the glass about the glass transition.
    """
    bench, blend = sheet.bench, sheet.blend
    rubber = blend.mean_over_polymers(bench, "rubber_modulus", 3.2e7)
    ends = {"modulus": rubber, "toughness": bench.typical("sheet", "leather_toughness")}
    glass = {
        "modulus": blend.mean_over_polymers(bench, "glass_modulus", 2.0e9),
        "toughness": bench.typical("sheet", "glass_toughness"),
    }
    share, tg = _solid_share(sheet, x), sheet.tg(wet_basis(x))
    fall = bench.typical("mold", "modulus_drop")
    found = []
    for name, leather in ends.items():
        wet = bench.typical("sheet", f"gel_{name}")
        soft = network_value(share, _GEL_SHARE, wet, _LEATHER_SHARE, leather)
        found.append(Stiffness(glass[name], soft, tg, fall).modulus(t))
    return found[0], found[1]


def _solid_share(sheet: WetSheet, x: Any) -> Any:
    """Share of the volume that carries load: neither water nor plasticizer. [-]"""
    solids = 1.0 / sheet.density
    plasticizer = np.minimum(sheet.blend.plasticizer / _PLASTICIZER_DENSITY, 0.95 * solids)
    return (solids - plasticizer) / (solids + x / _WATER_DENSITY)
