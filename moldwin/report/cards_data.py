"""Cards as plain data: what is known, from where, and what nobody has published."""

from __future__ import annotations

from collections import Counter
from typing import Any

from moldwin.base.quantities import STATUSES, Quantity
from moldwin.inputs.card_keys import BENCH_KEYS, COMPOSITION_KEYS, MATERIAL_KEYS, MOLD_KEYS
from moldwin.inputs.cards import Card, Library

__all__ = ["CARD_SCHEMA", "LIST_SCHEMA", "card_data", "cards_data"]

LIST_SCHEMA = "moldwin.cards/1"
CARD_SCHEMA = "moldwin.card/1"

_NO_MATERIAL = ("humidity-source", "bench")


def cards_data(library: Library) -> dict[str, Any]:
    """All cards in short: materials, humidity sources, and what is assumed of the bench.

    Parameters
    ----------
    library : Library
        The cards at hand. [-]

    Returns
    -------
    dict
        Plain data with a schema name; values in the units of the cards. [as stated]
    """
    cards = [library.card(name) for name in library.names()]
    return {
        "schema": LIST_SCHEMA,
        "materials": [_in_short(card) for card in cards if card.role not in _NO_MATERIAL],
        "humidity_sources": [_source(card) for card in cards if card.role == "humidity-source"],
        "bench": [
            {"card": card.name, **_value(card, key)}
            for card in cards
            if card.role == "bench"
            for key in card.quantities
        ],
        "overrides": list(library.overrides()),
    }


def card_data(card: Card) -> dict[str, Any]:
    """Everything one card states.

    Parameters
    ----------
    card : Card
        The card. [-]

    Returns
    -------
    dict
        Plain data with a schema name; values in the units of the card. [as stated]
    """
    return {
        "schema": CARD_SCHEMA,
        **_head(card),
        "about": card.about,
        "facts": dict(card.facts),
        "values": [_value(card, key) for key in card.quantities],
        "groups": [
            {"name": group.name, "members": list(group.members), "why": group.why}
            for group in card.groups
        ],
        "missing": list(card.missing),
        "sources": dict(card.sources),
    }


def _head(card: Card) -> dict[str, Any]:
    return {
        "name": card.name,
        "title": card.title,
        "role": card.role,
        "family": card.family,
        "shipped": card.shipped,
    }


def _in_short(card: Card) -> dict[str, Any]:
    counts = Counter(quantity.status for quantity in card.quantities.values())
    return {
        **_head(card),
        "values": {status: counts[status] for status in STATUSES},
        "missing": list(card.missing),
    }


def _source(card: Card) -> dict[str, Any]:
    return {**_head(card), **card.facts}


def _value(card: Card, key: str) -> dict[str, Any]:
    quantity = card.quantities[key]
    return {
        "key": key,
        "what": _meaning(card, key),
        "value": quantity.value,
        "unit": quantity.unit,
        **_spread(quantity),
        "status": quantity.status,
        "source": card.sources.get(quantity.source, quantity.source),
        "source_key": quantity.source,
        "where": quantity.where,
        "conditions": quantity.conditions,
        "printed": quantity.printed,
        "alternatives": [dict(other) for other in card.alternatives.get(key, ())],
    }


def _spread(quantity: Quantity) -> dict[str, Any]:
    return {
        "u": quantity.u,
        "factor": quantity.factor,
        "low": quantity.low,
        "high": quantity.high,
        "u_from": quantity.u_from,
    }


def _meaning(card: Card, key: str) -> str:
    """What the key stands for, in the words of the list of keys."""
    known = COMPOSITION_KEYS if key.startswith("composition.") else MATERIAL_KEYS
    if card.role == "bench":
        known = BENCH_KEYS.get(card.name, {})
    elif card.role == "mold":
        known = MOLD_KEYS
    entry = known.get(key.removeprefix("composition."))
    return entry.what if entry else ""
