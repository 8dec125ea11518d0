"""Surfaces through a table of recipes: which rows are worked out, and how far off the others are.

Some hundred rows are worked out as ever, surfaces are laid through them, and other rows, worked out
as well, say how far off the surfaces are. Where that is too far more rows are worked out, and where
it stays so no surface is used.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from moldwin.advice.screening.between import MADE, Between
from moldwin.advice.screening.check import Check, check
from moldwin.advice.screening.groups import Group, Key, Sorter, survey
from moldwin.advice.screening.look import Look
from moldwin.advice.screening.surface import spread_out

__all__ = ["COMPUTED", "INTERPOLATED", "Laid", "Reported", "lay"]

#: What stands in the column of how a row was made.
COMPUTED, INTERPOLATED = "computed", "interpolated"

#: Rows worked out for one group, step by step; and others beside them that say how far off it is.
_STEPS = (256, 512, 1024, 2048)
_HELD_OUT = 160
#: A group is worth surfaces where that takes at most this share of its rows.
_WORTH = 0.25
#: Corners of what is looked through that are read to see whether jobs are valid there.
_MOST_CORNERS = 1024
_MOISTURE = "pellets.moisture_pct"

#: Works out many rows, in their order.
Compute = Callable[[Sequence[Sequence[Any]]], Sequence[Look | None]]


@dataclass(frozen=True)
class Reported:
    """What came of one group.

    Parameters
    ----------
    rows : int
        How many it has. [-]
    through : int
        Rows worked out that the surfaces go through. [-]
    check : Check or None
        How far off they are; None where none were laid. [-]
    used : bool
        Whether they are used. [-]
    why : str
        Why not. [-]
    """

    rows: int
    through: int
    check: Check | None
    used: bool
    why: str = ""

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return asdict(self)


class Laid:
    """Surfaces for the groups of a table that bear them.

    Parameters
    ----------
    columns : sequence of str
        Of the table. [-]
    groups : mapping of tuple to tuple
        Surfaces of each group, and its reach. [-]
    reported : list of Reported
        What came of each group looked at. [-]
    """

    def __init__(
        self,
        columns: Sequence[str],
        groups: dict[Key, tuple[Between, Group, float]],
        reported: list[Reported],
    ) -> None:
        self.columns = tuple(columns)
        self.reported = reported
        self._groups = groups
        self._sorter = Sorter(columns)

    def answers(
        self, rows: Sequence[Sequence[Any]], compute: Callable[[Sequence[Any]], dict[str, Any]]
    ) -> list[dict[str, Any]]:
        """Answers of rows, each from its surface, or by ``compute`` where there is none for it.

        Parameters
        ----------
        rows : sequence of sequence
            Cells. [as the keys say]
        compute : callable
            Works out one row. [-]

        Returns
        -------
        list of dict
            By dotted key. [as the keys say]
        """
        found: list[dict[str, Any] | None] = [None] * len(rows)
        members: dict[Key, list[tuple[int, tuple[float, ...]]]] = {}
        for i, cells in enumerate(rows):
            key, numbers = self._sorter.of(cells) or ((), ())
            if key in self._groups and self._groups[key][1].holds(numbers):
                members.setdefault(key, []).append((i, numbers))
        for key, some in members.items():
            between, _, moisture = self._groups[key]
            places = np.array([numbers for _, numbers in some])
            names = self._sorter.named(key)
            now = np.full(len(places), moisture)
            if _MOISTURE in names:  # there and back, as for a row that is worked out
                now = 100.0 * (places[:, names.index(_MOISTURE)] / 100.0)
            for (i, _), answer in zip(some, between.answers(places, now), strict=True):
                found[i] = None if answer is None else answer | {MADE: INTERPOLATED}
        return [
            compute(cells) | {MADE: COMPUTED} if answer is None else answer
            for cells, answer in zip(rows, found, strict=True)
        ]


def lay(
    columns: Sequence[str],
    rows: Iterable[Sequence[Any]],
    compute: Compute,
    valid: Callable[[Sequence[Any]], bool],
    *,
    samples: int,
    confidence: float,
    seed: int,
) -> Laid:
    """Look through a table once, work some of its rows out, and lay surfaces through them.

    Parameters
    ----------
    columns : sequence of str
        Dotted job keys. [-]
    rows : iterable of sequence
        Cells of every row; gone through once. [as the keys say]
    compute : callable
        Works out some rows. [-]
    valid : callable
        Whether a row is a job at all. [-]
    samples, seed : int
        Of the draws; the seed is that of the choice of rows, too. [-]
    confidence : float
        Chance asked of a window. [-]

    Returns
    -------
    Laid
        The same for the same table and seed. [-]
    """
    sorter = Sorter(columns)
    groups, reported = {}, []
    for key, group in survey(sorter, rows, seed).items():
        found, report = _laid(sorter, key, group, compute, valid, samples, confidence, seed)
        reported.append(report)
        if found is not None:
            groups[key] = found
    return Laid(columns, groups, reported)


def _laid(
    sorter: Sorter,
    key: Key,
    group: Group,
    compute: Compute,
    valid: Callable[[Sequence[Any]], bool],
    samples: int,
    confidence: float,
    seed: int,
) -> tuple[tuple[Between, Group, float] | None, Reported]:
    """Surfaces of one group, more and more of its rows worked out."""
    if group.count * _WORTH < _STEPS[0] + _HELD_OUT:
        return None, Reported(group.count, 0, None, False, "too few rows to be worth it")
    if not all(valid(sorter.cells(key, corner)) for corner in _corners(group, seed)):
        return None, Reported(group.count, 0, None, False, "some of what lies between is no job")
    drawn = list(dict.fromkeys(group.kept))
    random.Random(seed).shuffle(drawn)
    held, others = np.array(drawn[:_HELD_OUT]), np.array(drawn[_HELD_OUT:])
    if len(others) < _STEPS[0]:
        return None, Reported(group.count, 0, None, False, "too few rows that differ")

    def looks(places: Any) -> list[Look | None]:
        return list(compute([sorter.cells(key, numbers) for numbers in places]))

    reach = np.maximum(np.ptp(others, axis=0), 1e-300)
    order = spread_out(others / reach, _STEPS[-1])
    tested = looks(held)
    known: list[Look | None] = []
    report = Reported(group.count, 0, None, False, "too few rows that differ")
    for step in _STEPS:
        if step > len(order) or step + _HELD_OUT > group.count * _WORTH:
            break
        known += looks(others[order[len(known) : step]])
        if any(look is None for look in (*known, *tested)) or not _alike([*known, *tested]):
            why = "answers of these rows are not made of the same parts"
            return None, Reported(group.count, step, None, False, why)
        exact = [look for look in known if look is not None]
        between = Between(others[order[:step]], exact, samples=samples, confidence=confidence)
        moisture = float(exact[0].answer["moisture.now_pct"])
        # answers of the rows held out, by the very way of any other row
        laid = Laid(sorter.columns, {key: (between, group, moisture)}, [])
        read = laid.answers([sorter.cells(key, numbers) for numbers in held], lambda _: {})
        found = check([look for look in tested if look is not None], read)
        report = Reported(group.count, step, found, found.passed, "" if found.passed else found.why)
        if found.passed:
            return (between, group, moisture), report
    return None, report


def _alike(looks: Sequence[Look | None]) -> bool:
    """Whether all are made of the same numbers: a limit that only some have is no surface."""
    parts = {
        (
            len(look.now.grid),
            float(look.now.grid.sum()),
            tuple(look.now.places),
            tuple(look.now.after),
            tuple(sorted(look.now.shares)),
        )
        for look in looks
        if look is not None
    }
    return len(parts) == 1


def _corners(group: Group, seed: int) -> Iterator[tuple[float, ...]]:
    """Where bounds between several keys would be broken first."""
    ends = list(zip(group.low, group.high, strict=True))
    if 2 ** len(ends) <= _MOST_CORNERS:
        yield from itertools.product(*ends)
        return
    lot = random.Random(seed)
    for _ in range(_MOST_CORNERS):
        yield tuple(pair[lot.random() < 0.5] for pair in ends)
