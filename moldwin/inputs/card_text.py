"""A card's own text, taken apart into its tables and put together again with some of them new."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldwin.inputs.cards import Card, load_card
from moldwin.inputs.errors import CardError, Fault, InputError

__all__ = ["card_without", "checked_card", "correlation_rows", "joined", "table", "written"]

#: A table of a card: a heading at the start of a line, and what follows it.
_BLOCK = re.compile(r"^(?=\[)", re.MULTILINE)
_HEADING = re.compile(r"\[\s*([\w.\"'@-]+)\s*\]")
_NAME = re.compile(r"^name\s*=.*$", re.MULTILINE)
#: Correlations are drawn in by this much, so that rounding never makes them impossible.
_SHRINK = 0.999


def card_without(
    card: Card, name: str, dropped: Collection[str], source: tuple[str, str]
) -> list[str]:
    """The text of a card under another name, some tables left out, a source of one's own added.

    Parameters
    ----------
    card : Card
        What is kept of it is kept to the letter. [-]
    name : str
        The new one. [-]
    dropped : collection of str
        Headings of the tables that go. [-]
    source : tuple of str
        Short name of the source, and its words. [-]

    Returns
    -------
    list of str
        The head, then table by table. [-]
    """
    text = card.path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    head, *rest = [block for block in _BLOCK.split(text) if _heading(block) not in dropped]
    if head.startswith("["):
        head, rest = "", [head, *rest]
    head = _NAME.sub(lambda _: f'name = "{name}"', head, count=1)
    if "isotherm_t" in dropped:  # nobody misses an isotherm any more
        lines = head.split("\n")
        head = "\n".join(x for x in lines if not (x.startswith(" ") and "isotherm" in x))
    return [head, *(_with_source(b, *source) if _heading(b) == "sources" else b for b in rest)]


def joined(kept: Sequence[str], made: Sequence[str]) -> str:
    """What was kept of a card, and the new tables below it."""
    return "".join(kept).rstrip("\n") + "\n\n" + "\n".join(made)


def table(name: str, fields: Mapping[str, Any]) -> str:
    """One table of a card; fields that are None are left out.

    Examples
    --------
    >>> print(table("xm", {"value": 0.08, "unit": "kg/kg", "log": None}))
    [xm]
    value = 0.08
    unit = "kg/kg"
    <BLANKLINE>
    """
    lines = [f"{key} = {written(value)}" for key, value in fields.items() if value is not None]
    return "\n".join([f"[{name}]", *lines, ""])


def written(value: Any) -> str:
    """A value as TOML; words from outside cannot break out of their quotes.

    Parameters
    ----------
    value : str, bool, number, mapping or sequence
        What a key is to hold, in the card's own units. [-]

    Examples
    --------
    >>> print(written('a "b"'), written([1.0, 0.5]), written(True), written({"value": 2.0}))
    "a 'b'" [1, 0.5] true { value = 2 }
    """
    if isinstance(value, str):
        plain = "".join(c if c.isprintable() else " " for c in value)
        return '"' + plain.replace("\\", "\\\\").replace('"', "'") + '"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {written(v)}" for key, v in value.items()) + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(map(written, value)) + "]"
    if value is True:
        return "true"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def correlation_rows(correlation: Sequence[Sequence[float]]) -> list[list[float]]:
    """A correlation as a card holds it: rounded, and drawn in a little.

    Parameters
    ----------
    correlation : sequence of sequences, shape (n, n)
        Between quantities drawn together. [-]

    Returns
    -------
    list of lists
        Its rows, still positive definite after rounding. [-]

    Examples
    --------
    >>> correlation_rows([[1.0, -0.99], [-0.99, 1.0]])
    [[1.0, -0.989], [-0.989, 1.0]]
    """
    return [
        [1.0 if i == j else round(_SHRINK * float(value), 4) for j, value in enumerate(row)]
        for i, row in enumerate(correlation)
    ]


def checked_card(text: str, name: str) -> Card:
    """The card that a text makes, by loading it.

    Parameters
    ----------
    text : str
        The whole file. [-]
    name : str
        Of the card: its file's name without the ending. [-]

    Returns
    -------
    Card
        Its file is gone again.

    Raises
    ------
    InputError
        A name no card can have, or values that a card may not hold.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.toml"
        try:
            path.write_text(text, encoding="utf-8")
            return load_card(path)
        except CardError as error:
            faults = [replace(fault, file=f"{name}.toml") for fault in error.faults]
            raise InputError(faults) from None
        except OSError as error:
            raise InputError([Fault(name, "", f"is no name for a card: {error}")]) from None


def _heading(block: str) -> str:
    match = _HEADING.match(block)
    return match[1] if match else ""


def _with_source(block: str, name: str, words: str) -> str:
    lines = [line for line in block.rstrip("\n").split("\n") if not line.startswith(name)]
    return "\n".join([*lines, f"{name} = {written(words)}", "", ""])
