"""Samples of one number as a card states them, and how they compare with what was known before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.base.normal import normal_strata
from moldwin.base.percentiles import Triple, triple
from moldwin.base.quantities import Quantity
from moldwin.learn.posterior import UNTOUCHED

__all__ = ["Learnt", "by_rank", "changed", "compared", "possible"]

#: Written to the card: narrower than this, or moved by so much of the prior's spread.
_WRITTEN, _SHIFTED = 0.97, 0.15
#: A good part: about a third of a standard deviation.
_PART = 0.2
_Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Learnt:
    """One number of a card.

    Parameters
    ----------
    key, unit : str
        As in the card. [-]
    before, after : Triple
        5th, 50th and 95th percentile. [``unit``]
    ratio : float
        Spread after over spread before. [-]
    quantity : Quantity
        As the fitted card will state it. [``unit``]
    data : str
        What it was learned from. [-]
    """

    key: str
    unit: str
    before: Triple
    after: Triple
    ratio: float
    quantity: Quantity
    data: str

    @property
    def narrowed(self) -> bool:
        """Whether the data taught it."""
        return self.ratio <= UNTOUCHED

    @property
    def moved(self) -> bool:
        """Whether its likely value went a good part of the way to an end of its interval."""
        way = self.after.likely - self.before.likely
        end = self.before.high if way > 0.0 else self.before.low
        return abs(way) > _PART * abs(end - self.before.likely)


def compared(key: str, quantity: Quantity, before: Any, after: Any, data: str) -> Learnt:
    """A number before and after.

    Parameters
    ----------
    key : str
        As in the card. [-]
    quantity : Quantity
        As the card behind states it. [its own]
    before, after : array, shape (s,)
        Its samples. [as ``quantity``]
    data : str
        What it was learned from. [-]

    Returns
    -------
    Learnt
        [as ``quantity``]
    """
    old, new = _straight(quantity, before), _straight(quantity, after)
    ratio = float(new.std() / max(old.std(), 1e-12))
    stated = _stated(quantity, after)
    return Learnt(key, quantity.unit, triple(before), triple(after), ratio, stated, data)


def changed(quantity: Quantity, before: Any, after: Any) -> bool:
    """Whether the samples say more than they did.

    Parameters
    ----------
    quantity : Quantity
        Whose samples. [-]
    before, after : array, shape (s,)
        Its samples. [the quantity's]

    Returns
    -------
    bool
        True where they moved or narrowed. [-]
    """
    old, new = _straight(quantity, before), _straight(quantity, after)
    ratio = new.std() / max(old.std(), 1e-12)
    return bool(ratio < _WRITTEN or abs(new.mean() - old.mean()) > _SHIFTED * old.std())


def by_rank(samples: Any) -> Any:
    """Normal scores by rank.

    Parameters
    ----------
    samples : array, shape (s,)
        Any samples. [any]

    Returns
    -------
    array, shape (s,)
        Scores. [-]
    """
    return normal_strata(samples.size)[samples.argsort(kind="stable").argsort(kind="stable")]


def possible(matrix: Any) -> Any:
    """The nearest matrix, drawn in toward none at all, that numbers can correlate like.

    Parameters
    ----------
    matrix : array, shape (n, n)
        Correlations, each a good one by itself. [-]

    Returns
    -------
    array, shape (n, n)
        With every eigenvalue above 0. [-]

    Examples
    --------
    >>> possible(np.array([[1.0, 1.0], [1.0, 1.0]])).round(2).tolist()
    [[1.0, 0.98], [0.98, 1.0]]
    """
    apart = np.eye(len(matrix))
    for keep in np.linspace(1.0, 0.0, 51):
        found = keep * matrix + (1.0 - keep) * apart
        if np.linalg.eigvalsh(found)[0] > 1e-3:
            break
    return found


def _straight(quantity: Quantity, samples: Any) -> Any:
    """The samples where their law is straight."""
    by_ratio = quantity.factor is not None or quantity.log
    return np.log(samples) if by_ratio else samples


def _stated(quantity: Quantity, samples: Any) -> Quantity:
    """The samples as a card states them, with the likely value and the 90 % interval they have."""
    bare = replace(quantity, u=None, low=None, high=None, factor=None, log=False)
    if quantity.factor is not None:
        ln = np.log(samples)
        factor = max(float(np.exp(_Z90 * ln.std())), 1.001)
        return replace(bare, value=float(np.exp(ln.mean())), factor=factor)
    if quantity.u is not None:
        value, u = float(np.median(samples)), float(samples.std())
        return replace(bare, value=value, u=u, low=quantity.low, high=quantity.high)
    now, log = triple(samples), quantity.log
    to, back = (np.log, np.exp) if log else (np.asarray, np.asarray)
    # a range holds nine tenths of its samples within nine tenths of its width, either side
    low, likely, high = to([now.low, now.likely, now.high])
    low, high = back(likely - (likely - low) / 0.9), back(likely + (high - likely) / 0.9)
    floor = quantity.floor if quantity.low is None else quantity.low
    ceiling = quantity.ceiling if quantity.high is None else quantity.high
    return replace(
        bare, value=now.likely, low=float(max(low, floor)), high=float(min(high, ceiling)), log=log
    )
