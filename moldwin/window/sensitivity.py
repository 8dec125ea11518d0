"""Which unknown widens the answer: first-order Sobol' indices from the draws already made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.stages.bench import Bench

__all__ = ["Influence", "first_order", "influences"]

_BINS = 32


@dataclass(frozen=True)
class Influence:
    """One unknown and the share of the answer's variance it alone explains. [-]"""

    name: str
    share: float


def first_order(scores: Any, answer: Any, bins: int = _BINS) -> float:
    """First-order Sobol' index of one input from given samples.

    The variance of the answer's mean over slices of the input, less what slices of nothing but
    noise would show.

    Parameters
    ----------
    scores : array, shape (s,)
        The input, any monotone transform of it. [any]
    answer : array, shape (s,)
        The answer. [any]
    bins : int
        Slices of equal count. [-]

    Returns
    -------
    float
        Between 0 and 1. [-]

    References
    ----------
    E. Plischke, Reliab. Eng. Syst. Saf. 95 (2010) 354 (given-data estimate; bias term our own).

    Examples
    --------
    >>> z = np.random.default_rng(1).normal(size=(2, 4096))
    >>> print(f"{first_order(z[0], 3.0 * z[0] + z[1]):.1f}")
    0.9
    """
    scores, answer = np.asarray(scores, dtype=float), np.asarray(answer, dtype=float)
    total = answer.var()
    bins = min(bins, max(2, answer.size // 16))
    if total == 0.0 or np.ptp(scores) == 0.0:
        return 0.0
    slices = np.array_split(answer[np.argsort(scores, kind="stable")], bins)
    sizes = np.array([part.size for part in slices])
    means = np.array([part.mean() for part in slices])
    between = float(sizes @ (means - answer.mean()) ** 2) / answer.size
    share = between / total
    noise = (bins - 1) / (answer.size - 1)
    return float(np.clip((share - noise) / (1.0 - noise), 0.0, 1.0))


def influences(bench: Bench, answer: Any, kept: Any, most: int = 6) -> list[Influence]:
    """The unknowns that explain most of an answer's variance.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    answer : array, shape (k,)
        The answer of the samples that are kept. [any]
    kept : array of bool, shape (s,)
        Which samples those are. [-]
    most : int
        How many to name. [-]

    Returns
    -------
    list of Influence
        Largest first; unknowns below 2 % are left out. [-]
    """
    found = []
    for column in sorted(set(bench.columns.values())):
        share = first_order(bench.draws.scores(column)[kept], answer)
        if share >= 0.02:
            found.append(Influence(column, share))
    return sorted(found, key=lambda i: -i.share)[:most]
