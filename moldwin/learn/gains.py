"""What an experiment would teach, from the samples alone.

For numbers, such as the ends of the window, the samples are laid through by straight lines: every
experiment becomes a few readings, foreseen at each sample, with the scatter about them, and what
is left of a target's variance is what no line through the readings explains. For choices some of
the samples are taken for the truth, one after the other: each tells what its trial would show, and
all others are weighed by how well that fits them. The same samples stand behind every experiment,
so that experiments are compared and not luck.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.learn.outcomes import Foreseen, Seen, field_log_likelihoods

__all__ = [
    "StraightLines",
    "Tells",
    "expected_best_chance",
    "expected_success",
    "reweighed",
    "told_by",
]

#: Below this margin, ln of pressure, next to nothing of the part fills.
_NOTHING = -3.0
#: Bends read as ln of the strain, as far apart as their scatter allows; the last folds flat.
_LN_STRAINS = np.linspace(np.log(0.005), 0.0, 7)


@dataclass(frozen=True)
class Tells:
    """What one experiment tells, as numbers.

    Parameters
    ----------
    values : array, shape (f, s)
        Readings foreseen at each sample. [any]
    noise : array, shape (f,)
        Variance of each about what is foreseen. [square of the reading's unit]
    """

    values: Any
    noise: Any

    def of_some(self, some: Any) -> Tells:
        """The same for some of the samples."""
        return Tells(self.values[:, some], self.noise)


def told_by(foreseen: Foreseen) -> Tells:
    """What a trial at the press tells: fill, color, bubbles, sticking, cracks, bend, lumps.

    Parameters
    ----------
    foreseen : Foreseen
        The setting, for every sample. [SI]

    Returns
    -------
    Tells
        Each outcome as its mean, with its variance, by the law that a fit holds it against.
    """
    margin = np.clip(np.nan_to_num(foreseen.barrel["fill"], nan=_NOTHING), _NOTHING, 0.0)
    scatter = np.broadcast_to(foreseen.numbers["fill_scatter"], margin.shape)
    bends = [Seen(bend_radius=foreseen.wall / (2.0 * np.exp(x))) for x in _LN_STRAINS]
    steps = range(6)
    read = [
        (margin, float(np.mean(scatter**2))),
        _expected(foreseen, [Seen(filled=False), Seen(filled=True)], (0.0, 1.0)),
        _expected(foreseen, [Seen(color=float(step)) for step in steps], tuple(steps)),
        _expected(foreseen, [Seen(bubbles="none"), Seen(bubbles="some")], (0.0, 1.0)),
        _expected(foreseen, [Seen(stuck=False), Seen(stuck=True)], (0.0, 1.0)),
        _expected(foreseen, [Seen(cracked=False), Seen(cracked=True)], (0.0, 1.0)),
        _expected(foreseen, bends, tuple(_LN_STRAINS)),
        # where welding makes the low end nothing else is as near to it
        _expected(foreseen, [Seen(lumps=False), Seen(lumps=True)], (0.0, 1.0)),
    ]
    return Tells(np.array([value for value, _ in read]), np.array([noise for _, noise in read]))


def _expected(
    foreseen: Foreseen, outcomes: Sequence[Seen], values: Sequence[float]
) -> tuple[Any, float]:
    """Mean of an outcome at each sample, and its variance about that mean."""
    logs = np.array(
        [
            np.broadcast_to(log, np.shape(foreseen.flow_index))
            for seen in outcomes
            for log, _ in field_log_likelihoods(foreseen, seen).values()
        ]
    )
    chances = np.exp(logs - logs.max(axis=0))
    chances /= chances.sum(axis=0)
    at = np.asarray(values, dtype=float)
    mean = at @ chances
    return mean, max(float(np.mean(at**2 @ chances - mean**2)), 1e-6)


class StraightLines:
    """What is left unknown of some targets after experiments, were all relations straight.

    Parameters
    ----------
    target : array, shape (s, n)
        What one would like to know, at every sample. [any]

    Notes
    -----
    Bayes linear: the variance left is the least that any straight line through the readings leaves
    (Goldstein & Wooff 2007, from memory). It holds for a normal distribution; for the window's
    ends it was held against the weighing of `reweighed`, which one trial leaves sharp enough.

    Examples
    --------
    >>> unknown = np.random.default_rng(1).normal(size=2000)
    >>> lines = StraightLines(unknown[:, None])
    >>> reading = Tells(unknown[None], np.array([1.0]))
    >>> print(f"{lines.left(reading)[0]:.1f}")  # as sure as the guess before: half is left
    0.5
    >>> lines.learn(reading)
    >>> print(f"{lines.left(reading)[0]:.2f}")
    0.33
    """

    def __init__(self, target: Any) -> None:
        self._target = _deviations(np.asarray(target, dtype=float).T)
        self._rows = np.empty((0, self._target.shape[1]))
        self.variance = (self._target**2).sum(axis=1)

    def left(self, tells: Tells) -> Any:
        """Variance left of each target after this experiment too, (n,)."""
        return np.maximum(self.variance - self._explained(self._news(tells)), 0.0)

    def learn(self, tells: Tells) -> None:
        """Count an experiment as done."""
        news = self._news(tells)
        self.variance = np.maximum(self.variance - self._explained(news), 0.0)
        self._rows = np.vstack([self._rows, news])

    def _explained(self, news: Any) -> Any:
        return ((self._target @ news.T) ** 2).sum(axis=1)

    def _news(self, tells: Tells) -> Any:
        """The readings less what was known of them, each scaled to a variance of one."""
        values = _deviations(tells.values)
        known = values @ self._rows.T
        spread = values @ values.T + np.diag(tells.noise) - known @ known.T
        return np.linalg.solve(np.linalg.cholesky(spread), values - known @ self._rows)


def _deviations(values: Any) -> Any:
    """From the mean, so that products over the samples are covariances."""
    return (values - values.mean(axis=1, keepdims=True)) / np.sqrt(values.shape[1])


def reweighed(logs: Any, own: Any) -> Any:
    """Weights of all samples after what each imagined truth would show.

    Parameters
    ----------
    logs : array, shape (m, s)
        Log-likelihood, at every sample, of what each of the truths would show. [-]
    own : array of int, shape (m,)
        Which sample each truth is. It does not count for itself: it fits its own outcome better
        than the real truth ever will. [-]

    Returns
    -------
    array, shape (m, s)
        Weights, each row summing to 1. [-]

    Examples
    --------
    >>> reweighed(np.array([[0.0, -np.inf, 0.0]]), np.array([0])).tolist()
    [[0.0, 0.0, 1.0]]
    """
    logs = np.array(logs, dtype=float)
    row = np.arange(len(own))
    logs[row, own] = -np.inf
    found = np.exp(logs - logs.max(axis=1, keepdims=True))
    return found / found.sum(axis=1, keepdims=True)


def expected_best_chance(weights: Any, works: Any) -> float:
    """Chance of the setting that looks best afterward, averaged over the truths.

    Parameters
    ----------
    weights : array, shape (m, s)
        As from `reweighed`. [-]
    works : array, shape (g, s)
        1 where a setting works for a sample, else 0. [-]

    Returns
    -------
    float
        Chance. [-]

    Examples
    --------
    >>> works = np.array([[1.0, 0.0], [0.0, 1.0]])
    >>> expected_best_chance(np.array([[0.5, 0.5], [0.9, 0.1]]), works)
    0.7
    """
    return float((weights @ works.T).max(axis=1).mean())


def expected_success(weights: Any, works: Any, good: Any) -> float:
    """Chance that the trial itself is good or, where not, the setting chosen after it is.

    Parameters
    ----------
    weights : array, shape (m, s)
        As from `reweighed`. [-]
    works : array, shape (g, s)
        1 where a setting works for a sample, else 0. [-]
    good : array, shape (m,)
        1 for the truths for which the trial is good. [-]

    Returns
    -------
    float
        Chance. [-]

    Examples
    --------
    >>> works = np.array([[1.0, 0.0], [0.0, 1.0]])
    >>> expected_success(np.array([[0.5, 0.5], [0.25, 0.75]]), works, np.array([1.0, 0.0]))
    0.875
    """
    after = (weights @ works.T).max(axis=1)
    return float(np.where(np.asarray(good) > 0, 1.0, after).mean())
