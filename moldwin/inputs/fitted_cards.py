"""Cards that were fitted to one lot: found by card and lot, and carried over to a new lot."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from weakref import WeakKeyDictionary

from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Library

__all__ = ["OWN_TRIALS", "card_of_lot", "fitted_name", "is_fitted", "widened"]

#: Short name of the source of every fitted value.
OWN_TRIALS = "own_trials"

_UNSAFE = re.compile(r"[^\w.-]+")
#: By library, card and lot: found once. A library reads each of its files once, too.
_OF_LOTS: WeakKeyDictionary[Library, dict[tuple[str, str], Card]] = WeakKeyDictionary()


def fitted_name(card: str, lot: str = "") -> str:
    """Name of the card that holds a fit: the file's name without its ending.

    Parameters
    ----------
    card, lot : str
        As in the job. [-]

    Returns
    -------
    str
        The card's own name where there is no lot. [-]

    Examples
    --------
    >>> fitted_name("corn-starch"), fitted_name("corn-starch", "spring 26")
    ('corn-starch', 'corn-starch@spring-26')
    """
    return f"{card}@{_UNSAFE.sub('-', lot)}" if lot else card


def is_fitted(card: Card) -> bool:
    """Whether a card was made by a fit of trials or weighings."""
    return "fitted" in card.facts


def card_of_lot(library: Library, name: str, lot: str = "") -> Card:
    """The card of one lot: its own fit, else the newest fit of another lot, widened.

    Parameters
    ----------
    library : Library
        All cards. [-]
    name, lot : str
        As in the job. [-]

    Returns
    -------
    Card
        Under the card's own name; its values carry the lot in theirs.

    Raises
    ------
    InputError
        There is no such card.
    CardError
        The card is there, but something in it is wrong.
    """
    if not lot:
        return library.card(name)
    known = _OF_LOTS.setdefault(library, {})
    if (name, lot) not in known:  # a fit asks for the same few thousands of times
        known[name, lot] = _card_of_lot(library, name, lot)
    return known[name, lot]


def _card_of_lot(library: Library, name: str, lot: str) -> Card:
    own = fitted_name(name, lot)
    if own in library.names():
        return replace(library.card(own), name=name).for_lot(lot)
    # a fit of this lot starts from the others, though it must not see its own
    known = library if library.fits == "used" else Library(library.folders)
    others = [card for card in _fits(known, name) if is_fitted(card)]
    if not others:
        return library.card(name).for_lot(lot)
    newest = max(others, key=lambda card: str(card.facts["fitted"]["date"]))
    wider = widened(newest, library.card("trial")["lot_widening"].value)
    return replace(wider, name=name).for_lot(lot)


def widened(card: Card, times: float) -> Card:
    """A card whose fitted spreads are so many times as wide; what was not fitted stays.

    Parameters
    ----------
    card : Card
        A fitted card. [-]
    times : float
        At least 1. [-]

    Returns
    -------
    Card
        The same likely values.
    """
    wider = {
        key: _wider(quantity, times) if quantity.source == OWN_TRIALS else quantity
        for key, quantity in card.quantities.items()
    }
    return replace(card, quantities=wider)


def _wider(quantity: Quantity, times: float) -> Quantity:
    if quantity.factor is not None:
        return replace(quantity, factor=quantity.factor**times)
    if quantity.u is not None:
        return replace(quantity, u=quantity.u * times)
    if quantity.low is None or quantity.high is None:
        return quantity
    value, low, high = quantity.value, quantity.low, quantity.high
    if quantity.log:
        low, high = value * (low / value) ** times, value * (high / value) ** times
    else:
        low, high = value - times * (value - low), value + times * (high - value)
    low, high = max(low, quantity.floor), min(high, quantity.ceiling)
    return replace(quantity, low=low, high=high)


def _fits(library: Library, name: str) -> Iterator[Card]:
    for other in library.names():
        if other == name or other.startswith(f"{name}@"):
            yield library.card(other)
