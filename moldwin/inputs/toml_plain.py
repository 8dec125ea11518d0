"""TOML parsed by the standard library, with its complaints put in a maker's words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable

__all__ = ["DEEPEST", "parse_toml", "too_deep"]

#: Tables in tables that are still read; a job needs three.
DEEPEST = 12

_PLACE = re.compile(r"\(at line (\d+), column \d+\)")
_DECIMAL_COMMA = re.compile(r"=\s*[-+]?\d+,\d+\s*(#.*)?$")
_BARE_KEY = re.compile(r"\s*([\w.\"'-]+)\s*=")
#: Headings that stand in a job as often as there are things of the kind.
_REPEATS = re.compile(r"\s*\[\[?\s*(ingredient|part\.solid)\s*\]")
_NOT_TOML_WORDS = ("Invalid value", "Expected newline or end of document after a statement")
_TWICE = ("Cannot declare", "Cannot overwrite", "Cannot mutate", "Duplicate inline table key")


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """The tables of a TOML text.

    Parameters
    ----------
    text : str
        The text. [-]
    file : str
        Name for the message. [-]

    Returns
    -------
    dict
        Tables and values as parsed.

    Raises
    ------
    InputError
        Not TOML, a key or table given twice, or nested too deeply.

    Examples
    --------
    >>> parse_toml("[scale]\\nresolution_g = 0.1", "job.toml")
    {'scale': {'resolution_g': 0.1}}
    """
    try:
        raw = tomllib.loads(text)
    except RecursionError:
        raise InputError([Fault(file, "", _deep_message())]) from None
    except ValueError as error:  # also what int() says of a number of thousands of digits
        raise InputError([_plain(str(error), text, file)]) from None
    if too_deep(raw):
        raise InputError([Fault(file, "", _deep_message())])
    return raw


def too_deep(raw: Any) -> bool:
    """Whether tables and lists are nested deeper than any job.

    Parameters
    ----------
    raw : object
        Tables and values. [-]

    Returns
    -------
    bool
        True above `DEEPEST` levels; found without recursion, which a hostile file could exhaust.

    Examples
    --------
    >>> too_deep({"press": {"force_kn": 3}})
    False
    """
    level = [raw]
    for _ in range(DEEPEST):
        level = [inner for outer in level for inner in _members(outer)]
        if not level:
            return False
    return True


def _members(value: Any) -> list[Any]:
    if isinstance(value, Mapping):
        return list(value.values())
    return list(value) if isinstance(value, list | tuple) else []


def _deep_message() -> str:
    return "is nested too deeply for a job: sections hold values, not further tables"


def _plain(complaint: str, text: str, file: str) -> Fault:
    """The parser's complaint with line, source line and the likely slip."""
    if "integer string conversion" in complaint:
        return Fault(file, "", "holds a number of thousands of digits")
    place = _PLACE.search(complaint)
    number = int(place.group(1)) if place else None
    lines = text.splitlines()
    source = lines[number - 1] if number and number <= len(lines) else ""
    said = _PLACE.sub("", complaint).strip()
    return Fault(file, _key_of(source), _message(said, source), number)


def _key_of(source: str) -> str:
    found = _BARE_KEY.match(source)
    return printable(found.group(1)) if found else ""


def _message(said: str, source: str) -> str:
    shown = printable(source.strip())
    if said.startswith(_TWICE):
        repeats = _REPEATS.match(source)
        if repeats:
            name = repeats.group(1)
            return f"{shown}: write [[{name}]] in double brackets, each time it stands there"
        if source.lstrip().startswith("["):
            return f"{shown} stands twice; put everything of a section under one heading"
        return "stands twice in its section; keep one of them"
    if _DECIMAL_COMMA.search(source):
        return f"has a decimal comma; write a point: {shown.replace(',', '.')}"
    slip = "; text needs quotes, true and false do not" if said.startswith(_NOT_TOML_WORDS) else ""
    here = f" in: {shown}" if shown else ""
    return f"is not valid TOML ({printable(said)}){here}{slip}"
