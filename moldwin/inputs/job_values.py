"""One value of a job file: is it what the key asks for, and what is it in SI?"""

from __future__ import annotations

import datetime
import math
import numbers
import re
from collections.abc import Callable, Mapping
from typing import Any

from moldwin.inputs.errors import nearest
from moldwin.inputs.job_keys import KEYS, SECTIONS, UNITS, JobKey, keys_of
from moldwin.inputs.text_files import printable

__all__ = ["SlipError", "allowed", "nearest_name", "to_si", "unknown_key", "unknown_section"]

_LONGEST_TEXT = 300
_NUMBER_IN_TEXT = re.compile(r"[-+]?\d*[.,]?\d+(?:[eE][-+]?\d+)?")


class SlipError(ValueError):
    """A value does not fit its key; the message says why and what to write instead."""


def to_si(key: JobKey, value: Any) -> Any:
    """A value in SI, or the slip it holds.

    Parameters
    ----------
    key : JobKey
        What the key allows. [-]
    value : object
        What the file holds. [as the key's unit]

    Returns
    -------
    float, int, bool, str or tuple of str
        The value. [SI]

    Raises
    ------
    SlipError
        Wrong type or out of bounds.

    Examples
    --------
    >>> from moldwin.inputs.job_keys import keys_of
    >>> to_si(keys_of("press")["force_kn"], 3.5)
    3500.0
    """
    return _READERS[key.kind](key, value)


def allowed(key: JobKey) -> str:
    """What a key allows, in words.

    Parameters
    ----------
    key : JobKey
        The key. [-]

    Returns
    -------
    str
        For a message.

    Examples
    --------
    >>> from moldwin.inputs.job_keys import keys_of
    >>> allowed(keys_of("press")["force_kn"])
    'above 0, up to 500 kN'
    """
    if key.choices:
        return ", ".join(key.choices)
    if key.kind not in ("number", "integer"):
        return {"boolean": "true or false", "texts": "a list of names"}.get(key.kind, "text")
    low, high = f"{key.low:g}", f"{key.high:.7g}"
    span = f"above {low}, up to {high}" if key.above else f"{low} to {high}"
    return f"{span} {UNITS[key.unit].sign}".rstrip()


def nearest_name(word: str, names: Any) -> str:
    """Like `nearest`, but forgives capitals and spaces, which weigh too much in short names.

    Parameters
    ----------
    word : str
        What came. [-]
    names : iterable of str
        What may come. [-]

    Returns
    -------
    str
        ``"; did you mean 'x'?"`` or an empty string.

    Examples
    --------
    >>> nearest_name("iso 527-2 1ba", ["ISO 527-2 1B", "ISO 527-2 1BA"])
    "; did you mean 'ISO 527-2 1BA'?"
    """
    folded = {_folded(name): name for name in names}
    if (whole := folded.get(_folded(word))) is not None:
        return f"; did you mean {whole!r}?"
    last = [name for name in folded.values() if word.split()[-1:] == name.split()[-1:]]
    if " " in word and len(last) == 1:  # ISO 1BA: the ending tells specimens apart
        return f"; did you mean {last[0]!r}?"
    found = nearest(_folded(word)[:100], folded)
    for short, name in folded.items():
        found = found.replace(repr(short), repr(name))
    if found:
        return found
    inside = [name for short, name in folded.items() if _folded(word) and _folded(word) in short]
    return f"; did you mean {inside[0]!r}?" if inside else ""


def unknown_key(section: str, key: str) -> str:
    """What to say of a key that its section does not have.

    Parameters
    ----------
    section, key : str
        Where it stands and what it is called. [-]

    Returns
    -------
    str
        A sentence with the nearest key, or the section it belongs to.

    Examples
    --------
    >>> unknown_key("press", "force")
    "is not a key of [press]; did you mean 'force_kn'?"
    >>> unknown_key("mold", "humidity_pct")
    "is not a key of [mold]; did you mean 'room.humidity_pct'?"
    """
    known = keys_of(section)
    heading = f"[[{section}]]" if section in ("ingredient", "part.solid") else f"[{section}]"
    said = f"is not a key of {heading}"
    elsewhere = _sections_with(key)
    offer = "" if len(elsewhere) == 1 else nearest_name(key, known)
    if offer:
        return said + offer
    if elsewhere:
        return f"{said}; did you mean {elsewhere[0]!r}?"
    return f"{said}; allowed: {', '.join(known)}"


def unknown_section(name: str) -> str:
    """What to say of a heading, or a key above all headings, that a job does not have.

    Parameters
    ----------
    name : str
        What it is called. [-]

    Returns
    -------
    str
        A sentence with the nearest heading, or the heading a key belongs under.

    Examples
    --------
    >>> unknown_section("pellet")
    "is not a section of a job; did you mean 'pellets'?"
    >>> unknown_section("force_kn")
    "is not a section of a job; did you mean 'press.force_kn'?"
    """
    said = "is not a section of a job"
    places = _sections_with(name)
    if places:
        return f"{said}; did you mean {places[0]!r}?"
    offer = nearest_name(name, SECTIONS)
    return said + (offer or f"; allowed: {', '.join(SECTIONS)}")


def _sections_with(key: str) -> list[str]:
    """Dotted keys of this very name; the pellets' own first, they are what is meant most often."""
    found = [f"{k.section}.{k.key}" for k in KEYS if k.key == key and k.section]
    return sorted(found, key=lambda dotted: not dotted.startswith("pellets."))


def _folded(name: str) -> str:
    return "".join(c for c in name.casefold() if c.isalnum())


def _read_number(key: JobKey, value: Any) -> float:
    _refuse_other_types(key, value)
    if not isinstance(value, int) and not math.isfinite(value):
        raise SlipError(f"got {value}, which is not a number that can be measured; {_allowed(key)}")
    too_low = value < key.low or (key.above and value == key.low)
    if too_low or value > key.high:
        raise SlipError(f"got {_shown(value)}; {_allowed(key)}{_mistaken_unit(key, value)}")
    if key.percent and 0 < value < 1:
        raise SlipError(
            f"got {_shown(value)} %; did you mean {value * 100:g}? percent, no fraction"
        )
    return UNITS[key.unit].to_si(float(value))


def _read_integer(key: JobKey, value: Any) -> int:
    _refuse_other_types(key, value)
    if not isinstance(value, int) and not float(value).is_integer():
        raise SlipError(f"got {value:g}; a whole number belongs here, {_allowed(key)}")
    if not key.low <= value <= key.high:
        raise SlipError(f"got {_shown(value)}; {_allowed(key)}")
    return int(value)


def _read_boolean(key: JobKey, value: Any) -> bool:
    if not isinstance(value, bool):
        raise SlipError(f"got {_kind(value)}; write true or false, small and without quotes")
    return value


def _read_text(key: JobKey, value: Any) -> str:
    if not isinstance(value, str):
        raise SlipError(f"got {_kind(value)}; text in quotes belongs here")
    if key.key != "lot" and not value.strip():
        raise SlipError("is empty; leave the key out or fill it in")
    if len(value) > _LONGEST_TEXT:
        raise SlipError(f"has {len(value)} characters, allowed are {_LONGEST_TEXT}")
    return value


def _read_path(key: JobKey, value: Any) -> str:
    text = _read_text(key, value)
    if "\0" in text:
        raise SlipError("a file name cannot hold a zero character")
    return text


def _read_choice(key: JobKey, value: Any) -> str:
    text = _read_text(key, value)
    if text not in key.choices:
        offer = nearest_name(text, key.choices)
        raise SlipError(f"got '{printable(text)}'{offer or ';'} {_allowed(key)}")
    return text


def _read_texts(key: JobKey, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or not all(isinstance(name, str) for name in value):
        raise SlipError(f'got {_kind(value)}; a list of names belongs here, like ["NaCl"]')
    if not value:
        raise SlipError("is an empty list; leave the key out or name what is at hand")
    return tuple(_read_text(key, name) for name in value)


_READERS: Mapping[str, Callable[[JobKey, Any], Any]] = {
    "number": _read_number,
    "integer": _read_integer,
    "boolean": _read_boolean,
    "text": _read_text,
    "choice": _read_choice,
    "path": _read_path,
    "texts": _read_texts,
}


def _allowed(key: JobKey) -> str:
    return f"allowed: {allowed(key)}"


def _refuse_other_types(key: JobKey, value: Any) -> None:
    """Only int and float pass; a bool is an int to Python, but not to anyone else."""
    if isinstance(value, numbers.Real) and not isinstance(value, bool):
        return
    hint = _number_hint(value) if isinstance(value, str) else ""
    raise SlipError(f"got {_kind(value)}; a number belongs here, {allowed(key)}{hint}")


def _number_hint(text: str) -> str:
    """How to write the number that a text seems to hold."""
    found = _NUMBER_IN_TEXT.search(text)
    if not found or len(text) > 40:
        return ""
    number = found.group()
    if "," in number:
        return f"; use a point and no quotes: {number.replace(',', '.')}"
    if found.group() != text.strip():
        return f"; the key names the unit, so write the number alone: {number}"
    return f"; write it without quotes: {number}"


def _kind(value: Any) -> str:
    """What a value is, in a maker's words."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'the text "{printable(value, 40)}"'
    if isinstance(value, datetime.date | datetime.time):
        return f"the date or time {value}"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, int | float):
        return f"the number {_shown(value)}"
    return f"a {printable(type(value).__name__)}"


def _shown(value: float) -> str:
    """A number as typed; Python refuses to print whole numbers of thousands of digits."""
    if isinstance(value, int) and value.bit_length() > 64:
        return "a number of more than 19 digits"
    return f"{value:.12g}"


def _mistaken_unit(key: JobKey, value: float) -> str:
    """The unit the value seems to be in, when it would be in bounds as that."""
    if isinstance(value, int) and value.bit_length() > 64:
        return ""
    for name, meant in UNITS[key.unit].mistaken:
        better = meant(float(value))
        if value > 0 and key.low <= better <= key.high and better != 0:
            return f"; did you mean {better:.4g}? {value:g} looks like {name}"
    return ""
