"""Amounts as people type them: ``22 mm``, ``3,5 kN``, ``30 kg``, ``60 x 15 x 3 mm``."""

from __future__ import annotations

import re
from collections.abc import Mapping

from moldwin.inputs.errors import nearest
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.text_files import printable

__all__ = [
    "CELSIUS",
    "FORCES_N",
    "LENGTHS_MM",
    "MASSES_G",
    "NUMBER",
    "PERCENTS",
    "PRESSURES_MPA",
    "amount",
    "amounts",
    "number",
    "temperature",
]

LENGTHS_MM = {
    "mm": 1.0,
    "millimeter": 1.0,
    "millimeters": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "\u03bcm": 0.001,  # Greek mu, which the micro sign becomes in small letters
    "um": 0.001,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
}
MASSES_G = {
    "g": 1.0,
    "gr": 1.0,
    "gram": 1.0,
    "grams": 1.0,
    "kg": 1000.0,
    "kilo": 1000.0,
    "kilos": 1000.0,
    "mg": 0.001,
    "oz": 28.349523125,
    "ounce": 28.349523125,
    "ounces": 28.349523125,
    "lb": 453.59237,
    "lbs": 453.59237,
}
#: A mass stands for its weight: that is how a bathroom or luggage scale shows a force.
FORCES_N = {
    "n": 1.0,
    "newton": 1.0,
    "newtons": 1.0,
    "kn": 1000.0,
    "kg": 9.80665,
    "kgf": 9.80665,
    "kp": 9.80665,
    "kilo": 9.80665,
    "kilos": 9.80665,
    "t": 9806.65,
    "tonne": 9806.65,
    "tonnes": 9806.65,
    "lb": 4.4482216,
    "lbs": 4.4482216,
    "lbf": 4.4482216,
}
PRESSURES_MPA = {"mpa": 1.0, "bar": 0.1, "kpa": 0.001, "psi": 0.0068947573}
PERCENTS = {"%": 1.0, "percent": 1.0, "pct": 1.0}
CELSIUS = ("c", "°c", "celsius", "f", "°f", "fahrenheit", "k", "kelvin")

#: Meant by some for 907 kg and by others for 1000 or 1016.
_AMBIGUOUS = {"ton": "a ton may be 907 or 1000 kg", "tons": "a ton may be 907 or 1000 kg"}
#: A number as typed, with a point or a comma.
NUMBER = r"\d+(?:[.,]\d+)?|[.,]\d+"
_NUMBER = re.compile(NUMBER)
_ONE = re.compile(rf"\s*([-+]?(?:{NUMBER}))\s*([^\W\d_]+|°\s*[a-z]|%|\")?\s*", re.IGNORECASE)
#: Between two sizes: x, ×, "by", a comma with a blank behind it, or a blank alone.
_TIMES = re.compile(
    r"\s*(?:(?<=[\d\s\"])x(?=[\d\s.,])|(?<=[a-z])\s+x(?=[\d\s.,])|×|\*|\bby\b|,\s)\s*"
    r"|(?<=\d)\s+(?=\d)"
)
#: After a whole number that is not 0: 1,500 means 1.5 to some and 1500 to others.
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")


def number(text: str) -> float:
    """A number with a point or a comma in it.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The number. [-]

    Raises
    ------
    SlipError
        No number, or one with two meanings.

    Examples
    --------
    >>> number("3,5"), number("0,250")
    (3.5, 0.25)
    """
    plain = text.strip()
    if _THOUSANDS.fullmatch(plain):
        whole, _, part = plain.partition(",")
        raise SlipError(
            f"{plain} may mean {whole}{part} or {float(f'{whole}.{part}'):g}: "
            "write it without the comma"
        )
    unsigned = plain.removeprefix("+").removeprefix("-")
    if not _NUMBER.fullmatch(unsigned):
        raise SlipError(f'got "{printable(plain, 40)}"; a number belongs here')
    return float(plain.replace(",", "."))


def amount(text: str, units: Mapping[str, float], bare: str | None, like: str) -> float:
    """One amount, in the unit that counts as 1.

    Parameters
    ----------
    text : str
        As typed. [-]
    units : mapping of str to float
        Size of each unit. [of the unit that counts as 1]
    bare : str or None
        Unit of a number that stands alone; None where it must be named. [-]
    like : str
        How an answer looks, for the message. [-]

    Returns
    -------
    float
        The amount. [the unit that counts as 1]

    Raises
    ------
    SlipError
        Not one amount of this kind.

    Examples
    --------
    >>> amount("2,2 cm", LENGTHS_MM, "mm", "22 mm")
    22.0
    """
    found = amounts(text, units, bare, like)
    if len(found) != 1:
        raise SlipError(f"got {len(found)} numbers; one belongs here, like {like}")
    return found[0]


def amounts(
    text: str, units: Mapping[str, float], bare: str | None, like: str
) -> tuple[float, ...]:
    """Amounts with x, × or a blank between them; a unit behind the last holds for all without one.

    Parameters
    ----------
    text, units, bare, like
        As for `amount`. [-]

    Returns
    -------
    tuple of float
        In the order typed. [the unit that counts as 1]

    Raises
    ------
    SlipError
        Not amounts of this kind.

    Examples
    --------
    >>> amounts("6 x 1,5 x 0.3 cm", LENGTHS_MM, "mm", "60 x 15 x 3 mm")
    (60.0, 15.0, 3.0)
    """
    pieces = [_piece(piece, units, like) for piece in _TIMES.split(text.strip().casefold())]
    last = pieces[-1][1] or bare
    found = []
    for value, unit in pieces:
        own = unit or last
        if own is None:
            raise SlipError(f"{value:g} of what? Write the unit behind it, like {like}")
        found.append(round(value * units[own], 9))
    return tuple(found)


def temperature(text: str) -> float:
    """A temperature, °C where no unit is typed. [°C]

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The temperature. [°C]

    Raises
    ------
    SlipError
        No temperature.

    Examples
    --------
    >>> temperature("90"), round(temperature("194 °F"), 6)
    (90.0, 90.0)
    """
    value, unit = _piece(text.casefold(), dict.fromkeys(CELSIUS, 1.0), "90 °C")
    scale = unit.removeprefix("°")[:1] or "c"
    return round({"c": value, "f": (value - 32.0) / 1.8, "k": value - 273.15}[scale], 2)


def _piece(text: str, units: Mapping[str, float], like: str) -> tuple[float, str]:
    """A number and its unit, the unit empty where none is typed."""
    match = _ONE.fullmatch(text)
    if not match:
        raise SlipError(f'cannot read "{printable(text.strip(), 40)}"; write it like {like}')
    unit = "".join((match.group(2) or "").split())
    if unit and unit not in units:
        raise SlipError(_wrong_unit(unit, units, like))
    return number(match.group(1)), unit


def _wrong_unit(unit: str, units: Mapping[str, float], like: str) -> str:
    if unit in _AMBIGUOUS:
        return f"{_AMBIGUOUS[unit]}: write it in kN, kg or lb"
    hint = nearest(unit, units) or f"; write it like {like}"
    return f"'{printable(unit, 20)}' is no unit that fits here{hint}"
