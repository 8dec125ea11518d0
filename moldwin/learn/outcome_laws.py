"""One law for each thing a maker notes: its likelihood, what a slip would give, how to draw it.

Every law returns ``(log_fit, log_slip, lapse)`` or None where nothing was noted: the logarithm of
the likelihood if the outcome came from the setting, (s,), the same if it was a slip or had another
cause, and the share of such outcomes. All constants stand in the bench card ``trial``.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import special

from moldwin.physics.short_shot import filled_share, pressure_margin, pressure_margin_slope

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

#: Shares up to here are "nothing came", from here on a part is full.
_NOTHING, FULL = 0.02, 0.995
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


def with_lapse(log_fit: Any, log_slip: Any, lapse: float) -> tuple[Any, Any]:
    """ln of the mixture of fit and slip, and the chance that it was a slip, both (s,)."""
    fit, slip = log_fit + np.log1p(-lapse), log_slip + np.log(lapse)
    whole = np.logaddexp(fit, slip)
    return whole, np.exp(slip - whole)


# -- how far it filled --------------------------------------------------------------------------


def fill(foreseen: Any, seen: Any) -> Any:
    """Filled or not, how far, or how heavy: the best of the three that was noted."""
    numbers, margin = foreseen.numbers, foreseen.barrel["fill"]
    scatter, lapse = numbers["fill_scatter"], numbers["lapse"]
    share, reading = _share(foreseen, seen)
    if seen.filled or (share is not None and seen.filled is None and np.min(share) >= FULL):
        return _ln_cdf(margin / scatter), np.log(_SLIP_FULL), lapse
    if share is None:
        if seen.filled is None:
            return None
        return _ln_cdf(-margin / scatter), np.log(1.0 - _SLIP_FULL), lapse
    n, before = foreseen.flow_index, foreseen.before
    if np.max(share) < _NOTHING:
        nothing = pressure_margin(_NOTHING, n, before)
        return _ln_cdf((nothing - margin) / scatter), np.log(1.0 - _SLIP_FULL), lapse
    at = np.clip(share, _NOTHING, 1.0)
    slope = pressure_margin_slope(at, n, before)
    spread = np.hypot(scatter, slope * reading)
    off = (pressure_margin(at, n, before) - margin) / spread
    # a density over the share, hence the slope
    short = -0.5 * off**2 - np.log(spread) - 0.5 * np.log(2.0 * np.pi) + np.log(slope)
    if seen.filled is None and seen.fill is None:  # by mass alone a full part may look short
        near = np.exp(-0.5 * ((1.0 - share) / reading) ** 2) / (reading * np.sqrt(2.0 * np.pi))
        full = np.log(np.maximum(near, _TINY)) + _ln_cdf(margin / scatter)
        short = np.logaddexp(short, full)
    return short, np.log(1.0 - _SLIP_FULL), lapse


def _share(foreseen: Any, seen: Any) -> tuple[Any, Any]:
    """The filled share and how well it is read; by mass where nobody said how far."""
    numbers = foreseen.numbers
    if seen.fill is not None:
        return seen.fill, numbers["fill_reading"]
    if seen.part is not None:
        return np.minimum(seen.part / foreseen.full_mass, 1.0), numbers["mass_scatter"]
    return None, None


# -- color --------------------------------------------------------------------------------------


def color(foreseen: Any, seen: Any) -> Any:
    """Ordered classes of ln of the browning dose; half steps are half as sure of their class."""
    if seen.color is None:
        return None
    numbers = foreseen.numbers
    dose, scatter = -foreseen.barrel["browning"], numbers["color_scatter"]
    low, high = seen.color - 0.5, seen.color + 0.5
    above = _ln_cdf((dose - _edge(numbers, low)) / scatter) if low > 0.0 else 0.0 * dose
    if high >= _COLORS - 1:
        inside = above
    else:
        beyond = _ln_cdf((dose - _edge(numbers, high)) / scatter)
        inside = above + np.log(np.maximum(-np.expm1(beyond - above), _TINY))
    return inside, -np.log(_COLORS), numbers["lapse"]


def _edge(numbers: Any, at: float) -> Any:
    """ln of the dose at a place on the color scale; steps pass halfway between whole numbers."""
    return np.log(numbers["color_eye"]) + (at - _SPOILED_AT) * np.log(numbers["color_step"])


# -- bubbles, sticking, cracks ------------------------------------------------------------------


def bubbles(foreseen: Any, seen: Any) -> Any:
    """Foam of the charge in the barrel, or blisters of a core that was still too hot."""
    if not seen.bubbles:
        return None
    chances = _bubble_chances(foreseen)
    lapse = foreseen.numbers["lapse_other"]
    if seen.bubbles == "some":
        found, slip = 1.0 - chances["none"], 0.5
    else:
        found, slip = chances[seen.bubbles], 0.5 if seen.bubbles == "none" else 0.5 / len(_PLACES)
    return np.log(np.maximum(found, _TINY)), np.log(slip), lapse


def _bubble_chances(foreseen: Any) -> dict[str, Any]:
    foam = special.ndtr(-foreseen.barrel["steam"] / foreseen.numbers["steam_scatter"])
    blister = special.ndtr(-foreseen.core) * (1.0 - foam)
    places = {place: foam * _FOAM[place] + blister * _BLISTER[place] for place in _PLACES}
    return {"none": 1.0 - foam - blister, **places}


def stuck(foreseen: Any, seen: Any) -> Any:
    """A part too soft when it is taken out sticks, and many that browned do: burnt sugar glues."""
    if seen.stuck is None:
        return None
    return _yes_no(_stick_chance(foreseen), seen.stuck, foreseen.numbers["lapse_other"])


def _stick_chance(foreseen: Any) -> Any:
    numbers = foreseen.numbers
    soft = _soft_chance(foreseen)
    brown = special.ndtr(-foreseen.barrel["browning"] / numbers["color_scatter"])
    return 1.0 - (1.0 - soft) * (1.0 - numbers["browned_sticks"] * brown)


def _soft_chance(foreseen: Any) -> Any:
    return special.ndtr(-foreseen.mold["soft-at-ejection"] / foreseen.numbers["stick_scatter"])


def cracked(foreseen: Any, seen: Any) -> Any:
    """A part cracks as it dries in its room, and some brittle ones as they cool."""
    if seen.cracked is None:
        return None
    return _yes_no(_crack_chance(foreseen), seen.cracked, foreseen.numbers["lapse_other"])


def _crack_chance(foreseen: Any) -> Any:
    numbers = foreseen.numbers
    dries = _drying_chance(foreseen)
    brittle = special.ndtr(-foreseen.part["brittle"] / numbers["brittle_scatter"])
    return 1.0 - (1.0 - dries) * (1.0 - numbers["brittle_cracks"] * brittle)


def _drying_chance(foreseen: Any) -> Any:
    return special.ndtr(-foreseen.part["drying-cracks"] / foreseen.numbers["crack_scatter"])


def warped(foreseen: Any, seen: Any) -> Any:
    """A part warps as it dries in its room, or as it is taken out soft."""
    if seen.warped is None:
        return None
    return _yes_no(_warp_chance(foreseen), seen.warped, foreseen.numbers["lapse_other"])


def _warp_chance(foreseen: Any) -> Any:
    return 1.0 - (1.0 - _drying_chance(foreseen)) * (1.0 - _soft_chance(foreseen))


def lumps(foreseen: Any, seen: Any) -> Any:
    """Pellets that did not weld, or granules that did not melt, are still seen."""
    if seen.lumps is None:
        return None
    return _yes_no(_lump_chance(foreseen), seen.lumps, foreseen.numbers["lapse_other"])


def _lump_chance(foreseen: Any) -> Any:
    margins = [foreseen.barrel[name] for name in ("weld", "granules") if name in foreseen.barrel]
    return special.ndtr(-np.minimum.reduce(margins) / foreseen.numbers["weld_scatter"])


def _yes_no(chance: Any, said: bool, lapse: float) -> Any:
    return np.log(np.maximum(chance if said else 1.0 - chance, _TINY)), np.log(0.5), lapse


# -- bending ------------------------------------------------------------------------------------


def bend(foreseen: Any, seen: Any) -> Any:
    """Strain at break, straight in its logarithm from where it is brittle to its transition."""
    if seen.bend_radius is None:
        return None
    numbers, expected = foreseen.numbers, _ln_strain(foreseen)
    scatter, lapse = numbers["bend_scatter"], numbers["lapse"]
    radius = max(seen.bend_radius, 0.0)
    strain = foreseen.wall / (2.0 * radius) if radius > numbers["bend_reading"] else np.inf
    slip = np.log(_SLIP_STRAIN)
    if strain >= _FLAT:
        return (
            _ln_cdf((expected - np.log(_FLAT)) / scatter),
            special.log_ndtr((slip - np.log(_FLAT)) / _SLIP_SPREAD),
            lapse,
        )
    off = (np.log(strain) - expected) / scatter
    slip_off = (np.log(strain) - slip) / _SLIP_SPREAD
    return (
        -0.5 * off**2 - np.log(scatter) - 0.5 * np.log(2.0 * np.pi),
        -0.5 * slip_off**2 - np.log(_SLIP_SPREAD) - 0.5 * np.log(2.0 * np.pi),
        lapse,
    )


def _ln_strain(foreseen: Any) -> Any:
    numbers = foreseen.numbers
    brittle = np.log(numbers["bend_brittle"])
    along = 1.0 + foreseen.above_tg / np.maximum(foreseen.brittle_offset, 1.0)
    return brittle + np.maximum(along, -1.0) * (np.log(numbers["bend_at_tg"]) - brittle)


# -- drawing one --------------------------------------------------------------------------------


def outcome(foreseen: Any, index: int, rng: np.random.Generator) -> dict[str, Any]:
    """Everything a maker would note, were sample ``index`` the truth."""
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


def _draw_fill(foreseen: Any, index: int, numbers: Any, rng: Any) -> tuple[bool, float]:
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


def _draw_color(foreseen: Any, index: int, numbers: Any, rng: Any) -> float:
    if rng.random() < numbers["lapse"]:
        return float(rng.integers(_COLORS))
    dose = -_of(foreseen.barrel["browning"], index)
    dose += numbers["color_scatter"] * rng.standard_normal()
    edges = [_edge(numbers, step + 0.5) for step in range(_COLORS - 1)]
    return float(np.searchsorted(edges, dose))


def _draw_bubbles(foreseen: Any, index: int, numbers: Any, rng: Any) -> str:
    if rng.random() < numbers["lapse_other"]:
        return "none" if rng.random() < 0.5 else str(rng.choice(_PLACES))
    chances = {place: _of(chance, index) for place, chance in _bubble_chances(foreseen).items()}
    shares = np.clip(list(chances.values()), 0.0, 1.0)
    return str(rng.choice(list(chances), p=shares / shares.sum()))


def _draw_yes_no(chance: float, numbers: Any, rng: Any) -> bool:
    said = 0.5 if rng.random() < numbers["lapse_other"] else chance
    return bool(rng.random() < said)


def _draw_bend(foreseen: Any, index: int, numbers: Any, rng: Any) -> float:
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


def _ln_cdf(z: Any) -> Any:
    return special.log_ndtr(z)
