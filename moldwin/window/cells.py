"""Chances and limits at many set points at once, from where the verdicts change."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from typing import Any

import numpy as np

from moldwin.stages.melting import Barrel
from moldwin.window import judge
from moldwin.window.edges import median_crossing

__all__ = ["Stretch", "chances", "median_limits"]


def chances(barrel: Barrel, places: Any, soaks: Any) -> Any:
    """Chance at every set point and soak, equal to that of the margins of every single one.

    Parameters
    ----------
    barrel : Barrel
        One material state in its barrel. [-]
    places : array, shape (t,)
        Rising set points. [K]
    soaks : array, shape (k,)
        Soaks. [s]

    Returns
    -------
    array, shape (t, k)
        Share of samples that every limit holds for. [-]
    """
    return Stretch(barrel, places, soaks).chances()


class Stretch:
    """The stretch of set points on which each sample works, for each soak.

    Parameters
    ----------
    barrel : Barrel
        One material state in its barrel. [-]
    places : array, shape (t,)
        Rising set points. [K]
    soaks : array, shape (k,)
        Soaks. [s]

    Notes
    -----
    As the set point rises a high limit, once broken, stays broken, and below that a low limit, once
    it holds, goes on holding. (An open charge that boils dry grows stiff again, but not before its
    steam has broken a limit.) So each sample works on one unbroken stretch of set points, and
    halving finds both ends of it from a few of them. A test asks every set point by itself.
    """

    def __init__(self, barrel: Barrel, places: Any, soaks: Any) -> None:
        def hold(side: str, at: Any) -> Any:
            return judge.holds(barrel.margins(at, soaks, side=side))

        everywhere = np.full((1, len(soaks), barrel.bench.count), len(places))
        self._count = len(places)
        self._last = _turn(lambda at: ~hold("high", at), places, everywhere)[0]
        self._first = _turn(lambda at: hold("low", at), places, self._last[None])[0]

    def chances(self, also: Any = True) -> Any:
        """Share of samples that every limit holds for, and ``also`` (s,), shape (t, k). [-]"""
        return _shares(self._first, self._last, self._count, also)

    def part(self, which: slice) -> Stretch:
        """The same for some of the samples."""
        some = copy(self)
        some._first, some._last = self._first[:, which], self._last[:, which]
        return some

    def chances_with(self, also: Any) -> Any:
        """The same where ``also`` differs from set point to set point, shape (t, s)."""
        return np.stack(
            [
                ((self._first <= i) & (i < self._last) & holds).mean(axis=-1)
                for i, holds in enumerate(also)
            ]
        )


def median_limits(barrel: Barrel, places: Any, soak: Any) -> dict[str, tuple[str, float]]:
    """Side of each limit, and the median set point at which it binds at one soak.

    Parameters
    ----------
    barrel : Barrel
        One material state in its barrel. [-]
    places : array, shape (t,)
        Rising set points. [K]
    soak : array, shape (1,)
        The soak. [s]

    Returns
    -------
    dict of str to (str, float)
        ``"low"`` or ``"high"`` [-], and what `median_crossing` says of the margins at all the
        places [K].

    Notes
    -----
    A limit turns once, so halving finds the two places about the middle one of all samples; no
    others have to be known. Not so the low side of an open charge, which grows stiff again as it
    boils dry: there every place is looked at.
    """
    found: dict[str, tuple[str, float]] = {}
    for side in ("low", "high"):
        medians = _halved if barrel.sealed or side == "high" else _read
        rows = _Rows(barrel, soak, side)
        found |= {name: (side, at) for name, at in medians(rows, places).items()}
    return found


def _read(rows: _Rows, places: Any) -> dict[str, float]:
    """Median set points by the margins at every place. [K]"""
    every = rows.at(places)
    return {
        name: median_crossing(places, np.stack([row[name] for row in every]), rows.side)
        for name in every[0]
    }


def _halved(rows: _Rows, places: Any) -> dict[str, float]:
    """The same by the margins at the places where halving leads for one of the limits. [K]"""
    names = list(rows.at(places[:1])[0])
    middle = int(np.quantile(np.arange(rows.count), 0.5, method="nearest"))
    asked = middle + 1 if rows.side == "low" else rows.count - middle

    def turned(at: Any) -> Any:
        """For each of the names whether it has turned, each at a place of its own."""
        pairs = zip(names, rows.at(at), strict=True)
        held = np.array([np.count_nonzero(row[name] > 0) for name, row in pairs])
        return (held >= asked) == (rows.side == "low")

    first = _turn(turned, places, np.full(len(names), len(places)))
    found = {}
    for name, i in zip(names, np.clip(first, 1, len(places) - 1), strict=True):
        about = places[i - 1 : i + 1]
        margins = np.stack([row[name] for row in rows.at(about)])
        found[name] = median_crossing(about, margins, rows.side)
    return found


class _Rows:
    """Margins of one side at one soak, each set point worked out once."""

    def __init__(self, barrel: Barrel, soak: Any, side: str) -> None:
        self.side, self.count = side, barrel.bench.count
        self._barrel, self._soak = barrel, soak
        self._known: dict[float, dict[str, Any]] = {}

    def at(self, places: Any) -> list[dict[str, Any]]:
        """Margin of each limit, shape (s,), for each of the places (t,)."""
        new = np.array([place for place in np.unique(places) if place not in self._known])
        margins = self._barrel.margins(new, self._soak, side=self.side) if new.size else {}
        for name, margin in margins.items():
            whole = np.broadcast_to(margin, (new.size, 1, self.count))[:, 0]
            for place, row in zip(new, whole, strict=True):
                self._known.setdefault(place, {})[name] = row
        return [self._known[place] for place in places]


def _turn(turned: Callable[[Any], Any], places: Any, end: Any) -> Any:
    """Index of the first place before ``end`` from which on it has turned, else ``end`` itself."""
    below, above = np.zeros_like(end), end
    for _ in range(len(places).bit_length()):
        middle = (below + above) // 2
        yes = turned(places[np.minimum(middle, len(places) - 1)])
        # where the index is found already, a step changes nothing
        below, above = (
            np.where(yes, below, np.minimum(middle + 1, above)),
            np.where(yes, middle, above),
        )
    return above


def _shares(first: Any, last: Any, count: int, also: Any) -> Any:
    """Share of samples (k, s) between whose ends each place lies, shape (count, k). [-]

    Of them only those count for which ``also`` holds, shape (s,) or one for all.
    """
    shares = []
    for begin, end in zip(first, last, strict=True):
        works = (begin < end) & also
        begun = np.bincount(begin[works], minlength=count + 1)
        ended = np.bincount(end[works], minlength=count + 1)
        shares.append(np.cumsum(begun - ended)[:count] / begin.size)
    return np.stack(shares, axis=1)
