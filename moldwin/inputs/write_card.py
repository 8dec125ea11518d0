"""A card with an isotherm of the user's own: the rest of it stays as the card it comes from."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from moldwin.base.quantities import Quantity
from moldwin.inputs.card_text import card_without, checked_card, correlation_rows, joined, table
from moldwin.inputs.cards import Card
from moldwin.inputs.errors import Fault, InputError

__all__ = ["card_with_isotherm"]

_SOURCE = "own_weighings"
_MEMBERS = ("xm", "c", "k")
_UNITS = {"xm": "kg/kg", "c": "1", "k": "1"}
_KELVIN, _ISOTHERM_T = "isotherm_t", 298.15
_JOINED = "fit of the weighings, joined with the card before"
#: No band is narrower than this ratio: a card may not hold a number without any spread.
_LEAST_FACTOR = 1.001


def card_with_isotherm(
    card: Card,
    name: str,
    values: Mapping[str, float],
    factors: Mapping[str, float],
    correlation: Sequence[Sequence[float]],
    source: str,
    conditions: str,
) -> bytes:
    """The text of a card that holds a fitted isotherm, checked by loading it.

    Parameters
    ----------
    card : Card
        The card behind it; everything but the isotherm is kept. [-]
    name : str
        Of the new card: its file's name without the ending. [-]
    values, factors : mapping of str to float
        xm [kg/kg], C and K [-], and half the width of each 90 % band as a ratio. [-]
    correlation : sequence of sequence of float, shape (3, 3)
        Of their logarithms. [-]
    source, conditions : str
        Where the values come from, in words. [-]

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    InputError
        A name no card can have, or values that a card may not hold.
    """
    dropped = {*_MEMBERS, _KELVIN, "group.gab"}
    made = [_quantity(key, values[key], factors[key], conditions, card[key]) for key in _MEMBERS]
    made += [_temperature(), _group(correlation)]
    text = joined(card_without(card, name, dropped, (_SOURCE, source)), made)
    checked_card(text, name)
    if _other_tables(text) != _other_tables(card.path.read_bytes().decode("utf-8-sig")):
        message = "could not be changed safely; write xm, c, k, isotherm_t and group.gab by hand"
        raise InputError([Fault(str(card.path), "", message)])
    return text.encode("utf-8")


def _quantity(key: str, value: float, factor: float, conditions: str, before: Quantity) -> str:
    fields: dict[str, Any] = {
        "value": float(value),
        "unit": _UNITS[key],
        "factor": max(float(factor), _LEAST_FACTOR),
        "u_from": _JOINED,
        "conditions": conditions,
        "source": _SOURCE,
        "status": "measured",
    }
    if before.source != _SOURCE:
        was = {"value": before.value, "source": before.source, "note": "the card before"}
        fields["alternatives"] = [was]
    return table(key, fields)


def _temperature() -> str:
    fields = {"value": _ISOTHERM_T, "unit": "K", "source": _SOURCE, "status": "measured"}
    return table(_KELVIN, fields)


def _group(correlation: Sequence[Sequence[float]]) -> str:
    size = range(len(_MEMBERS))
    even = [[(correlation[i][j] + correlation[j][i]) / 2.0 for j in size] for i in size]
    rows = correlation_rows(even)
    return table("group.gab", {"members": list(_MEMBERS), "correlation": rows, "why": _JOINED})


def _other_tables(text: str) -> dict[str, Any]:
    """Everything but the isotherm, which is all that may change."""
    raw = tomllib.loads(text)
    for key in (*_MEMBERS, _KELVIN, "name", "missing"):
        raw.pop(key, None)
    raw.get("sources", {}).pop(_SOURCE, None)
    raw.get("group", {}).pop("gab", None)
    return raw
