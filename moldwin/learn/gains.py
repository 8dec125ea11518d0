"""What a trial would teach: spreads and chances as they would be after outcomes not yet seen.

Some of the samples are taken for the truth, one after the other. Each tells what its trial would
show, and all others are weighed by how well that fits them: what is left of the spread, averaged
over the truths tried, is what to expect. The same truths stand behind every trial, so that trials
are compared and not luck, and two trials together are the sum of their log-likelihoods.
"""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["expected_best_chance", "expected_success", "expected_variance", "reweighed"]


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


def expected_variance(weights: Any, target: Any) -> Any:
    """Variance that is left of each target, averaged over the truths.

    Parameters
    ----------
    weights : array, shape (m, s)
        As from `reweighed`. [-]
    target : array, shape (s, n)
        What one would like to know. [any]

    Returns
    -------
    array, shape (n,)
        Variance. [square of the target's unit]

    Examples
    --------
    >>> expected_variance(np.array([[0.5, 0.5], [1.0, 0.0]]), np.array([[0.0], [2.0]])).tolist()
    [0.5]
    """
    centered = target - target.mean(axis=0)
    mean = weights @ centered
    return np.maximum(weights @ centered**2 - mean**2, 0.0).mean(axis=0)


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
