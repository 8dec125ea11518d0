"""From samples to the three numbers shown, and to shares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = ["BAND", "Triple", "digits_for", "in_words", "share", "triple"]

#: The interval shown everywhere: 5th, 50th and 95th percentile.
BAND = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Triple:
    """5th, 50th and 95th percentile of one quantity. [any]"""

    low: float
    likely: float
    high: float

    def to_dict(self) -> dict[str, float]:
        """As plain data."""
        return {"low": self.low, "likely": self.likely, "high": self.high}


def triple(samples: Any) -> Triple:
    """The 90 % interval and the median of samples.

    Parameters
    ----------
    samples : array, shape (s,)
        Samples; infinities are allowed, NaN is not. [any]

    Returns
    -------
    Triple
        Percentiles, by the nearest sample so that infinities stay what they are. [as samples]

    Examples
    --------
    >>> triple(np.linspace(0.0, 100.0, 101))
    Triple(low=5.0, likely=50.0, high=95.0)
    """
    samples = np.asarray(samples, dtype=float).ravel()
    low, likely, high = np.quantile(samples, BAND, method="nearest")
    return Triple(float(low), float(likely), float(high))


def share(mask: Any) -> float:
    """Share of samples for which something holds. [-]

    Parameters
    ----------
    mask : array of bool
        Whether it holds, sample by sample. [-]

    Examples
    --------
    >>> share(np.array([True, False]))
    0.5
    """
    return float(np.mean(mask))


def digits_for(width: float) -> int:
    """Decimal places that an interval of this width allows.

    Parameters
    ----------
    width : float
        Width of the interval shown. [any]

    Returns
    -------
    int
        Decimals; 0 where the width is 5 or more, one more for each factor of ten below. [-]

    Examples
    --------
    >>> digits_for(40.0), digits_for(0.7), digits_for(0.03)
    (0, 1, 3)
    """
    if not math.isfinite(width) or width >= 5.0:
        return 0
    return 3 if width <= 0.05 else (2 if width <= 0.5 else 1)


def in_words(part: float) -> str:
    """How often something happens among the samples, in words.

    Parameters
    ----------
    part : float
        Share of samples. [-]

    Returns
    -------
    str
        In tens or in hundreds, never rounded to all or none. [-]

    Examples
    --------
    >>> in_words(0.21), in_words(0.02), in_words(0.97), in_words(1.0), in_words(0.0)
    ('2 in 10 cases', '2 in 100 cases', '97 in 100 cases', 'every case', 'no case')
    >>> in_words(0.001)
    'under 1 in 100 cases'
    """
    if part <= 0.0:
        return "no case"
    if part >= 1.0:
        return "every case"
    if part < 0.005:
        return "under 1 in 100 cases"
    if 0.095 <= part <= 0.905:
        return f"{10.0 * part:.0f} in 10 cases"
    return f"{min(99.0, 100.0 * part):.0f} in 100 cases"
