"""Words and thresholds that every remark shares."""

from __future__ import annotations

from typing import Any

from moldwin.advice.situation import Found
from moldwin.base.percentiles import triple

__all__ = ["MANY", "PRACTICE", "SOME", "broken", "spelled"]

#: A limit that at least this share of samples breaks is worth a word.
SOME = 0.10
MANY = 0.5
PRACTICE = "common practice, no source"


def spelled(samples: Any, unit: str, scale: float = 1.0, offset: float = 0.0) -> str:
    """The likely value and its 90 % interval, in whole units.

    Parameters
    ----------
    samples : array, shape (s,)
        In SI. [SI]
    unit : str
        To be written. [-]
    scale, offset : float
        From SI to that unit: times the first, plus the second. [-]
    """
    t = triple(samples * scale + offset)
    return f"{t.likely:.0f} {unit} ({t.low:.0f} to {t.high:.0f})"


def broken(found: Found, name: str) -> float:
    """Share of samples that one limit of the barrel breaks at the best setting.

    Parameters
    ----------
    name : str
        Of the limit. [-]

    Returns
    -------
    float
        The share; 0 where the barrel has no such limit. [-]
    """
    for limit in found.window.barrel.limits:
        if limit.name == name:
            return limit.broken_share
    return 0.0
