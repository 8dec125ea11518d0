"""Where a chance crosses the asked confidence, and where each sample meets a limit."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = [
    "at_best_soak",
    "best_index",
    "crossing",
    "median_crossing",
    "unbroken",
    "wide_enough",
]

#: Chances this close, as a share of the best, are the same for the choice of a setting.
_SAME = 0.01


def at_best_soak(cells: Any) -> tuple[Any, Any]:
    """Chance at each set point's best soak, and which soak that is.

    Parameters
    ----------
    cells : array, shape (t, k)
        Chance by set point and soak. [-]

    Returns
    -------
    tuple of two arrays, shape (t,)
        Chance, and index of the soak: the shortest of those that are as good. [-]

    Examples
    --------
    >>> at_best_soak(np.array([[0.1, 0.4, 0.4], [0.9, 0.8, 0.2]]))
    (array([0.4, 0.9]), array([1, 0]))
    """
    by_soak = cells.argmax(axis=1)
    return cells[np.arange(len(cells)), by_soak], by_soak


def best_index(chance: Any, same: float = _SAME) -> int:
    """Middle of the stretch whose chance is as good as the best.

    Parameters
    ----------
    chance : array, shape (n,)
        Chance along one axis. [-]
    same : float
        Chances this close count as the same, as a share of the best. [-]

    Returns
    -------
    int
        Index. [-]

    Examples
    --------
    >>> best_index(np.array([0.1, 0.9, 0.9, 0.9, 0.2]))
    2
    """
    top = int(np.argmax(chance))
    good = chance >= chance[top] * (1.0 - same)
    low = high = top
    while low > 0 and good[low - 1]:
        low -= 1
    while high < len(chance) - 1 and good[high + 1]:
        high += 1
    return (low + high) // 2


def unbroken(at: Any, chance: Any, best: int, confidence: float) -> tuple[float, float] | None:
    """The stretch round ``best`` where the chance stays at the confidence, ends by straight lines.

    Parameters
    ----------
    at, chance : array, shape (n,)
        Rising positions [any] and the chance there [-].
    best : int
        Index the stretch must hold. [-]
    confidence : float
        Asked chance. [-]

    Returns
    -------
    tuple of float, or None
        Low and high end, ``None`` where the best itself falls short. [as ``at``]

    Examples
    --------
    >>> unbroken(np.array([0.0, 1.0, 2.0]), np.array([0.5, 1.0, 0.75]), 1, 0.75)
    (0.5, 2.0)
    """
    if chance[best] < confidence:
        return None
    low = high = best
    while low > 0 and chance[low - 1] >= confidence:
        low -= 1
    while high < len(at) - 1 and chance[high + 1] >= confidence:
        high += 1

    def end(inside: int, outside: int) -> float:
        if not 0 <= outside < len(at):
            return float(at[inside])
        step = (chance[inside] - confidence) / (chance[inside] - chance[outside])
        return float(at[inside] + step * (at[outside] - at[inside]))

    return end(low, low - 1), end(high, high + 1)


def wide_enough(low: float, high: float, least: float) -> tuple[float, float] | None:
    """Both ends, or nothing where they are closer than can be set.

    Parameters
    ----------
    low, high : float
        Ends of a window. [any]
    least : float
        How finely it can be set. [as the ends]

    Returns
    -------
    tuple of float, or None
        The ends. [as they came]

    Examples
    --------
    >>> wide_enough(390.0, 396.0, 2.0), wide_enough(390.0, 390.5, 2.0)
    ((390.0, 396.0), None)
    """
    return (low, high) if high - low >= least else None


def crossing(at: Any, margin: Any, side: str) -> Any:
    """Where each sample's margin passes zero along the first axis.

    Parameters
    ----------
    at : array, shape (n,)
        Rising positions. [any]
    margin : array, shape (n, s)
        Margins; falling for a high limit, rising for a low one. [any]
    side : str
        ``"low"`` or ``"high"``. [-]

    Returns
    -------
    array, shape (s,)
        Position; -inf or inf where the limit is met everywhere or nowhere. [as ``at``]

    Examples
    --------
    >>> crossing(np.array([0.0, 10.0]), np.array([[-1.0], [1.0]]), "low").tolist()
    [5.0]
    """
    margin = np.asarray(margin, dtype=float)
    if side == "high":
        return -crossing(-at[::-1], margin[::-1], "low")
    fine = margin > 0
    # a low limit counts as met only where it stays met to the top of the range
    broken_above = (~fine)[::-1].argmax(axis=0)
    never_broken = fine.all(axis=0)
    last_broken = len(at) - 1 - broken_above
    column = np.arange(margin.shape[1])
    i = np.clip(last_broken, 0, len(at) - 2)
    m0, m1 = margin[i, column], margin[i + 1, column]
    with np.errstate(invalid="ignore", divide="ignore"):
        found = at[i] + (0.0 - m0) / (m1 - m0) * (at[i + 1] - at[i])
    found = np.where(np.isfinite(found), found, at[i + 1])
    found = np.where(last_broken == len(at) - 1, np.inf, found)
    return np.where(never_broken, -np.inf, found)


def median_crossing(at: Any, margin: Any, side: str) -> float:
    """Where the middle one of all samples meets a limit, by `crossing`.

    Parameters
    ----------
    at : array, shape (n,)
        Rising positions. [any]
    margin : array, shape (n, s)
        Margins; falling for a high limit, rising for a low one. [any]
    side : str
        ``"low"`` or ``"high"``. [-]

    Returns
    -------
    float
        Position of one sample, no mean of two: one of them may be infinite. [as ``at``]

    Examples
    --------
    >>> margin = np.array([[-1.0, -1.0, -9.0], [1.0, 3.0, -8.0]])
    >>> median_crossing(np.array([0.0, 10.0]), margin, "low")
    5.0
    """
    return float(np.quantile(crossing(at, margin, side), 0.5, method="nearest"))
