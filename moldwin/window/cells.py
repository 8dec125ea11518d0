"""The chance at many set points and soaks at once, from where the verdicts change."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from moldwin.stages.melting import Barrel
from moldwin.window import judge

__all__ = ["chances"]


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

    Notes
    -----
    As the set point rises a high limit, once broken, stays broken, and below that a low limit, once
    it holds, goes on holding. (An open charge that boils dry grows stiff again, but not before its
    steam has broken a limit.) So each sample works on one unbroken stretch of set points, and
    halving finds both ends of it from a few of them. A test asks every set point by itself.
    """

    def hold(side: str, at: Any) -> Any:
        return judge.holds(barrel.margins(at, soaks, side=side))

    everywhere = np.full((1, len(soaks), barrel.bench.count), len(places))
    last = _turn(lambda at: ~hold("high", at), places, everywhere)
    first = _turn(lambda at: hold("low", at), places, last)
    return _shares(first[0], last[0], len(places))


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


def _shares(first: Any, last: Any, count: int) -> Any:
    """Share of samples (k, s) between whose ends each place lies, shape (count, k). [-]"""
    shares = []
    for begin, end in zip(first, last, strict=True):
        works = begin < end
        begun = np.bincount(begin[works], minlength=count + 1)
        ended = np.bincount(end[works], minlength=count + 1)
        shares.append(np.cumsum(begun - ended)[:count] / begin.size)
    return np.stack(shares, axis=1)
