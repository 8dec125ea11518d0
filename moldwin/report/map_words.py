"""What every form of the map says the same way: limits in short, where one is, what is unsure."""

from __future__ import annotations

from moldwin.advice.mapped import MapAdvice
from moldwin.report.numbers import duration, percent
from moldwin.report.words import code_words
from moldwin.window.mapping import Map, Place
from moldwin.window.windows import Limit

__all__ = ["here", "limit_label", "moisture_label", "places", "uprights"]

#: Limits in as few words as fit beside a line.
_SHORT: dict[str, str] = {
    "weld": "pellets do not weld",
    "fill": "too stiff to fill",
    "granules": "granules stay whole",
    "browning": "browns",
    "fiber-scorch": "fiber scorches",
    "fumes": "harmful vapor",
    "steam": "steam",
    "heater": "heater cannot",
    "pellets-fuse": "pellets fuse",
    "sticky": "sticks to the press",
    "soft-part": "part too soft",
    "drying-cracks": "warps as it dries",
    "mold-growth": "mold grows",
    "hot-core": "core stays hot",
    "brittle": "brittle",
}


def limit_label(name: str, side: str) -> str:
    """A barrel limit beside its line.

    Examples
    --------
    >>> limit_label("browning", "high"), limit_label("fill", "low")
    ('above: browns', 'below: too stiff to fill')
    """
    return f"{'below' if side == 'low' else 'above'}: {_SHORT.get(name, code_words(name))}"


def moisture_label(name: str, side: str) -> str:
    """A moisture limit beside its line.

    Examples
    --------
    >>> moisture_label("brittle", "low"), moisture_label("mold-growth", "high")
    ('drier: brittle', 'wetter: mold grows')
    """
    return f"{'drier' if side == 'low' else 'wetter'}: {_SHORT.get(name, code_words(name))}"


def here(place: Place, heat: bool) -> str:
    """One place in words; no setting is named where nobody should heat.

    Examples
    --------
    >>> here(Place(0.1, 408.15, 420.0, 0.782, 0.889), True)
    '10 % water; best at 135 °C, soak 7 min: chance 78 %, of the barrel alone 89 %'
    >>> here(Place(0.12, 423.15, 900.0, 0.001, 0.001), False)
    '12 % water; best chance under 1 %: do not heat'
    """
    water = f"{100.0 * place.moisture:.1f}".removesuffix(".0") + " % water"
    if not heat:
        return f"{water}; best chance {percent(place.chance)}: do not heat"
    setting = f"{place.barrel - 273.15:.0f} °C, soak {duration(place.soak)}"
    chances = f"chance {percent(place.chance)}, of the barrel alone {percent(place.barrel_chance)}"
    return f"{water}; best at {setting}: {chances}"


def places(advice: MapAdvice) -> list[tuple[str, Place, bool]]:
    """What is marked on the map: name, place, and whether to heat there."""
    found = advice.map
    now = ("now", found.now, advice.heat_now)
    if advice.there:
        return [("now = target", found.now, advice.heat_now)]
    return [now, ("target", found.target, advice.heat_target)]


def uprights(found: Map) -> list[tuple[Limit, float]]:
    """Moisture limits that lie on the map, from dry to wet, with their moisture. [kg/kg]"""
    shown = [
        (limit, limit.at)
        for limit in found.uprights
        if limit.at is not None and found.moisture[0] <= limit.at <= found.moisture[-1]
    ]
    return sorted(shown, key=lambda pair: pair[1])
