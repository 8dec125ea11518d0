"""What the model foretells of water taken up from the air: how much, and how tightly held."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import PREDICTION, EvidenceRow, Subject, told
from moldwin.advice.evidence.tables import number, published
from moldwin.base.percentiles import Triple
from moldwin.physics.sorption import gab, gab_water_activity, net_sorption_heat

__all__ = ["isotherms", "moistures", "net_heats", "net_heats_printed", "stored_grain"]

_ZERO_C = 273.15
_GAS_CONSTANT = 8.314462618
_ROOM_C = 25.0
#: What a card is for, and what it only stands in for: flour, grain, tuber, dough, board.
_QUANTITIES = {"no": "moisture at a humidity", "yes": "moisture of stand-ins"}
_HEAT = Subject("net heat of sorption", PREDICTION, "kJ/mol", "gab_parameters.csv", by_factor=True)
_HEAT_OSWIN = Subject("net heat of sorption", PREDICTION, "kJ/mol", "oswin_isotherms.csv", True)
_HEAT_PRINTED = Subject("net heat of sorption", PREDICTION, "kJ/mol", "sorption_heat.csv", True)

_FLOUR = (
    "this one laboratory finds a quarter less than any other isotherm of starch or grain here "
    "does; that flour goes up and a gel comes down explains 0.01 of it"
)
_GRAINS = (
    "the same laboratory finds a tenth less than the lowest isotherm of starch or grain here; "
    "that grain goes up and a gel comes down explains 0.01 of it"
)
_BOARD = (
    "wood stands in for board, which holds a tenth to a sixth less; the card's spread is for solid "
    "wood"
)
#: Known misses of the isotherms, by point.
_MOISTURE_MISSES = {
    **dict.fromkeys(("6", "7", "8", "9"), _FLOUR),
    **dict.fromkeys(("10", "11"), _GRAINS),
    **dict.fromkeys(("17", "18", "19"), _BOARD),
}


def moistures(blends: Blends) -> Iterator[EvidenceRow]:
    """Equilibrium moisture, dry basis, of starch, fiber and alginate, as measured."""
    for row in published("sorption_points.csv"):
        if not row["recipe"]:
            continue
        aw = number(row, "aw")
        band = blends.uptake_band(row["recipe"], aw, float(row["t_c"] or _ROOM_C))
        at = f"{row['t_c']} °C" if row["t_c"] else f"{_ROOM_C:g} °C taken"
        what = f"{row['material']}, {100 * aw:.0f} % humidity, {at}; {_read_as(row)}"
        ends = (number(row, "x"), number(row, "x"))
        miss = _MOISTURE_MISSES.get(row["id"], "")
        yield told(
            _subject("sorption_points.csv", row), row, band, ends, what=what, known_miss=miss
        )


#: Where the published curves are read: low, middle, and over table salt. [-]
_READ_AT = (0.33, 0.53, 0.75)
#: Known misses of whole curves, by set and humidity.
_EXTRUDED = (
    "extruded starch takes up less at low humidity: its c is 6.4 and 3.5, the cards' 36 and good "
    "to a factor of 1.5"
)
_GRAIN_CURVE = (
    "whole grain at 30 °C holds a sixth to a third more than starch; the same set agrees with us "
    "at 60 °C"
)
_TUBER = "tuber solids, not starch, and a tenth to a quarter above it at 30 and 60 °C alike"
_WARM = (
    "at 60 °C dough of durum holds less than we say: the likely heat that moves our isotherm is "
    "half of what these sets have"
)
_CURVE_MISSES = {
    **dict.fromkeys(("3 at 0.33", "4 at 0.33", "4 at 0.53"), _EXTRUDED),
    **dict.fromkeys(("5 at 0.33", "5 at 0.53", "5 at 0.75"), _GRAIN_CURVE),
    **dict.fromkeys(("9 at 0.33", "9 at 0.53", "11 at 0.33", "11 at 0.53"), _TUBER),
    **dict.fromkeys(("14 at 0.33", "14 at 0.53"), _WARM),
    **dict.fromkeys(("O2 at 0.33", "O4 at 0.33", "O4 at 0.53"), _WARM),
}


def isotherms(blends: Blends) -> Iterator[EvidenceRow]:
    """Published isotherms of other starchy materials, each read at three humidities."""
    for row in published("gab_parameters.csv"):
        if not row["why_not"]:
            constants = [number(row, name) for name in ("xm", "c", "k")]
            curve = [(aw, float(gab(aw, *constants))) for aw in _READ_AT]
            yield from _curve(blends, _subject("gab_parameters.csv", row), row, curve)
    for row in published("oswin_isotherms.csv"):
        half, n = number(row, "x_half"), number(row, "n")
        curve = [(aw, half * (aw / (1.0 - aw)) ** n) for aw in _READ_AT]
        yield from _curve(blends, _subject("oswin_isotherms.csv", row), row, curve)


def _curve(
    blends: Blends, subject: Subject, row: dict[str, str], curve: list[tuple[float, float]]
) -> Iterator[EvidenceRow]:
    for aw, x in curve:
        name = f"{row['id']} at {aw:g}"
        branch = f", {row['branch']}" if row["branch"] else ""
        yield told(
            subject,
            {**row, "status": "derived"},  # their constants, our arithmetic
            blends.uptake_band(row["recipe"], aw, number(row, "t_c")),
            (x, x),
            id=name,
            what=f"{row['material']}{branch}, {100 * aw:.0f} % humidity, {row['t_c']} °C; "
            + _read_as(row),
            known_miss=_CURVE_MISSES.get(name, ""),
        )


def stored_grain(blends: Blends) -> Iterator[EvidenceRow]:
    """The rule of grain stores: moisture of starchy cereals in a band of humidity."""
    for row in published("stored_grain.csv"):
        low, high = (number(row, key) for key in ("humidity_low", "humidity_high"))
        wet = [number(row, key) for key in ("w_low", "w_high")]
        yield told(
            _subject("stored_grain.csv", row),
            row,
            blends.uptake_band(row["recipe"], 0.5 * (low + high), _ROOM_C),
            (wet[0] / (1.0 - wet[0]), wet[1] / (1.0 - wet[1])),
            what=f"{row['material']}, {100 * low:.0f} to {100 * high:.0f} % humidity, "
            f"{_ROOM_C:g} °C taken; {_read_as(row)}",
        )


def _subject(table: str, row: dict[str, str]) -> Subject:
    return Subject(_QUANTITIES[row["stand_in"]], PREDICTION, "kg/kg", table)


def _read_as(row: dict[str, str]) -> str:
    """The recipe of cards; the trace of starch in a pure fiber is there only to be a job."""
    return f"read as {row['recipe'].removesuffix(' + corn-starch 0.001')}"


#: Sets of one material at two temperatures: those the curve was assumed with, and others.
_HEAT_PAIRS = {
    "pasta": ("13", "15", True),
    "potato": ("9", "11", True),
    "cellulose": ("16", "18", True),
    "maize": ("5", "8", False),
}
_OSWIN_PAIRS = {"pasta-1985": ("O1", "O2"), "semolina-1991": ("O3", "O4")}
#: Moistures at which two isotherms are compared, dry basis. [kg/kg]
_HEAT_AT = (0.05, 0.08, 0.10, 0.12)
_HEAT_MISSES: dict[str, str] = {
    "pasta-0.05": "2.4 times the curve, not 2",
    "pasta-1985-0.05": "2.2 times the curve, not 2: pasta again holds its first water tighter",
    "maize-0.1": "2.5 times the curve, not 2: by this set the heat hardly falls with moisture",
    "maize-0.12": "3.0 times the curve, not 2: by this set the heat hardly falls with moisture",
}
_IN_VIEW = "the curve was assumed with these in view; its interval is a factor of two"
_NOT_IN_VIEW = "the curve's interval is a factor of two, assumed"


def net_heats(blends: Blends) -> Iterator[EvidenceRow]:
    """Heat between two isotherms of one material, beside a curve good to a factor of two."""
    sets = {row["id"]: row for row in published("gab_parameters.csv")}
    for material, (cold, warm, in_view) in _HEAT_PAIRS.items():
        for x in _HEAT_AT:
            activities = [_gab_activity(sets[name], x) for name in (cold, warm)]
            yield _heat(blends, _HEAT, material, sets[cold], sets[warm], x, activities, in_view)
    sets = {row["id"]: row for row in published("oswin_isotherms.csv")}
    for material, (cold, warm) in _OSWIN_PAIRS.items():
        for x in _HEAT_AT:
            activities = [_oswin_activity(sets[name], x) for name in (cold, warm)]
            yield _heat(blends, _HEAT_OSWIN, material, sets[cold], sets[warm], x, activities, False)


def net_heats_printed(blends: Blends) -> Iterator[EvidenceRow]:
    """Heats that others worked out of their own isotherms and printed."""
    for row in published("sorption_heat.csv"):
        if not row["why_not"]:
            x, heat = number(row, "x"), number(row, "heat_kj_mol")
            what = f"{row['material']}, {x:g} kg/kg"
            yield told(_HEAT_PRINTED, row, _heat_band(blends, x), (heat, heat), what=what)


def _gab_activity(row: dict[str, str], x: float) -> float:
    constants = (number(row, name) for name in ("xm", "c", "k"))
    return float(gab_water_activity(x, *constants, check=False))


def _oswin_activity(row: dict[str, str], x: float) -> float:
    odds = (x / number(row, "x_half")) ** (1.0 / number(row, "n"))
    return float(odds / (1.0 + odds))


def _heat(
    blends: Blends,
    subject: Subject,
    material: str,
    cold: dict[str, str],
    warm: dict[str, str],
    x: float,
    activities: list[float],
    in_view: bool,
) -> EvidenceRow:
    t = [number(row, "t_c") + _ZERO_C for row in (cold, warm)]
    ratio = np.log(activities[1] / activities[0])
    heat = float(-_GAS_CONSTANT * ratio / (1.0 / t[1] - 1.0 / t[0])) / 1e3
    name = f"{material}-{x:g}"
    more: dict[str, Any] = {"status": "derived", "used_for_fit": "yes" if in_view else "no"}
    return told(
        subject,
        {**cold, **more},
        _heat_band(blends, x),
        (heat, heat),
        id=name,
        what=f"{cold['material']}, {x:g} kg/kg, between {cold['t_c']} and {warm['t_c']} °C",
        note=_IN_VIEW if in_view else _NOT_IN_VIEW,
        known_miss=_HEAT_MISSES.get(name, ""),
    )


def _heat_band(blends: Blends, x: float) -> Triple:
    likely, factor = float(net_sorption_heat(x)) / 1e3, blends.sorption_heat_factor
    return Triple(likely / factor, likely, likely * factor)
