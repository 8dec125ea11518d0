"""A card with an isotherm of the user's own: the rest of it stays as the card it comes from."""

from __future__ import annotations

import re
import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from moldwin.inputs.cards import Card, load_card
from moldwin.inputs.errors import CardError, Fault, InputError

__all__ = ["card_with_isotherm"]

_SOURCE = "own_weighings"
_MEMBERS = ("xm", "c", "k")
_UNITS = {"xm": "kg/kg", "c": "1", "k": "1"}
_ISOTHERM_T = 298.15
#: A block of a card: a heading at the start of a line, and what follows it.
_BLOCK = re.compile(r"^(?=\[)", re.MULTILINE)
_HEADING = re.compile(r"\[\s*([\w.\"'-]+)\s*\]")
_NAME = re.compile(r"^name\s*=.*$", re.MULTILINE)
#: Correlations are drawn in by this much, so that rounding never makes them impossible.
_SHRINK = 0.999


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
    blocks = _BLOCK.split(card.path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n"))
    dropped = {*_MEMBERS, "isotherm_t", "group.gab"}
    head, *rest = [block for block in blocks if _heading(block) not in dropped]
    if head.startswith("["):
        head, rest = "", [head, *rest]
    rest = [_with_source(b, source) if _heading(b) == "sources" else b for b in rest]
    old = {key: card[key] for key in _MEMBERS}
    made = [
        _quantity(key, values[key], factors[key], conditions, old[key].value, old[key].source)
        for key in _MEMBERS
    ]
    made += [_temperature(), _group(correlation)]
    text = _head(head, name) + "".join(rest).rstrip("\n") + "\n\n" + "\n".join(made)
    _check(text, name, card)
    return text.encode("utf-8")


def _heading(block: str) -> str:
    match = _HEADING.match(block)
    return match[1] if match else ""


def _head(head: str, name: str) -> str:
    """The new name; nobody misses an isotherm any more."""
    lines = _NAME.sub(lambda _: f'name = "{name}"', head, count=1).split("\n")
    kept = [line for line in lines if not (line.startswith(" ") and "isotherm" in line)]
    return "\n".join(kept)


def _with_source(block: str, source: str) -> str:
    lines = [line for line in block.rstrip("\n").split("\n") if not line.startswith(_SOURCE)]
    return "\n".join([*lines, f"{_SOURCE} = {_quoted(source)}", "", ""])


def _quantity(
    key: str, value: float, factor: float, conditions: str, old: float, old_source: str
) -> str:
    rows = [
        f"[{key}]",
        f"value = {value:.5g}",
        f'unit = "{_UNITS[key]}"',
        f"factor = {max(factor, 1.001):.4g}",
        'u_from = "fit of the weighings, joined with the card before"',
        f"conditions = {_quoted(conditions)}",
        f'source = "{_SOURCE}"',
        'status = "measured"',
    ]
    if old_source != _SOURCE:
        note = "the card before"
        rows.append(
            f'alternatives = [{{ value = {old:.5g}, source = "{old_source}", note = "{note}" }}]'
        )
    return "\n".join([*rows, ""])


def _temperature() -> str:
    return (
        f'[isotherm_t]\nvalue = {_ISOTHERM_T}\nunit = "K"\nsource = "{_SOURCE}"\n'
        'status = "measured"\n'
    )


def _group(correlation: Sequence[Sequence[float]]) -> str:
    rows = []
    for i in range(3):
        row = [
            1.0 if i == j else round(_SHRINK * (correlation[i][j] + correlation[j][i]) / 2.0, 4)
            for j in range(3)
        ]
        rows.append("[" + ", ".join(str(value) for value in row) + "]")
    members = ", ".join(f'"{key}"' for key in _MEMBERS)
    return (
        f"[group.gab]\nmembers = [{members}]\ncorrelation = [{', '.join(rows)}]\n"
        'why = "fit of the weighings, joined with the card before"\n'
    )


def _quoted(words: str) -> str:
    plain = "".join(c if c.isprintable() else " " for c in words)
    return '"' + plain.replace("\\", "\\\\").replace('"', "'") + '"'


def _check(text: str, name: str, card: Card) -> None:
    """Load it as a card, and see that nothing but the isotherm has changed."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.toml"
        try:
            path.write_text(text, encoding="utf-8")
            made = load_card(path)
        except CardError as error:
            faults = [Fault(f"{name}.toml", fault.key, fault.message) for fault in error.faults]
            raise InputError(faults) from None
        except OSError as error:
            raise InputError([Fault(name, "", f"is no name for a card: {error}")]) from None
    changed = _other_tables(made.path, text) != _other_tables(card.path)
    if changed:
        message = "could not be changed safely; write xm, c, k, isotherm_t and group.gab by hand"
        raise InputError([Fault(str(card.path), "", message)])


def _other_tables(path: Path, text: str | None = None) -> dict[str, Any]:
    raw = tomllib.loads(text or path.read_bytes().decode("utf-8-sig"))
    for key in (*_MEMBERS, "isotherm_t", "name", "missing"):
        raw.pop(key, None)
    raw.get("sources", {}).pop(_SOURCE, None)
    raw.get("group", {}).pop("gab", None)
    return raw
