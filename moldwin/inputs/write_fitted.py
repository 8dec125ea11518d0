"""The text of a fitted card: the card behind it, with what the trials taught in its place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moldwin.base.quantities import Quantity
from moldwin.inputs.card_text import card_without, checked_card, correlation_rows, joined, table
from moldwin.inputs.cards import Card, Group
from moldwin.inputs.fitted_cards import OWN_TRIALS

__all__ = ["fitted_card"]


def fitted_card(
    card: Card,
    name: str,
    values: Mapping[str, Quantity],
    group: Group | None,
    source: str,
    fitted: Mapping[str, Any],
) -> bytes:
    """A card whose values come from a fit, checked by loading it.

    Parameters
    ----------
    card : Card
        The card behind it; what was not fitted is kept to the letter. [-]
    name : str
        Of the new card: its file's name without the ending. [-]
    values : mapping of str to Quantity
        By key of the card. [each its own]
    group : Group, optional
        How the values hang together. [-]
    source : str
        The trials, in words. [-]
    fitted : mapping
        ``date``, ``lot``, ``behind``, ``data`` and ``trials``. [-]

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    InputError
        Values that a card may not hold.
    """
    tied = {f"group.{g.name}" for g in card.groups if set(g.members) & set(values)}
    dropped = {*values, *tied, "fitted", "group.trials"}
    made = [_value(key, values[key], card.get(key)) for key in values]
    made += [_group(group)] if group is not None else []
    made.append(table("fitted", fitted))
    whole = joined(card_without(card, name, dropped, (OWN_TRIALS, source)), made)
    checked_card(whole, name)
    return whole.encode("utf-8")


def _value(key: str, quantity: Quantity, before: Quantity | None) -> str:
    fields = {
        "value": quantity.value,
        "unit": quantity.unit,
        "u": quantity.u,
        "factor": quantity.factor,
        "low": quantity.low,
        "high": quantity.high,
        "log": True if quantity.log else None,
        "u_from": "one fit of all data, joined with the card behind it",
        "conditions": quantity.conditions or None,
        "source": OWN_TRIALS,
        "status": "measured",
    }
    if before is not None and before.source != OWN_TRIALS:
        behind = {"value": before.value, "source": before.source, "note": "the card behind"}
        fields["alternatives"] = [behind]
    return table(key, fields)


def _group(group: Group) -> str:
    rows = correlation_rows(group.correlation)
    return table(
        f"group.{group.name}",
        {"members": list(group.members), "correlation": rows, "why": group.why},
    )
