"""What the model foretells from its cards: transition, cooking, drying.

Each published value stands beside the median and the 90 % interval that the whole tool would show.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import PREDICTION, EvidenceRow, Subject, told
from moldwin.advice.evidence.tables import number, published
from moldwin.base.percentiles import Triple, triple
from moldwin.physics.gelatinization import share_by_water
from moldwin.physics.mixing import blend_density
from moldwin.physics.shrinkage import drying_shrinkage
from moldwin.stages.sheet import HOUR, SheetAir, WetSheet

__all__ = [
    "cast_film",
    "film_hours",
    "gel_rods",
    "gelatinization",
    "glass_transitions",
    "pool_evaporation",
]

_ZERO_C = 273.15
_VAPOR_GAS_CONSTANT, _LATENT = 461.526, 2.442e6

_TG = Subject("glass transition", PREDICTION, "°C", "starch_tg.csv")
_ROD = Subject("gel rod, dried", PREDICTION, "mm", "conditioning_cases.csv")
_FILM = Subject("film drying time", PREDICTION, "h", "film_drying.csv", by_factor=True)
_POOL = Subject("evaporation over still water", PREDICTION, "W/m2/Pa", "film_drying.csv", True)
_COOKING = {
    "°C": Subject("gelatinization temperature", PREDICTION, "°C", "gelatinization.csv"),
    "K": Subject("gelatinization width", PREDICTION, "K", "gelatinization.csv"),
    "kg/kg": Subject("water that cooking takes", PREDICTION, "kg/kg", "gelatinization.csv"),
    "share": Subject("share cooked in little water", PREDICTION, "-", "gelatinization.csv"),
}


_TG_MISSES = {"M02a": "3 K below our low end; the value is from memory"}


def glass_transitions(blends: Blends) -> Iterator[EvidenceRow]:
    """Amorphous starch with water, with or without glycerol."""
    for row in published("starch_tg.csv"):
        if row["why_not"]:
            continue
        starch, glycerol = number(row, "w_polymer"), number(row, "w_plasticizer")
        recipe = f"{row['card']} {1000 * starch}"
        if glycerol:
            recipe += f" + glycerol {1000 * glycerol}"
        tg = number(row, "tg_c")
        more = f", {100 * glycerol:.1f} % glycerol" if glycerol else ""
        what = (
            f"{row['polymer']}, {100 * number(row, 'w_water'):.1f} % water{more}, "
            f"{row['method']}; read as {row['card']}"
        )
        band = blends.tg(recipe, number(row, "w_water"))
        miss = _TG_MISSES.get(row["id"], "")
        yield told(_TG, row, band, (tg, tg), what=what, known_miss=miss)


#: What a rod dried in a room still holds, wet basis: nobody measured it. [kg/kg]
_ROD_DRIED = (0.08, 0.14, 0.20)


def gel_rods(_: Blends) -> Iterator[EvidenceRow]:
    """A rod of gel dries to a size that its solids set."""
    for row in published("conditioning_cases.csv"):
        if row["judge"] != "size":
            continue
        gel = blend_density([0.07, 0.93], 298.15, ("carbohydrate", "water"))
        left = [1.0 - float(drying_shrinkage(0.93, w, gel)) for w in _ROD_DRIED]
        band = Triple(*(number(row, "size_mm") * part for part in left))
        # a maker's ruler, printed to half a millimeter
        ends = (number(row, "low") - 0.25, number(row, "high") + 0.25)
        yield told(_ROD, row, band, ends, what=f"{row['material']}, {row['size_mm']} mm wet")


def cast_film(blends: Blends) -> WetSheet:
    """A film of starch and glycerol, 12 % of solids, 3.3 mm wet."""
    rows = [
        {"card": "potato-starch", "mass_g": 70, "moisture_pct": 0},
        {"card": "glycerol", "mass_g": 30, "moisture_pct": 0},
    ]
    job = {
        "ingredient": rows,
        "pellets": {"moisture_pct": 10},
        "pot": {"water_g": 720, "loss_pct": 0},
        "sheet": {"spread_mm": 3.33},
    }
    return WetSheet(blends.bench(blends.read(job)))


def film_hours(blends: Blends) -> Iterator[EvidenceRow]:
    """A cast film in a warm oven: from spread to dry."""
    for row in published("film_drying.csv"):
        if row["quantity"] != "film":
            continue
        air = SheetAir(t=number(row, "t_c") + _ZERO_C)
        hours = cast_film(blends).drying(air).dry / HOUR
        ends = (number(row, "low"), number(row, "high"))
        what = (
            f"starch film, 0.3 mm dry, at {row['t_c']} °C; read as potato-starch 70 + glycerol 30 "
            "spread 3.3 mm wet, of 12 % solids"
        )
        yield told(_FILM, row, triple(hours), ends, id="film", what=what)


def pool_evaporation(blends: Blends) -> Iterator[EvidenceRow]:
    """The film of still air over a sheet, as heat that a pool loses."""
    for row in published("film_drying.csv"):
        if row["quantity"] != "pool":
            continue
        t = number(row, "t_c") + _ZERO_C
        band = triple(blends.typical("sheet", "film") * _LATENT / (_VAPOR_GAS_CONSTANT * t))
        value = number(row, "value")
        yield told(_POOL, row, band, (value, value), id=f"pool-{value:g}", what=row["note"])


_COOKING_MISSES = {
    "G08": "what one source calls excess is the far end of our range, outside its 90 %",
    "G12": "all of it is the end of the scale, and our 95th percentile a hair below it",
}


def gelatinization(blends: Blends) -> Iterator[EvidenceRow]:
    """Where starch cooks, how wide, and how much water it takes."""
    for row in published("gelatinization.csv"):
        if row["why_not"]:
            continue
        starch, asked = row["starch"], row["quantity"]
        low, high = number(row, "low"), number(row, "high")
        if asked == "share_at_water":
            band, ends, unit = _share_in(blends, low), (high, high), "share"
            what = f"{starch} starch in {low:g} water per starch: share of it that goes"
        else:
            band, ends, unit = _COOKED[asked](blends, starch), (low, high), row["unit"]
            what = f"{starch} starch, {asked.replace('_', ' ')}"
        what += "; read as cassava" if starch in _STANDS_IN else ""
        miss = _COOKING_MISSES.get(row["id"], "")
        yield told(_COOKING[unit], row, band, ends, what=what, known_miss=miss)


def _share_in(blends: Blends, x: float) -> Triple:
    whole, none = (blends.typical("pot", key) for key in ("water_whole", "water_none"))
    return triple(share_by_water(x, whole, none))


def _water_whole(blends: Blends, _: str) -> Triple:
    return triple(blends.typical("pot", "water_whole"))


def _of_cooking(ask: Callable[[Any], Any]) -> Callable[[Blends, str], Triple]:
    def asked(blends: Blends, starch: str) -> Triple:
        return triple(ask(blends.cooking(_STANDS_IN.get(starch, f"{starch}-starch"))))

    return asked


#: Sago has no card.
_STANDS_IN = {"sago": "cassava-starch"}
_COOKED: dict[str, Callable[[Blends, str], Triple]] = {
    "onset": _of_cooking(lambda cooking: cooking.onset - _ZERO_C),
    "end": _of_cooking(lambda cooking: cooking.end - _ZERO_C),
    "cooked_at": _of_cooking(lambda cooking: cooking.end - _ZERO_C),
    "width": _of_cooking(lambda cooking: cooking.end - cooking.onset),
    "peak": lambda blends, starch: blends.peak(f"{starch}-starch"),
    "whole_water": _water_whole,
}
