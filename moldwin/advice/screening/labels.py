"""What is true of a recipe or is not, told from recipes of which it is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.screening.surface import Surface

__all__ = ["Labels"]

#: Shares this close to where a label turns leave it open (assumed).
_NEAR = 0.05
#: A surface through -1 and 1 leaves a label open between these (assumed).
_UNSURE = 0.7


@dataclass(frozen=True)
class _Turn:
    """A label that is true where one share lies between two others."""

    share: str
    low: float
    high: float

    def values(self, shares: Mapping[str, Any]) -> Any:
        """How far inside, in units of what leaves the label open: -1 to 1."""
        share = shares[self.share]
        return np.minimum(share - self.low, self.high - share) / _NEAR


class Labels:
    """Whether each label is true: sure, or open.

    Parameters
    ----------
    places : array, shape (n, d)
        Of the recipes known. [any]
    labels : sequence of sequence of str
        True of each. [-]
    shares : mapping of str to array, shape (n,)
        Shares of samples, one of which may be what decides a label. [-]

    Notes
    -----
    Most labels stand for a share above a limit, or between two. Where a share parts the recipes for
    which a label is true from the others without a single exception, it is taken to be that one;
    for other labels a surface is laid through -1 and 1.
    """

    def __init__(
        self, places: Any, labels: Sequence[Sequence[str]], shares: Mapping[str, Any]
    ) -> None:
        known = {name: None for of_one in labels for name in of_one}
        #: Every label seen, in the order in which labels are told.
        self.names = _in_order(labels, list(known))
        self._turns: dict[str, _Turn | None] = {}
        self._others: dict[str, Surface] = {}
        for name in self.names:
            true = np.array([name in of_one for of_one in labels])
            turn = None if true.all() else _turn(true, shares)
            if turn is None and not true.all():
                self._others[name] = Surface(places, np.where(true, 1.0, -1.0)[:, None])
            else:  # no turn: true of all
                self._turns[name] = turn

    def at(self, places: Any, shares: Mapping[str, Any]) -> Any:
        """How sure each label is, shape (n, labels): above 0 likelier true, -1 to 1 open. [-]"""
        count = len(places)
        found = np.empty((count, len(self.names)))
        for column, name in enumerate(self.names):
            if name in self._others:
                found[:, column] = self._others[name].at(places)[:, 0] / _UNSURE
            else:
                turn = self._turns[name]
                found[:, column] = np.inf if turn is None else turn.values(shares)
        return found


def _in_order(labels: Sequence[Sequence[str]], names: list[str]) -> list[str]:
    """By where a label stands on average among those told with it."""
    stands: dict[str, list[int]] = {name: [] for name in names}
    for of_one in labels:
        for place, name in enumerate(of_one):
            stands[name].append(place)
    return sorted(names, key=lambda name: (float(np.mean(stands[name])), name))


def _turn(true: Any, shares: Mapping[str, Any]) -> _Turn | None:
    """The share that parts the recipes and leaves the fewest of them open; None where none does."""
    found = []
    for name, share in shares.items():
        inside, outside = share[true], share[~true]
        low, high = float(inside.min()), float(inside.max())
        if np.isnan(share).any() or ((outside >= low) & (outside <= high)).any():
            continue
        below = float(outside[outside < low].max(initial=-np.inf))
        above = float(outside[outside > high].min(initial=np.inf))
        turn = _Turn(name, 0.5 * (below + low), 0.5 * (high + above))
        open_ones = int(np.count_nonzero(np.abs(turn.values(shares)) < 1.0))
        found.append((open_ones, name, turn))
    return min(found, key=lambda one: one[:2])[2] if found else None
