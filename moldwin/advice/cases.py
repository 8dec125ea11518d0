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

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.advice.case_rows import case_job, numbers, read_cases
from moldwin.advice.remarks import remarks
from moldwin.advice.sharing import MANY, SOME
from moldwin.advice.situation import celsius, find
from moldwin.inputs.cards import Library
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
    "judge_case",
    "judge_cases",
    "tally",
]

#: Chance asked of the window a row that worked must lie in.
CONFIDENCE = 0.5
#: A printed temperature this far outside the window still counts as inside. [K]
NEAR_ENOUGH = 10.0

_COUNT = 512

#: The barrel limit behind a warning, and the share of samples from which it is raised.
_LIMITS = {
    "degradation": ("browning", SOME),
    "granules-unmelted": ("granules", SOME),
    "steam": ("steam", SOME),
    "too-stiff-to-fill": ("fill", MANY),
}


@dataclass(frozen=True)
class Verdict:
    """What the tool says of one row, beside what was printed.

    ``hit`` is ``None`` where nothing is judged. ``miss`` tells in words by how much a row was
    missed, ``short`` as a number: K beyond what is allowed, or share of samples lacking. ``works``
    is the share of samples in which the attempt works as far as it is judged. ``why`` is what had
    to be assumed, or why the row tells nothing.
    """

    judged: bool
    expected: str = ""
    got: str = ""
    hit: bool | None = None
    miss: str = ""
    short: float = 0.0
    why: str = ""
    works: float | None = None


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
    """How many judged rows, of how many sources, and how many of them hit. [-]"""

    rows: int
    sources: int
    hits: int

    @property
    def share(self) -> float:
        """Hits per judged row; NaN where nothing was judged."""
        return self.hits / self.rows if self.rows else float("nan")


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
    readings = max(len(row["recipe"].split(" or ")), len(numbers(row["pellets_pct"])))
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
        shipped = Library()  # what was published is judged by our cards, never by the user's own
        read = read_job(job, library=shipped)
        self.setup = Setup(Bench(read, count=count, library=shipped), CONFIDENCE)
        self.found = find(self.setup, float(read.pellets.moisture or 0.0))
        self.barrel = self.found.window.barrel

    def chance_at(self, at_c: float) -> float:
        """Chance at a set point with its best soak."""
        return float(np.interp(at_c + 273.15, self.barrel.grid, self.barrel.chances))

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
    works = min(look.chance_at(t) for t in numbers(row["at_c"]))
    low, high = celsius(look.barrel.low), celsius(look.barrel.high)
    if low is None or high is None:
        best = look.barrel.chance
        got = f"no window; best chance {best:.2f} at {celsius(look.barrel.best):.0f} °C"
        lacking = CONFIDENCE - best
        return _verdict(
            row, expected, got, lacking, f"the best chance is {lacking:.2f} too small", works
        )
    outside = max(max(low - t, t - high) for t in numbers(row["at_c"])) - NEAR_ENOUGH
    miss = f"{outside:.0f} K beyond the {NEAR_ENOUGH:.0f} K allowed"
    return _verdict(row, expected, f"{low:.0f} to {high:.0f} °C", outside, miss, works)


def _fails(row: Mapping[str, str], look: _Look) -> Verdict:
    """The limit of the printed reason, at the printed temperature if there is one."""
    code = row["expect"]
    if not row["at_c"] or code not in _LIMITS:
        return _raised(row, look)
    limit, enough = _LIMITS[code]
    share, got = _broken_at(row, look, limit)
    miss = f"{_percent(enough)} would raise it"
    return _verdict(row, code, got, enough - share, miss, 1.0 - share)


def _bears(row: Mapping[str, str], look: _Look) -> Verdict:
    limit, enough = _LIMITS["degradation"]
    share, got = _broken_at(row, look, limit)
    expected = f"no degradation at {row['at_c']} °C"
    miss = f"{_percent(enough)} raise the warning"
    return _verdict(row, expected, got, share - enough, miss, 1.0 - share)


def _raised(row: Mapping[str, str], look: _Look) -> Verdict:
    """Whether the expected warning is among those at the best setting."""
    code = row["expect"]
    silent = code not in look.codes
    got = f"{code} is {'not ' if silent else ''}raised"
    return _verdict(row, code, got, 1.0 if silent else 0.0, "silent", 1.0 if silent else 0.0)


_JUDGES: dict[str, Callable[[Mapping[str, str], _Look], Verdict]] = {
    "window": _window,
    "bears": _bears,
    "fails": _fails,
    "scope": _raised,
}


def _verdict(
    row: Mapping[str, str], expected: str, got: str, short: float, miss: str, works: float
) -> Verdict:
    hit = short <= 0.0
    return Verdict(True, expected, got, hit, "" if hit else miss, short, row["note"], works)


def _broken_at(row: Mapping[str, str], look: _Look, limit: str) -> tuple[float, str]:
    """Share of samples that a limit breaks at the hottest printed temperature, and in words."""
    at_c = numbers(row["at_c"])[-1]
    share = look.broken_share(limit, at_c, _stay(row))
    return share, f"{limit} broken in {_percent(share)} of the samples at {at_c:.0f} °C"


def _stay(row: Mapping[str, str]) -> float | None:
    """Longest printed time at the heat; none where none is printed. [s]"""
    times = numbers(row["hold_s"]) or numbers(row["stay_s"])
    return times[-1] if times else None


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
