"""The text of a fitted card: the card behind it, with what the trials taught in its place."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Group, load_card
from moldwin.inputs.errors import CardError, Fault, InputError
from moldwin.inputs.fitted_cards import OWN_TRIALS

__all__ = ["fitted_card"]

_BLOCK = re.compile(r"^(?=\[)", re.MULTILINE)
_HEADING = re.compile(r"\[\s*([\w.\"'@-]+)\s*\]")
_NAME = re.compile(r"^name\s*=.*$", re.MULTILINE)
#: Correlations are drawn in by this much, so that rounding never makes them impossible.
_SHRINK = 0.999


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
    text = card.path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    blocks = _BLOCK.split(text)
    tied = {f"group.{g.name}" for g in card.groups if set(g.members) & set(values)}
    dropped = {*values, *tied, "fitted", "group.trials"}
    head, *rest = [block for block in blocks if _heading(block) not in dropped]
    head = _NAME.sub(lambda _: f'name = "{name}"', head, count=1)
    if "isotherm_t" in values:  # nobody misses an isotherm any more
        lines = head.split("\n")
        head = "\n".join(x for x in lines if not (x.startswith(" ") and "isotherm" in x))
    rest = [_with_source(b, source) if _heading(b) == "sources" else b for b in rest]
    made = [_value(key, values[key], card.get(key)) for key in values]
    made += [_group(group)] if group is not None else []
    made.append(_table("fitted", fitted))
    whole = head + "".join(rest).rstrip("\n") + "\n\n" + "\n".join(made)
    _check(whole, name)
    return whole.encode("utf-8")


def _heading(block: str) -> str:
    match = _HEADING.match(block)
    return match[1] if match else ""


def _with_source(block: str, source: str) -> str:
    lines = [line for line in block.rstrip("\n").split("\n") if not line.startswith(OWN_TRIALS)]
    return "\n".join([*lines, f"{OWN_TRIALS} = {_written(source)}", "", ""])


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
    text = _table(key, {name: value for name, value in fields.items() if value is not None})
    if before is None or before.source == OWN_TRIALS:
        return text
    note = f'value = {before.value:.6g}, source = "{before.source}", note = "the card behind"'
    return f"{text.rstrip()}\nalternatives = [{{ {note} }}]\n"


def _group(group: Group) -> str:
    size = len(group.members)
    rows = [
        [1.0 if i == j else round(_SHRINK * group.correlation[i][j], 4) for j in range(size)]
        for i in range(size)
    ]
    return _table(
        f"group.{group.name}",
        {"members": list(group.members), "correlation": rows, "why": group.why},
    )


def _table(name: str, fields: Mapping[str, Any]) -> str:
    lines = [f"{key} = {_written(value)}" for key, value in fields.items()]
    return "\n".join([f"[{name}]", *lines, ""])


def _written(value: Any) -> str:
    if isinstance(value, str):
        plain = "".join(c if c.isprintable() else " " for c in value)
        return '"' + plain.replace("\\", "\\\\").replace('"', "'") + '"'
    if isinstance(value, Sequence):
        return "[" + ", ".join(map(_written, value)) + "]"
    if value is True:
        return "true"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _check(text: str, name: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.toml"
        try:
            path.write_text(text, encoding="utf-8")
            load_card(path)
        except CardError as error:
            faults = [replace(fault, file=f"{name}.toml") for fault in error.faults]
            raise InputError(faults) from None
        except OSError as error:
            raise InputError([Fault(name, "", f"is no name for a card: {error}")]) from None
