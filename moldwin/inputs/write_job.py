"""A measured moisture put into a job file: two keys change, every other byte stays."""

from __future__ import annotations

import copy
import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.read_job import read_job
from moldwin.inputs.text_files import printable, read_text
from moldwin.inputs.toml_lines import key_lines
from moldwin.inputs.toml_plain import parse_toml
from moldwin.inputs.whole_file import write_whole

__all__ = ["Written", "with_pellets", "write_moisture"]

_BOM = b"\xef\xbb\xbf"
_KEYS = ("moisture_pct", "moisture_u_pct")
#: What no longer holds once the moisture is measured and written.
_GIVES_WAY = ("weighings", "moisture_guessed")
_WETTEST, _LEAST_SURE = 60.0, 20.0
_NUMBER = r"[-+]?\d[\d_]*(?:\.[\d_]+)?(?:[eE][-+]?\d+)?(?![\w.])"
#: A number behind its key, the key bare or in quotes, dotted or in an inline table.
_VALUE = r"""((?<![\w-])["']?{key}["']?\s*=\s*)""" + _NUMBER
_HEADER = re.compile(r"""\s*\[\s*["']?pellets["']?\s*\]""")
_INLINE = re.compile(r"""(["']?pellets["']?\s*=\s*\{)(\s*)""")
_BY_HAND = "cannot be changed safely here; write these two lines yourself: "


@dataclass(frozen=True)
class Written:
    """What a job file holds now, and what it held before.

    Parameters
    ----------
    file : str
        As the user named it. [-]
    now, before : mapping of str to object
        Keys of ``[pellets]`` and their values. [as the keys' units]
    """

    file: str
    now: Mapping[str, float]
    before: Mapping[str, Any]


def write_moisture(path: str, moisture: float, moisture_u: float, force: bool = False) -> Written:
    """Write ``pellets.moisture_pct`` and ``moisture_u_pct`` into a job file.

    Parameters
    ----------
    path : str
        The job. [-]
    moisture, moisture_u : float
        Wet basis, and its standard uncertainty. [kg/kg]
    force : bool
        Let ``pellets.weighings`` give way: its line becomes a comment. [-]

    Returns
    -------
    Written
        The new values, with no more digits than the uncertainty allows, and the old ones.

    Raises
    ------
    InputError
        Not a sound job, not writable, values that a job does not take, or ``weighings`` in the way.

    Notes
    -----
    The text is changed in place and read back: only these keys may differ. It then takes the
    file's name in one step, so that nobody ever sees half of it. A link stays a link.
    """
    name = printable(path, 200)
    values = _rounded(name, 100.0 * moisture, 100.0 * moisture_u)
    text = read_text(path)
    before = parse_toml(text, name)
    read_job(path, [f"pellets.{key}={value}" for key, value in values.items()])  # is it a job?
    pellets = before.get("pellets", {})
    if "weighings" in pellets and not force:
        message = "gives the moisture already; --force makes it a comment and writes the number"
        raise InputError([Fault(name, "pellets.weighings", message)])
    new = with_pellets(text, values)
    if new is None:
        lines = " and ".join(f"{key} = {value}" for key, value in values.items())
        raise InputError([Fault(name, "pellets", _BY_HAND + lines)])
    _replace(Path(path), name, new)
    old = {key: pellets[key] for key in (*_KEYS, "weighings") if key in pellets}
    return Written(name, {key: float(value) for key, value in values.items()}, old)


def with_pellets(text: str, values: Mapping[str, str]) -> str | None:
    """The text with new values in ``[pellets]``; ``weighings`` and a guess become comments.

    Parameters
    ----------
    text : str
        TOML that a parser has accepted. [-]
    values : mapping of str to str
        Number by key, as it is to be written. [as the keys' units]

    Returns
    -------
    str or None
        None where the new text would not say exactly this.

    Examples
    --------
    >>> with_pellets("[pellets]\\nmoisture_pct = 9 # damp\\n", {"moisture_pct": "8.5"})
    '[pellets]\\nmoisture_pct = 8.5 # damp\\n'
    """
    lines = text.split("\n")
    for key, value in values.items():
        _put(lines, key, value)
    _comment_out(lines)
    new = "\n".join(lines)
    try:
        return new if tomllib.loads(new) == _expected(text, values) else None
    except (ValueError, RecursionError):
        return None


def _expected(text: str, values: Mapping[str, str]) -> dict[str, Any]:
    tables = copy.deepcopy(tomllib.loads(text))
    pellets = tables.setdefault("pellets", {})
    for key in _GIVES_WAY:
        pellets.pop(key, None)
    pellets.update({key: tomllib.loads(f"v = {value}")["v"] for key, value in values.items()})
    return tables


def _put(lines: list[str], key: str, value: str) -> None:
    """Change the number behind a key, or add a line for it."""
    places = key_lines("\n".join(lines))
    table = places.get("pellets")
    own = places.get(f"pellets.{key}")
    inline = table is not None and _INLINE.search(lines[table - 1])
    if own is not None:
        lines[own - 1] = _changed(lines[own - 1], key, value)
    elif table is not None and inline:
        line = lines[table - 1]
        new = _INLINE.sub(rf"\g<1>\g<2>{key} = {value}, ", line, count=1)
        lines[table - 1] = _changed(line, key, value, otherwise=new)
    elif table is not None and _HEADER.match(lines[table - 1]):
        _insert(lines, places.get("pellets.moisture_pct", table), f"{key} = {value}")
    elif dotted := [line for name, line in places.items() if name.startswith("pellets.")]:
        _insert(lines, min(dotted), f"pellets.{key} = {value}")
    else:
        _append_table(lines, f"{key} = {value}")


def _changed(line: str, key: str, value: str, otherwise: str | None = None) -> str:
    """The line with another number behind the key; the other line where it has no such key."""
    new, found = re.subn(_VALUE.format(key=key), rf"\g<1>{value}", line, count=1)
    return new if found or otherwise is None else otherwise


def _insert(lines: list[str], after: int, line: str) -> None:
    """Add a line below another one, indented and ended as its neighbor is."""
    above = lines[after - 1]
    indent = above[: len(above) - len(above.lstrip())]
    lines.insert(after, indent + line + ("\r" if above.endswith("\r") else ""))


def _append_table(lines: list[str], line: str) -> None:
    end = "\r" if any(other.endswith("\r") for other in lines) else ""
    if lines[-1].strip():
        lines[-1] += end
        lines.append("")
    lines[-1:] = [end, "[pellets]" + end, line + end, ""]


def _comment_out(lines: list[str]) -> None:
    places = key_lines("\n".join(lines))
    for key in _GIVES_WAY:
        place = places.get(f"pellets.{key}")
        if place is not None:
            lines[place - 1] = "# " + lines[place - 1]


def _rounded(name: str, moisture: float, u: float) -> dict[str, str]:
    """Both in percent, with two digits of the uncertainty."""
    for key, value, most in zip(_KEYS, (moisture, u), (_WETTEST, _LEAST_SURE), strict=True):
        if value > most:
            message = f"a job takes up to {most:g}, measured was {value:.3g}"
            raise InputError([Fault(name, f"pellets.{key}", message)])
    places = 4
    while places > 1 and u >= 10.0 ** (2 - places):
        places -= 1
    return dict(zip(_KEYS, (f"{moisture:.{places}f}", f"{u:.{places}f}"), strict=True))


def _replace(path: Path, name: str, text: str) -> None:
    """Give the file its new text in one step; mode and owner stay."""
    target = Path(os.path.realpath(path))
    try:
        status = target.stat()
        if not status.st_mode & 0o222 or not os.access(target, os.W_OK):
            raise InputError([Fault(name, "", "is read-only; nothing was written")])
        mark = _BOM if target.read_bytes().startswith(_BOM) else b""
    except OSError as error:
        message = f"cannot be written: {error.strerror or error}"
        raise InputError([Fault(name, "", message)]) from None
    write_whole(target, mark + text.encode(), like=status, named=name)
