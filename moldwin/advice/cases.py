"""Molding attempts of others, held against what the tool would have said of them.

Each row of ``material_cards/published/molding_cases.csv`` is one printed attempt. Its column
``judge`` says what the row can tell a ram press honestly:

- ``window``: it worked, so the printed temperature must lie in the window or within 10 K of it;
- ``bears``: it worked in another machine; only that the melt bears the heat is judged;
- ``fails``: it failed, so the limit of the printed reason must speak up;
- ``scope``: another material than ours; the tool must decline;
- ``no``: nothing can be judged, and the note says why.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import Any

import numpy as np

from moldwin.advice.remarks import remarks
from moldwin.advice.sharing import MANY, SOME
from moldwin.advice.situation import celsius, find
from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.judge import chance
from moldwin.window.windows import Setup

__all__ = [
    "CONFIDENCE",
    "NEAR_ENOUGH",
    "Case",
    "Tally",
    "Verdict",
    "case_job",
    "judge_case",
    "judge_cases",
    "read_cases",
    "tally",
    "thirds",
]

#: Chance asked of the window a row that worked must lie in.
CONFIDENCE = 0.5
#: A printed temperature this far outside the window still counts as inside. [K]
NEAR_ENOUGH = 10.0

_COUNT = 512

#: Presses that stand in where none is printed. What they leave out is the typical hand press.
_PRESSES: dict[str, dict[str, Any]] = {
    # held packed by the ram, nozzle against the mold
    "ram": {"sealed_nozzle": True},
    # a screw brings the melt to the nozzle at a pressure no hand press has
    "machine": {"sealed_nozzle": True, "plunger_diameter_mm": 20, "melt_pressure_mpa": 80},
    # a die is never shut: steam leaves as it forms
    "open die": {"sealed_nozzle": False},
}

#: The barrel limit behind a warning, and the share of samples from which it is raised.
_LIMITS = {
    "degradation": ("browning", SOME),
    "granules-unmelted": ("granules", SOME),
    "steam": ("steam", SOME),
    "too-stiff-to-fill": ("fill", MANY),
}

#: Sources our assumed values were already compared with when they were chosen: no test of those.
_SEEN_BEFORE = frozenset({"aldas2025", "okamurae2024", "tps-film"})


@dataclass(frozen=True)
class Verdict:
    """What the tool says of one row, beside what was printed.

    ``hit`` is ``None`` where nothing is judged. ``miss`` tells in words by how much a row was
    missed, ``short`` as a number: K beyond what is allowed, or share of samples lacking. ``why`` is
    what had to be assumed, or why the row tells nothing.
    """

    judged: bool
    expected: str = ""
    got: str = ""
    hit: bool | None = None
    miss: str = ""
    short: float = 0.0
    why: str = ""


@dataclass(frozen=True)
class Case:
    """A row with its verdict."""

    row: Mapping[str, str]
    verdict: Verdict

    @property
    def declined(self) -> bool:
        """True where the row is about another material, which the tool has to decline."""
        return self.row["judge"] == "scope"

    @property
    def sharp(self) -> bool:
        """True where sensible other values of what we assume could have turned the verdict."""
        return self.row["sharp"] == "yes"


@dataclass(frozen=True)
class Tally:
    """How many judged rows, of how many sources, and how many of them hit."""

    rows: int
    sources: int
    hits: int

    @property
    def share(self) -> float:
        """Hits per judged row; NaN where nothing was judged."""
        return self.hits / self.rows if self.rows else float("nan")


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
    path = shipped("material_cards") / "published" / "molding_cases.csv"
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


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
    recipes, moistures = row["recipe"].split(" or "), _numbers(row["pellets_pct"])
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


def judge_case(row: Mapping[str, str], count: int = _COUNT) -> Verdict:
    """Hold one row against the tool.

    Parameters
    ----------
    row : mapping
        One row of the table. [-]
    count : int
        Samples. [-]

    Returns
    -------
    Verdict
        The worst of the readings that the printed words allow: a hit must hold for all.

    Raises
    ------
    ValueError
        The row asks for a kind of verdict there is not.

    Notes
    -----
    Everything is read for the charge as printed, not for the conditioned one the page may prefer.
    At a printed temperature a limit speaks up from the share of samples that raises its warning,
    at the soak the tool would choose there. A printed time at the heat is used for browning alone,
    because without the barrel's bore it says nothing of how far the heat went in.
    """
    judge = _JUDGES.get(row["judge"])
    if row["judge"] == "no":
        return Verdict(False, why=row["note"])
    if judge is None:
        known = ", ".join([*_JUDGES, "no"])
        raise ValueError(f"{row['id']}: judge is {row['judge']!r}, allowed: {known}")
    readings = max(len(row["recipe"].split(" or ")), len(_numbers(row["pellets_pct"])))
    found = [judge(row, _Look(case_job(row, n), count)) for n in range(readings)]
    return max(found, key=lambda verdict: verdict.short)


def judge_cases(rows: Iterable[Mapping[str, str]] | None = None, count: int = _COUNT) -> list[Case]:
    """Every row with its verdict.

    Parameters
    ----------
    rows : iterable of mapping, optional
        Rows; left out, the whole table. [-]
    count : int
        Samples. [-]

    Returns
    -------
    list of Case
        In the order of the rows.
    """
    return [Case(row, judge_case(row, count)) for row in (read_cases() if rows is None else rows)]


def tally(cases: Iterable[Case]) -> Tally:
    """Count the judged among some cases.

    Examples
    --------
    >>> tally([Case({"source_key": "a"}, Verdict(True, hit=True)), Case({}, Verdict(False))])
    Tally(rows=1, sources=1, hits=1)
    """
    judged = [case for case in cases if case.verdict.judged]
    sources = {case.row["source_key"] for case in judged}
    return Tally(len(judged), len(sources), sum(bool(case.verdict.hit) for case in judged))


class _Look:
    """What the tool finds for one job, at the moisture it was given."""

    def __init__(self, job: Mapping[str, Any] | None, count: int) -> None:
        if job is None:
            raise ValueError("a row to be judged needs a recipe")
        read = read_job(job)
        self.setup = Setup(Bench(read, count=count), CONFIDENCE)
        self.found = find(self.setup, float(read.pellets.moisture or 0.0))
        self.barrel = self.found.window.barrel

    @cached_property
    def codes(self) -> set[str]:
        """Codes of every warning at the best setting."""
        return {remark.code for remark in remarks(self.setup, self.found, None)}

    def broken_share(self, limit: str, at_c: float, stay: float | None) -> float:
        """Share of samples that one limit breaks at a set point, soaked as the tool would."""
        t_set = at_c + 273.15
        soak = float(self.barrel.soaks[np.abs(self.barrel.grid - t_set).argmin()])
        if limit == "browning" and stay is not None:
            soak = stay
        margins = self.found.window.barrel_stage.margins(np.array([t_set]), np.array([soak]))
        return float(1.0 - np.max(chance({limit: margins[limit]})))


def _window(row: Mapping[str, str], look: _Look) -> Verdict:
    expected = f"a window that holds {row['at_c']} °C"
    low, high = celsius(look.barrel.low), celsius(look.barrel.high)
    if low is None or high is None:
        best = look.barrel.chance
        got = f"no window; best chance {best:.2f} at {celsius(look.barrel.best):.0f} °C"
        lacking = CONFIDENCE - best
        return _verdict(row, expected, got, lacking, f"the best chance is {lacking:.2f} too small")
    outside = max(max(low - t, t - high) for t in _numbers(row["at_c"])) - NEAR_ENOUGH
    miss = f"{outside:.0f} K beyond the {NEAR_ENOUGH:.0f} K allowed"
    return _verdict(row, expected, f"{low:.0f} to {high:.0f} °C", outside, miss)


def _fails(row: Mapping[str, str], look: _Look) -> Verdict:
    """The limit of the printed reason, at the printed temperature if there is one."""
    code = row["expect"]
    if not row["at_c"] or code not in _LIMITS:
        return _raised(row, look)
    limit, enough = _LIMITS[code]
    share, got = _broken_at(row, look, limit)
    return _verdict(row, code, got, enough - share, f"{_percent(enough)} would raise it")


def _bears(row: Mapping[str, str], look: _Look) -> Verdict:
    limit, enough = _LIMITS["degradation"]
    share, got = _broken_at(row, look, limit)
    expected = f"no degradation at {row['at_c']} °C"
    return _verdict(row, expected, got, share - enough, f"{_percent(enough)} raise the warning")


def _raised(row: Mapping[str, str], look: _Look) -> Verdict:
    """Whether the expected warning is among those at the best setting."""
    code = row["expect"]
    silent = code not in look.codes
    got = f"{code} is {'not ' if silent else ''}raised"
    return _verdict(row, code, got, 1.0 if silent else 0.0, "silent")


_JUDGES: dict[str, Callable[[Mapping[str, str], _Look], Verdict]] = {
    "window": _window,
    "bears": _bears,
    "fails": _fails,
    "scope": _raised,
}


def _verdict(row: Mapping[str, str], expected: str, got: str, short: float, miss: str) -> Verdict:
    hit = short <= 0.0
    return Verdict(True, expected, got, hit, "" if hit else miss, short, row["note"])


def _broken_at(row: Mapping[str, str], look: _Look, limit: str) -> tuple[float, str]:
    """Share of samples that a limit breaks at the hottest printed temperature, and in words."""
    at_c = _numbers(row["at_c"])[-1]
    share = look.broken_share(limit, at_c, _stay(row))
    return share, f"{limit} broken in {_percent(share)} of the samples at {at_c:.0f} °C"


def _ingredient(row: Mapping[str, str], part: str) -> dict[str, Any]:
    card, _, mass = part.strip().partition(" ")
    try:
        return {"card": card, "mass_g": float(mass)}
    except ValueError as error:
        raise ValueError(
            f"{row['id']}: {part.strip()!r} in the recipe is not a card and its mass"
        ) from error


def _stay(row: Mapping[str, str]) -> float | None:
    """Longest printed time at the heat; none where none is printed. [s]"""
    times = _numbers(row["hold_s"]) or _numbers(row["stay_s"])
    return times[-1] if times else None


def _numbers(text: str) -> list[float]:
    """The numbers of a cell such as ``"110 to 120"`` or ``"8 or 6"``."""
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
