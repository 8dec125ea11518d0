"""The table of molding attempts of others: its rows, which of them are held out, and their jobs.

The columns beside the printed facts say what was made of them: a recipe by cards, the water where
it is not printed, and the kind of press that stands in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

from moldwin.advice.evidence.tables import published

__all__ = ["case_job", "numbers", "read_cases", "thirds"]

#: Presses that stand in where none is printed. What they leave out is the typical hand press.
_PRESSES: dict[str, dict[str, Any]] = {
    # held packed by the ram, nozzle against the mold
    "ram": {"sealed_nozzle": True},
    # a screw brings the melt to the nozzle at a pressure no hand press has
    "machine": {"sealed_nozzle": True, "plunger_diameter_mm": 20, "melt_pressure_mpa": 80},
    # a die is never shut: steam leaves as it forms
    "open die": {"sealed_nozzle": False},
}

#: Sources our assumed values were already compared with when they were chosen: no test of those.
_SEEN_BEFORE = frozenset({"aldas2025", "okamurae2024", "tps-film"})


def read_cases() -> list[dict[str, str]]:
    """The published attempts as text, in the order of the table.

    Returns
    -------
    list of dict
        One per attempt. [°C, MPa, s and mass fractions, as printed]

    Examples
    --------
    >>> read_cases()[0]["barrel_low_c"]
    '110'
    """
    return published("molding_cases.csv")


def thirds(rows: Iterable[Mapping[str, str]]) -> dict[str, str]:
    """Which sources may be tuned on and which are held out: a third of them, by hash.

    Drawn twice, among the sources with a verdict on windows and limits and among the others, so
    that the held-out third is not made of rows that tell nothing. Sources that our assumed values
    were compared with when they were chosen cannot be held out any more.

    Parameters
    ----------
    rows : iterable of mapping
        Rows of the table. [-]

    Returns
    -------
    dict of str to str
        ``"tuning"`` or ``"held-out"`` by ``source_key``.

    Examples
    --------
    >>> split = thirds([{"source_key": key, "judge": "no"} for key in "abcdef"])
    >>> sorted(split.values()).count("held-out")
    2
    """
    rows = list(rows)
    everyone = {row["source_key"] for row in rows}
    telling = {row["source_key"] for row in rows if row["judge"] in ("window", "bears", "fails")}
    split = dict.fromkeys(sorted(everyone), "tuning")
    for group in (telling, everyone - telling):
        unseen = sorted(group - _SEEN_BEFORE, key=lambda k: sha256(k.encode()).hexdigest())
        split.update(dict.fromkeys(unseen[: round(len(group) / 3)], "held-out"))
    return split


def case_job(row: Mapping[str, str], reading: int = 0) -> dict[str, Any] | None:
    """The job a row amounts to.

    Parameters
    ----------
    row : mapping
        One row. Masses are as printed; water that is not printed is in ``pellets_pct``. [-]
    reading : int
        Which reading of the printed words, where they allow more than one. [-]

    Returns
    -------
    dict or None
        Tables as in a job file; ``None`` where the row does not tell enough.

    Raises
    ------
    ValueError
        The recipe or the press of the row cannot be read.

    Examples
    --------
    >>> job = case_job(read_cases()[0], reading=1)
    >>> [(row["card"], row["mass_g"]) for row in job["ingredient"]]
    [('cassava-starch', 50.0), ('glycerol', 50.0)]
    """
    if not row["recipe"]:
        return None
    if row["press"] not in _PRESSES:
        raise ValueError(f"{row['id']}: press is {row['press']!r}, allowed: {', '.join(_PRESSES)}")
    recipes, moistures = row["recipe"].split(" or "), numbers(row["pellets_pct"])
    return {
        "title": f"{row['id']}: {row['material']}",
        "ingredient": [
            _ingredient(row, part) for part in recipes[reading % len(recipes)].split("+")
        ],
        "blend": {"cooked": row["cooked"] == "yes"},
        "pellets": {
            "moisture_pct": moistures[reading % len(moistures)],
            "moisture_u_pct": float(row["pellets_u_pct"]),
        },
        "press": dict(_PRESSES[row["press"]]),
    }


def numbers(text: str) -> list[float]:
    """The numbers of a cell.

    Parameters
    ----------
    text : str
        As printed. [-]

    Returns
    -------
    list of float
        In the unit of the cell's column. [-]

    Examples
    --------
    >>> numbers("110 to 120"), numbers("8 or 6")
    ([110.0, 120.0], [8.0, 6.0])
    """
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


def _ingredient(row: Mapping[str, str], part: str) -> dict[str, Any]:
    card, _, mass = part.strip().partition(" ")
    try:
        return {"card": card, "mass_g": float(mass)}
    except ValueError as error:
        raise ValueError(
            f"{row['id']}: {part.strip()!r} in the recipe is not a card and its mass"
        ) from error
