"""Reads the published tables the tool is held against: one CSV per source or subject."""

from __future__ import annotations

import csv
from collections.abc import Mapping

from moldwin.inputs.files import shipped

__all__ = ["half_last_digit", "middle", "number", "published"]


def published(name: str) -> list[dict[str, str]]:
    """All rows of one table as text, in the order of the file.

    Parameters
    ----------
    name : str
        File in ``material_cards/published/``. [-]

    Returns
    -------
    list of dict of str to str
        Cells by column. [as printed]

    Examples
    --------
    >>> published("if97.csv")[0]["status"]
    'read'
    """
    path = shipped("material_cards") / "published" / name
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def number(row: Mapping[str, str], column: str) -> float:
    """One cell as a number; an empty cell is nobody's number: NaN. [as the column]

    Examples
    --------
    >>> number({"t_c": "25"}, "t_c"), number({"t_c": ""}, "t_c")
    (25.0, nan)
    """
    return float(row[column]) if row[column] else float("nan")


def half_last_digit(text: str) -> float:
    """Half of the last printed digit, a hair wider for numbers printed in binary.

    Parameters
    ----------
    text : str
        A number as printed. [-]

    Returns
    -------
    float
        In the unit of the number. [-]

    Examples
    --------
    >>> print(f"{half_last_digit('0.38'):.3f} {half_last_digit('7.7e-13'):.1e}")
    0.005 5.0e-15
    """
    mantissa, _, exponent = text.partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.5000001 * 10.0 ** (int(exponent or 0) - decimals)


def middle(low: float, high: float) -> float:
    """Middle of a printed range: of the logarithms where its ends are far apart.

    Parameters
    ----------
    low, high : float
        Ends of the range, in one unit. [-]

    Returns
    -------
    float
        In the same unit. [-]

    Examples
    --------
    >>> middle(64.0, 66.0), middle(8.0, 32.0)
    (65.0, 16.0)
    """
    if low > 0.0 and high > 2.0 * low:
        return float((low * high) ** 0.5)
    return 0.5 * (low + high)
