"""The normal distribution for arrays, from the standard library: exact, and light to start."""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist
from typing import Any

import numpy as np

__all__ = ["normal_cdf", "normal_quantile", "normal_strata"]

_SQRT_HALF = math.sqrt(0.5)
_erfc = np.frompyfunc(math.erfc, 1, 1)
_inverse = np.frompyfunc(NormalDist().inv_cdf, 1, 1)


def normal_cdf(z: Any) -> Any:
    """Share of a standard normal below each score.

    Parameters
    ----------
    z : float or array, shape (...)
        Scores. [-]

    Returns
    -------
    float or array, shape (...)
        Shares. [-]

    Examples
    --------
    >>> float(normal_cdf(0.0))
    0.5
    """
    tail = _erfc(-_SQRT_HALF * np.asarray(z, dtype=float))
    return 0.5 * np.asarray(tail, dtype=float)[()]


def normal_quantile(share: Any) -> Any:
    """Score below which a share of a standard normal lies.

    Parameters
    ----------
    share : float or array, shape (...)
        Shares, above 0 and below 1. [-]

    Returns
    -------
    float or array, shape (...)
        Scores. [-]

    Examples
    --------
    >>> round(float(normal_quantile(0.95)), 4)
    1.6449
    """
    return np.asarray(_inverse(share), dtype=float)[()]


@cache
def normal_strata(count: int) -> Any:
    """Scores of the middles of ``count`` equal shares, rising, shape (count,). [-]

    Parameters
    ----------
    count : int
        How many shares. [-]

    Examples
    --------
    >>> [round(float(z), 3) for z in normal_strata(4)]
    [-1.15, -0.319, 0.319, 1.15]
    """
    return normal_quantile((np.arange(count) + 0.5) / count)
