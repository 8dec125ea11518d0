"""One law for each thing a maker notes: its likelihood, what a slip would give, how to draw it.

Every law returns ``(fit, slip, lapse)`` or None where nothing was noted: the likelihood if the
outcome came from the setting, (s,), the same if it was a slip or had another cause, and the share
of such outcomes. No slip is impossible, so that far tails need no logarithms. All constants stand
in the bench card ``trial``.
"""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy import special

from moldwin.physics.short_shot import filled_share, pressure_margin, pressure_margin_slope

if TYPE_CHECKING:
    from moldwin.learn.outcomes import Foreseen, Seen

__all__ = [
    "FULL",
    "bend",
    "bubbles",
    "color",
    "cracked",
    "fill",
    "lumps",
    "outcome",
    "stuck",
    "warped",
    "with_lapse",
]

#: Shares below the second are "hardly anything came": how little, no eye tells. None is below the
#: first, and from ``FULL`` on a part is full.
_NOTHING, _HARDLY, FULL = 0.01, 0.1, 0.995
#: Where the true share lies about the one that was read, in errors, and its weight (Gauss-Hermite).
_ABOUT = ((-np.sqrt(3.0), 1.0 / 6.0), (0.0, 2.0 / 3.0), (np.sqrt(3.0), 1.0 / 6.0))
#: A slip in a short part is any share; half of all slips are full parts.
_SLIP_FULL = 0.5
#: Steps of the color scale, and where honey turns to toffee on it.
_COLORS, _SPOILED_AT = 6, 2.5
#: Where bubbles sit if the whole charge foamed, or its core blistered when the mold opened.
_PLACES = ("skin", "heart", "all")
_FOAM = {"skin": 0.2, "heart": 0.25, "all": 0.55}
_BLISTER = {"skin": 0.25, "heart": 0.55, "all": 0.2}
#: A slip in a bend radius: strains about a tenth, an e-fold and a half either way.
_SLIP_STRAIN, _SLIP_SPREAD = 0.1, 1.5
#: A strain at break above this folds flat.
_FLAT = 1.0

_TINY = 1e-300
_ROOT_2_PI = np.sqrt(2.0 * np.pi)


def with_lapse(fit: Any, slip: Any, lapse: float) -> tuple[Any, Any]:
    """Fit and slip as one law.

    Parameters
    ----------
    fit, slip : array, shape (s,)
        Likelihood, had the setting or a slip made the outcome. [-]
    lapse : float
        Share of slips. [-]

    Returns
    -------
    tuple of array
        ln of the likelihood of the mixture, and the chance that it was a slip, both (s,). [-]
    """
    other = lapse * slip
    whole = np.maximum((1.0 - lapse) * fit + other, _TINY)
    return np.log(whole), other / whole


# -- how far it filled --------------------------------------------------------------------------


def fill(foreseen: Foreseen, seen: Seen) -> Any:
    """Filled or not, how far, or how heavy: the best of the three that was noted. [-]"""
    numbers, margin = foreseen.numbers, foreseen.barrel["fill"]
    scatter, lapse = numbers["fill_scatter"], numbers["lapse"]
    share, reading = _share(foreseen, seen)
    if seen.filled or (share is not None and seen.filled is None and np.min(share) >= FULL):
        return _chance(margin / scatter), _SLIP_FULL, lapse
    if share is None:
        if seen.filled is None:
            return None
        return _chance(-margin / scatter), 1.0 - _SLIP_FULL, lapse
    n, before = foreseen.flow_index, foreseen.before
    if np.max(share) < _HARDLY:
        steep = pressure_margin_slope(_HARDLY, n, before) * reading
        off = (pressure_margin(_HARDLY, n, before) - margin) / np.hypot(scatter, steep)
        return _chance(off), (1.0 - _SLIP_FULL) * _HARDLY, lapse
    short = _short_density(share, reading, margin, scatter, n, before)
    if seen.filled is None and seen.fill is None:  # by mass alone a full part may look short
        short = short + _density((1.0 - share) / reading) / reading * _chance(margin / scatter)
    return short, 1.0 - _SLIP_FULL, lapse


def _short_density(share: Any, reading: Any, margin: Any, scatter: Any, n: Any, before: Any) -> Any:
    """Density of the share that is read, (s,): the true one lies about it by a reading's error."""
    density: Any = 0.0
    for away, weight in _ABOUT:
        true = share + away * reading
        at = np.clip(true, _NOTHING, 1.0)
        off = (pressure_margin(at, n, before) - margin) / scatter
        # a density over the share, hence the slope; of shares above 1 there is none
        here = weight * pressure_margin_slope(at, n, before) / scatter * _density(off)
        density = density + np.where(true <= 1.0, here, 0.0)
    return density


def _share(foreseen: Foreseen, seen: Seen) -> tuple[Any, Any]:
    """The filled share and how well it is read; by mass where nobody said how far."""
    numbers = foreseen.numbers
    if seen.fill is not None:
        return seen.fill, numbers["fill_reading"]
    if seen.part is not None:
        return np.minimum(seen.part / foreseen.full_mass, 1.0), numbers["mass_scatter"]
    return None, None


# -- color --------------------------------------------------------------------------------------


def color(foreseen: Foreseen, seen: Seen) -> Any:
    """Ordered classes of ln of the browning dose; half steps are half as sure of theirs. [-]"""
    if seen.color is None:
        return None
    numbers = foreseen.numbers
    dose, scatter = -foreseen.barrel["browning"], numbers["color_scatter"]
    low, high = seen.color - 0.5, seen.color + 0.5
    inside = _chance((dose - _edge(numbers, low)) / scatter) if low > 0.0 else 1.0
    if high < _COLORS - 1:
        inside = inside - _chance((dose - _edge(numbers, high)) / scatter)
    return inside, 1.0 / _COLORS, numbers["lapse"]


def _edge(numbers: Any, at: float) -> Any:
    """ln of the dose at a place on the color scale; steps pass halfway between whole numbers."""
    return np.log(numbers["color_eye"]) + (at - _SPOILED_AT) * np.log(numbers["color_step"])


# -- bubbles, sticking, cracks ------------------------------------------------------------------


def bubbles(foreseen: Foreseen, seen: Seen) -> Any:
    """Foam of the charge in the barrel, or blisters of a core that was still too hot. [-]"""
    if not seen.bubbles:
        return None
    chances = _bubble_chances(foreseen)
    lapse = foreseen.numbers["lapse_other"]
    if seen.bubbles == "some":
        found, slip = 1.0 - chances["none"], 0.5
    else:
        found, slip = chances[seen.bubbles], 0.5 if seen.bubbles == "none" else 0.5 / len(_PLACES)
    return found, slip, lapse


def _bubble_chances(foreseen: Foreseen) -> dict[str, Any]:
    foam = _chance(-foreseen.barrel["steam"] / foreseen.numbers["steam_scatter"])
    blister = _chance(-foreseen.core) * (1.0 - foam)
    places = {place: foam * _FOAM[place] + blister * _BLISTER[place] for place in _PLACES}
    return {"none": 1.0 - foam - blister, **places}


def stuck(foreseen: Foreseen, seen: Seen) -> Any:
    """A part too soft when taken out sticks, and many that browned do: burnt sugar glues. [-]"""
    if seen.stuck is None:
        return None
    return _yes_no(_stick_chance(foreseen), seen.stuck, foreseen.numbers["lapse_other"])


def _stick_chance(foreseen: Foreseen) -> Any:
    numbers = foreseen.numbers
    soft = _soft_chance(foreseen)
    brown = _chance(-foreseen.barrel["browning"] / numbers["color_scatter"])
    return 1.0 - (1.0 - soft) * (1.0 - numbers["browned_sticks"] * brown)


def _soft_chance(foreseen: Foreseen) -> Any:
    return _chance(-foreseen.mold["soft-at-ejection"] / foreseen.numbers["stick_scatter"])


def cracked(foreseen: Foreseen, seen: Seen) -> Any:
    """A part cracks as it dries in its room, and some brittle ones as they cool. [-]"""
    if seen.cracked is None:
        return None
    return _yes_no(_crack_chance(foreseen), seen.cracked, foreseen.numbers["lapse_other"])


def _crack_chance(foreseen: Foreseen) -> Any:
    numbers = foreseen.numbers
    dries = _drying_chance(foreseen)
    brittle = _chance(-foreseen.part["brittle"] / numbers["brittle_scatter"])
    return 1.0 - (1.0 - dries) * (1.0 - numbers["brittle_cracks"] * brittle)


def _drying_chance(foreseen: Foreseen) -> Any:
    return _chance(-foreseen.part["drying-cracks"] / foreseen.numbers["crack_scatter"])


def warped(foreseen: Foreseen, seen: Seen) -> Any:
    """A part warps as it dries in its room, or as it is taken out soft. [-]"""
    if seen.warped is None:
        return None
    return _yes_no(_warp_chance(foreseen), seen.warped, foreseen.numbers["lapse_other"])


def _warp_chance(foreseen: Foreseen) -> Any:
    return 1.0 - (1.0 - _drying_chance(foreseen)) * (1.0 - _soft_chance(foreseen))


def lumps(foreseen: Foreseen, seen: Seen) -> Any:
    """Pellets that did not weld, or granules that did not melt, are still seen. [-]"""
    if seen.lumps is None:
        return None
    return _yes_no(_lump_chance(foreseen), seen.lumps, foreseen.numbers["lapse_other"])


def _lump_chance(foreseen: Foreseen) -> Any:
    margins = [foreseen.barrel[name] for name in ("weld", "granules") if name in foreseen.barrel]
    return _chance(-reduce(np.minimum, margins) / foreseen.numbers["weld_scatter"])


def _yes_no(chance: Any, said: bool, lapse: float) -> Any:
    return chance if said else 1.0 - chance, 0.5, lapse


# -- bending ------------------------------------------------------------------------------------


def bend(foreseen: Foreseen, seen: Seen) -> Any:
    """Strain at break, straight in its logarithm from where it is brittle to its transition. [-]"""
    if seen.bend_radius is None:
        return None
    numbers, expected = foreseen.numbers, _ln_strain(foreseen)
    scatter, lapse = numbers["bend_scatter"], numbers["lapse"]
    radius = max(seen.bend_radius, 0.0)
    # tighter than anyone tells a radius, all is one; a thin wall is bent little there
    flat = min(_FLAT, foreseen.wall / (2.0 * numbers["bend_reading"]))
    slip = np.log(_SLIP_STRAIN)
    if radius * 2.0 * flat <= foreseen.wall:
        found = _chance((expected - np.log(flat)) / scatter)
        return found, _chance((slip - np.log(flat)) / _SLIP_SPREAD), lapse
    ln_strain = np.log(foreseen.wall / (2.0 * radius))
    return (
        _density((ln_strain - expected) / scatter) / scatter,
        _density((ln_strain - slip) / _SLIP_SPREAD) / _SLIP_SPREAD,
        lapse,
    )


def _ln_strain(foreseen: Foreseen) -> Any:
    numbers = foreseen.numbers
    brittle = np.log(numbers["bend_brittle"])
    along = 1.0 + foreseen.above_tg / np.maximum(foreseen.brittle_offset, 1.0)
    return brittle + np.maximum(along, -1.0) * (np.log(numbers["bend_at_tg"]) - brittle)


# -- drawing one --------------------------------------------------------------------------------


def outcome(foreseen: Foreseen, index: int, rng: np.random.Generator) -> dict[str, Any]:
    """Everything a maker would note, were one sample the truth.

    Parameters
    ----------
    foreseen : Foreseen
        The setting, for every sample. [SI]
    index : int
        Which sample. [-]
    rng : numpy.random.Generator
        Of the scatter. [-]

    Returns
    -------
    dict of str to any
        Fields of `Seen`. [SI]
    """
    numbers = {key: _of(value, index) for key, value in foreseen.numbers.items()}
    filled, share = _draw_fill(foreseen, index, numbers, rng)
    mass = _of(foreseen.full_mass, index) * share
    mass *= 1.0 + numbers["mass_scatter"] * rng.standard_normal()
    return {
        "filled": filled,
        "fill": share,
        "part": max(mass, 0.0),
        "color": _draw_color(foreseen, index, numbers, rng),
        "bubbles": _draw_bubbles(foreseen, index, numbers, rng),
        "stuck": _draw_yes_no(_of(_stick_chance(foreseen), index), numbers, rng),
        "cracked": _draw_yes_no(_of(_crack_chance(foreseen), index), numbers, rng),
        "bend_radius": _draw_bend(foreseen, index, numbers, rng),
        "warped": _draw_yes_no(_of(_warp_chance(foreseen), index), numbers, rng),
        "lumps": _draw_yes_no(_of(_lump_chance(foreseen), index), numbers, rng),
    }


def _draw_fill(foreseen: Foreseen, index: int, numbers: Any, rng: Any) -> tuple[bool, float]:
    if rng.random() < numbers["lapse"]:
        full = rng.random() < _SLIP_FULL
        return full, 1.0 if full else float(rng.uniform(0.0, 1.0))
    margin = _of(foreseen.barrel["fill"], index)
    margin += numbers["fill_scatter"] * rng.standard_normal()
    if margin >= 0.0:
        return True, 1.0
    n, before = _of(foreseen.flow_index, index), _of(foreseen.before, index)
    read = filled_share(margin, n, before) + numbers["fill_reading"] * rng.standard_normal()
    return False, float(np.clip(read, 0.0, 0.99))


def _draw_color(foreseen: Foreseen, index: int, numbers: Any, rng: Any) -> float:
    if rng.random() < numbers["lapse"]:
        return float(rng.integers(_COLORS))
    dose = -_of(foreseen.barrel["browning"], index)
    dose += numbers["color_scatter"] * rng.standard_normal()
    edges = [_edge(numbers, step + 0.5) for step in range(_COLORS - 1)]
    return float(np.searchsorted(edges, dose))


def _draw_bubbles(foreseen: Foreseen, index: int, numbers: Any, rng: Any) -> str:
    if rng.random() < numbers["lapse_other"]:
        return "none" if rng.random() < 0.5 else str(rng.choice(_PLACES))
    chances = {place: _of(chance, index) for place, chance in _bubble_chances(foreseen).items()}
    shares = np.clip(list(chances.values()), 0.0, 1.0)
    return str(rng.choice(list(chances), p=shares / shares.sum()))


def _draw_yes_no(chance: float, numbers: Any, rng: Any) -> bool:
    said = 0.5 if rng.random() < numbers["lapse_other"] else chance
    return bool(rng.random() < said)


def _draw_bend(foreseen: Foreseen, index: int, numbers: Any, rng: Any) -> float:
    if rng.random() < numbers["lapse"]:
        strain = np.log(_SLIP_STRAIN) + _SLIP_SPREAD * rng.standard_normal()
    else:
        strain = _of(_ln_strain(foreseen), index) + numbers["bend_scatter"] * rng.standard_normal()
    if strain >= np.log(_FLAT):
        return 0.0
    return float(foreseen.wall / (2.0 * np.exp(strain)))


def _of(value: Any, index: int) -> float:
    value = np.asarray(value)
    return float(value if value.ndim == 0 else value[index])


def _chance(z: Any) -> Any:
    """Share of a standard normal below."""
    return special.ndtr(z)


def _density(z: Any) -> Any:
    """Of a standard normal."""
    return np.exp(-0.5 * z**2) / _ROOT_2_PI
