"""Whether to heat at all: the one rule that every command asks."""

from __future__ import annotations

from collections.abc import Iterable

from moldwin.advice.chosen import choose
from moldwin.advice.remarks import remarks
from moldwin.base.remarks import Remark
from moldwin.window.stops import HOPELESS
from moldwin.window.windows import Setup, Window

__all__ = ["may_heat", "not_for_the_press", "stops_among", "why_not"]


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


def why_not(window: Window, said: Iterable[Remark]) -> str | None:
    """What speaks against heating, by `may_heat`; None where nothing does.

    Parameters
    ----------
    window : Window
        Of one moisture. [-]
    said : iterable of Remark
        What is said of it. [-]

    Returns
    -------
    str or None
        The words of every stop, else those of a hopeless chance. [-]
    """
    said = list(said)
    chance = window.barrel.chance
    if may_heat(chance, said):
        return None
    return " ".join(remark.message for remark in stops_among(said)) or (
        f"The best chance at any barrel temperature is {100 * chance:.0f} % at"
        f" {100 * window.state.nominal:.1f} % water; below {100 * HOPELESS:.0f} % nobody should"
        " heat."
    )


def not_for_the_press(setup: Setup) -> str | None:
    """Why the advice heats these pellets neither as they are nor at their target, in a sentence.

    Parameters
    ----------
    setup : Setup
        The job. [-]

    Returns
    -------
    str or None
        None where the advice names a setting. [-]
    """
    found = choose(setup).found
    why = why_not(found.window, remarks(setup, found, None))
    if why is None:
        return None
    first = why.split(". ")[0].removesuffix(".")
    return (
        "The press part of this job cannot be done as it stands, and moldwin advise says what would"
        f" change that: {first[0].lower()}{first[1:]}."
    )
