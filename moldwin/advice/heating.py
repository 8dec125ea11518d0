"""Whether to heat at all: the one rule that every command asks."""

from __future__ import annotations

from collections.abc import Iterable

from moldwin.base.remarks import Remark
from moldwin.window.stops import HOPELESS

__all__ = ["may_heat", "stops_among"]


def may_heat(chance: float, *said: Iterable[Remark]) -> bool:
    """Whether heating is advised: no stop, and a chance that is worth the charge.

    Parameters
    ----------
    chance : float
        Best chance of barrel and filling. [-]
    said : iterable of Remark
        What `moldwin.advice.remarks.remarks` says of that very window, and of the one that the
        answer is about where that is another: a stop there stops all. [-]

    Returns
    -------
    bool
        False: name no temperature, no soak, no settings. [-]

    Examples
    --------
    >>> may_heat(0.9, []), may_heat(0.1, [])
    (True, False)
    >>> may_heat(0.9, [Remark("hot-core", "stop", "It never cools.", "molding", "assumed")])
    False
    """
    return chance >= HOPELESS and not any(stops_among(of_one) for of_one in said)


def stops_among(said: Iterable[Remark]) -> list[Remark]:
    """The stops among some remarks.

    Examples
    --------
    >>> stops_among([Remark("dust", "info", "No clouds of it.", "blend", "assumed")])
    []
    """
    return [remark for remark in said if remark.severity == "stop"]
