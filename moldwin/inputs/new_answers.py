"""One typed answer of ``moldwin new``, read into the keys of a job."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from moldwin.inputs.cards import Library
from moldwin.inputs.job_keys import SOLID_SHAPES, SPECIMENS
from moldwin.inputs.job_values import SlipError, nearest_name
from moldwin.inputs.text_files import printable
from moldwin.inputs.typed_amounts import (
    FORCES_N,
    LENGTHS_MM,
    NUMBER,
    PERCENTS,
    PRESSURES_MPA,
    amount,
    amounts,
    number,
    temperature,
)
from moldwin.inputs.typed_recipe import read_recipe

__all__ = [
    "Tables",
    "is_unknown",
    "read_barrel",
    "read_force",
    "read_humidity",
    "read_ingredients",
    "read_moisture",
    "read_mold",
    "read_nozzle",
    "read_part",
    "read_pieces",
    "read_sealed",
]

#: Part of a job, as in the file: section, key, value.
Tables = dict[str, Any]

_UNKNOWN = frozenset(
    {"?", "-", "unknown", "dunno", "idk", "dontknow", "donotknow", "idontknow", "idonotknow"}
    | {"noidea", "notsure", "notknown", "skip"}
)
_UNHEATED = frozenset({"unheated", "cold", "room", "roomtemperature", "notheated", "no"})
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}

_COLON = re.compile(rf"({NUMBER})\s*:\s*({NUMBER})")
#: x 12, or 12 x before the force; the number with a unit behind it is the force.
_RATIO = re.compile(
    rf"(?:x|×|\*|times|ratio|lever)\s*({NUMBER})(?![\d.,])(?!\s*(?:{'|'.join(FORCES_N)})\b)"
    rf"|({NUMBER})\s*(?:x|×|\*|times)\s*(?={NUMBER})"
)
_MEASURE = re.compile(rf"({NUMBER})\s*([^\W\d_]+|\")?")
_LEVER_WORDS = frozenset(
    {"on", "a", "an", "the", "of", "with", "at", "my", "about", "x", "×", "*", "times", "ratio"}
    | {"lever", "hand", "arm", "long", "jack", "gauge", "piston", "oil", "plunger", "press"}
)
#: Other words for the shapes of a part, and of pieces.
_SHAPES = {
    "disk": "disc",
    "coin": "disc",
    "ball": "sphere",
    "cylinder": "rod",
    "pin": "rod",
    "pipe": "tube",
    "bar": "plate",
    "label": "plate",
    "sheet": "plate",
    "strip": "plate",
    "cube": "box",
    "block": "box",
}
_PIECES = {
    "flakes": "flake",
    "chip": "flake",
    "chips": "flake",
    "sheet": "flake",
    "slabs": "slab",
    "plate": "slab",
    "cylinders": "cylinder",
    "rod": "cylinder",
    "rods": "cylinder",
    "pellet": "cylinder",
    "pellets": "cylinder",
    "strand": "cylinder",
    "strands": "cylinder",
    "ball": "sphere",
    "balls": "sphere",
    "spheres": "sphere",
    "bead": "sphere",
    "beads": "sphere",
}
_PIECE_SIZES = {
    "flake": ("thickness_mm",),
    "slab": ("thickness_mm",),
    "cylinder": ("diameter_mm", "length_mm"),
    "sphere": ("diameter_mm",),
}


def is_unknown(text: str) -> bool:
    """Whether an answer says that nobody knows.

    Examples
    --------
    >>> is_unknown(""), is_unknown("I don't know"), is_unknown("3 mm")
    (True, True, False)
    """
    plain = text.strip().casefold()
    return not plain or "".join(c for c in plain if c not in " '’´`,!") in _UNKNOWN


def read_ingredients(text: str, library: Library) -> Tables:
    """The recipe; water goes into the pot, out of which it boils again.

    Examples
    --------
    >>> from moldwin.inputs.cards import Library
    >>> read_ingredients("300 g agar, 2 l water", Library())
    {'ingredient': [{'card': 'agar', 'mass_g': 300.0}], 'pot': {'water_g': 2000.0}}
    """
    rows = read_recipe(text, library)
    water = sum(row.mass_g for row in rows if library.card(row.card).role == "water")
    kept = [
        {"card": row.card, "mass_g": row.mass_g}
        for row in rows
        if library.card(row.card).role != "water"
    ]
    if not kept:
        raise SlipError("water alone makes no plastic; name a starch, alginate or seaweed powder")
    return {"ingredient": kept, **({"pot": {"water_g": water}} if water else {})}


def read_moisture(text: str) -> Tables:
    """Water in the pellets, with what is said of how sure that is.

    Examples
    --------
    >>> read_moisture("11,5 % ± 0,7")
    {'pellets': {'moisture_pct': 11.5, 'moisture_u_pct': 0.7}}
    """
    value, sign, u = _parted(text, "±", "+/-", "+-")
    percent = _percent(value, "11.5 %")
    if not sign:
        return {"pellets": {"moisture_pct": percent}}
    spread = amount(u, PERCENTS, "%", "11.5 % ± 0.7")
    return {"pellets": {"moisture_pct": percent, "moisture_u_pct": spread}}


def read_humidity(text: str) -> Tables:
    """Humidity of the room.

    Examples
    --------
    >>> read_humidity("45")
    {'room': {'humidity_pct': 45.0}}
    """
    return {"room": {"humidity_pct": _percent(text, "50 %")}}


def read_pieces(text: str) -> Tables:
    """Shape and size of the pellets.

    Examples
    --------
    >>> read_pieces("flakes 1,2 mm")
    {'pellets': {'shape': 'flake', 'thickness_mm': 1.2}}
    >>> read_pieces("3 x 4")["pellets"]["shape"]
    'cylinder'
    """
    like = "flake 1 mm, cylinder 3 x 4 mm or sphere 3 mm"
    word, sizes = _shape_and_sizes(text, like)
    shape = _PIECES.get(word, word)
    if not word and len(sizes) == 2:
        shape = "cylinder"
    if shape not in _PIECE_SIZES:
        raise SlipError(f"which shape? Write it like {like}")
    return {"pellets": {"shape": shape, **_sized(shape, _PIECE_SIZES[shape], sizes, like)}}


def read_barrel(text: str) -> Tables:
    """Diameter of the plunger, and how deep the barrel is below it.

    Examples
    --------
    >>> read_barrel("2,2 cm")
    {'press': {'plunger_diameter_mm': 22.0}}
    >>> read_barrel("22 x 80 mm")["press"]["barrel_capacity_cm3"]
    30.4
    """
    like = "22 mm, or 22 x 80 mm with its depth"
    sizes = amounts(text, LENGTHS_MM, "mm", like)
    if len(sizes) > 2:
        raise SlipError(f"got {len(sizes)} numbers; write it like {like}")
    diameter = sizes[0]
    found: dict[str, float] = {"plunger_diameter_mm": diameter}
    if len(sizes) == 2:
        if sizes[1] < diameter:
            raise SlipError(f"the barrel is {sizes[1]:g} mm deep? The diameter comes first: {like}")
        found["barrel_capacity_cm3"] = float(f"{math.pi / 4 * diameter**2 * sizes[1] / 1e3:.3g}")
    return {"press": found}


def read_force(text: str) -> Tables:
    """The force on the plunger: as such, by a lever, or by the gauge of a jack.

    Examples
    --------
    >>> read_force("3,5 kN")
    {'press': {'force_kn': 3.5}}
    >>> read_force("25 kg on a lever 1:12")
    {'press': {'lever_force_n': 245.2, 'lever_ratio': 12.0}}
    >>> read_force("80 bar on a 30 mm piston")
    {'press': {'gauge_mpa': 8.0, 'jack_piston_diameter_mm': 30.0}}
    """
    like = "3.5 kN, 350 kg, or 25 kg x 14 by a lever"
    plain = text.casefold()
    ratio = _COLON.search(plain) or _RATIO.search(plain)
    rest = plain.replace(ratio.group(), " ", 1) if ratio else plain
    found = _MEASURE.findall(rest)
    words = set(re.findall(r"[^\W\d_]+|[*×]", _MEASURE.sub(" ", rest))) - _LEVER_WORDS
    # a word of the sentence is no unit: 80 bar on a 30 mm piston
    measures = [(value, "" if unit in _LEVER_WORDS else unit) for value, unit in found]
    if words or not 1 <= len(measures) <= 2:
        raise SlipError(f'cannot read "{printable(text.strip(), 40)}"; write it like {like}')
    if measures[0][1] in PRESSURES_MPA:
        return _gauge(measures, ratio is not None)
    if len(measures) == 2:
        raise SlipError(f"got two forces; write it like {like}")
    newtons = amount("".join(measures[0]), FORCES_N, None, like)
    if ratio is None:
        return {"press": {"force_kn": float(f"{newtons / 1e3:.4g}")}}
    return {"press": {"lever_force_n": float(f"{newtons:.4g}"), "lever_ratio": _ratio(ratio)}}


def read_nozzle(text: str) -> Tables:
    """Bore of the nozzle, and its length.

    Examples
    --------
    >>> read_nozzle("3 x 12 mm")
    {'press': {'nozzle_diameter_mm': 3.0, 'nozzle_length_mm': 12.0}}
    """
    like = "3 mm, or 3 x 12 mm with its length"
    sizes = amounts(text, LENGTHS_MM, "mm", like)
    if len(sizes) > 2:
        raise SlipError(f"got {len(sizes)} numbers; write it like {like}")
    return {"press": dict(zip(("nozzle_diameter_mm", "nozzle_length_mm"), sizes, strict=False))}


def read_sealed(text: str) -> Tables:
    """Whether the nozzle is shut while the charge soaks.

    Examples
    --------
    >>> read_sealed("Yes")
    {'press': {'sealed_nozzle': True}}
    """
    plain = text.strip().casefold()
    if plain not in _YES:
        raise SlipError(f'got "{printable(plain, 40)}"; allowed: yes or no')
    return {"press": {"sealed_nozzle": _YES[plain]}}


def read_mold(text: str, room_c: float) -> Tables:
    """How warm the mold can be held; an unheated one is as warm as its room.

    Parameters
    ----------
    text : str
        What was typed. [-]
    room_c : float
        Temperature of the room. [°C]

    Examples
    --------
    >>> read_mold("60 °C", 21.0), read_mold("unheated", 21.0)
    ({'mold': {'temperature_max_c': 60.0}}, {'mold': {'temperature_max_c': 21.0}})
    """
    plain = "".join(text.casefold().split())
    top = room_c if plain in _UNHEATED else temperature(text)
    return {"mold": {"temperature_max_c": top}}


def read_part(text: str) -> Tables:
    """A standard specimen, or one simple solid.

    Examples
    --------
    >>> read_part("iso 527-2 1ba"), read_part("15 x 60 x 3 mm")["part"]["solid"][0]["length_mm"]
    ({'part': {'specimen': 'ISO 527-2 1BA'}}, 60.0)
    """
    plain = " ".join(text.split())
    if re.match(r"(iso|astm)\b|[a-z]*\d?[ab]{2}$", plain, re.IGNORECASE):
        return {"part": {"specimen": _specimen(plain)}}
    like = "60 x 15 x 3 mm, disc 40 x 3 mm or ISO 527-2 1BA"
    if re.search(r"\.(stl|obj|3mf|ply)\b", plain, re.IGNORECASE):
        raise SlipError(f"a mesh goes into the file later; give its rough size here, like {like}")
    word, sizes = _shape_and_sizes(plain, like)
    shape = _SHAPES.get(word, word) or "plate"
    if shape not in SOLID_SHAPES:
        raise SlipError(f"no part is known as '{printable(word, 40)}'{nearest_name(word, _NAMES)}")
    needed = SOLID_SHAPES[shape]
    if shape == "plate":
        sizes = tuple(sorted(sizes, reverse=True))
    return {"part": {"solid": [{"shape": shape, **_sized(shape, needed, sizes, like)}]}}


_NAMES = (*SOLID_SHAPES, *_SHAPES)


def _parted(text: str, *signs: str) -> tuple[str, str, str]:
    for sign in signs:
        if sign in text:
            return text.partition(sign)
    return text, "", ""


def _percent(text: str, like: str) -> float:
    percent = amount(text, PERCENTS, "%", like)
    if 0 < percent < 1 and not text.strip().endswith("%"):
        raise SlipError(f"got {percent:g}; did you mean {100 * percent:g} %?")
    return percent


def _shape_and_sizes(text: str, like: str) -> tuple[str, tuple[float, ...]]:
    """The word before or behind the sizes, and the sizes. [mm]"""
    plain = text.casefold().replace("ø", " ").strip()
    match = re.fullmatch(r"([^\W\d_]{3,})?[\s:,]*([\d.,].*?)(?:\s+([^\W\d_]{3,}))?", plain)
    if not match:
        raise SlipError(f'cannot read "{printable(text.strip(), 40)}"; write it like {like}')
    before, sizes, behind = match.groups()
    if behind in LENGTHS_MM:
        sizes, behind = f"{sizes} {behind}", None
    return before or behind or "", amounts(sizes, LENGTHS_MM, "mm", like)


def _sized(
    shape: str, needed: tuple[str, ...], sizes: tuple[float, ...], like: str
) -> Mapping[str, float]:
    if len(sizes) != len(needed):
        names = ", ".join(key.removesuffix("_mm").replace("_", " ") for key in needed)
        raise SlipError(f"a {shape} needs {names}, got {len(sizes)} numbers; write it like {like}")
    return dict(zip(needed, sizes, strict=True))


def _specimen(text: str) -> str:
    offer = nearest_name(text, SPECIMENS)
    folded = {"".join(name.casefold().split()): name for name in SPECIMENS}
    plain = "".join(text.casefold().split())
    if plain in folded:
        return folded[plain]
    ending = [name for name in SPECIMENS if name.casefold().split()[-1] == plain]
    if len(ending) == 1:
        return ending[0]
    raise SlipError(f"no specimen is known as '{printable(text, 40)}'{offer}")


def _gauge(measures: list[tuple[str, str]], lever: bool) -> Tables:
    """Oil pressure and piston of a jack."""
    if len(measures) != 2 or measures[1][1] not in LENGTHS_MM or lever:
        raise SlipError(
            "is that the gauge of a jack? Then write its piston too, like 80 bar on 30 mm piston"
        )
    gauge = amount("".join(measures[0]), PRESSURES_MPA, None, "80 bar")
    piston = amount("".join(measures[1]), LENGTHS_MM, None, "30 mm")
    return {"press": {"gauge_mpa": float(f"{gauge:.4g}"), "jack_piston_diameter_mm": piston}}


def _ratio(match: re.Match[str]) -> float:
    """How many times a lever multiplies: 1:12 and 12:1 mean the same."""
    if match.re is _RATIO:
        return number(match.group(1) or match.group(2))
    low, high = sorted(number(one) for one in match.groups())
    if low == 0.0:
        raise SlipError("a lever's ratio has no 0 in it")
    return float(f"{high / low:.4g}")
