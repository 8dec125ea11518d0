"""A changed job as a file: what did not change stays as its maker wrote it, comments and all."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Job
from moldwin.inputs.job_keys import SECTIONS
from moldwin.inputs.text_files import read_text
from moldwin.inputs.toml_lines import key_lines
from moldwin.inputs.toml_value import toml_value
from moldwin.inputs.whole_file import write_whole

__all__ = ["rewritten", "write_recipe"]

#: A value behind its key, up to a comment.
_VALUE = r"""^(\s*["']?{key}["']?\s*=\s*)("[^"]*"|'[^']*'|[^#\s][^#]*?)(\s*(?:#.*)?)$"""
#: Paths in a job start from its folder.
_PATHS = (("part", "mesh"),)
#: What an old comment would get wrong.
_REMARKS = {"pellets.moisture_pct": "where they are to be brought to; they are not made yet"}
_NONE: Mapping[str, str] = {}


def write_recipe(target: Path, before: Job, after: Job, moisture: float, pellets: float) -> None:
    """Write the changed job, with the pellets that its pot is to give.

    Parameters
    ----------
    target : pathlib.Path
        The file itself, as from `checked_target`. [-]
    before, after : Job
        As read, and as changed. [SI]
    moisture : float
        To mold at, wet basis: what the pellets are to be brought to. [kg/kg]
    pellets : float
        What the pot gives at that. [kg]

    Raises
    ------
    InputError
        The file lies elsewhere and the job names files by their place, or it cannot be written.
    """
    wanted = copy.deepcopy(dict(after.raw))
    _check_place(target, before, wanted)
    told = wanted.setdefault("pellets", {})
    told.pop("weighings", None)
    told["moisture_pct"] = round(100.0 * moisture, 1)
    told["moisture_guessed"] = True
    told["mass_g"] = float(f"{1e3 * pellets:.4g}")
    text = "" if before.path is None else read_text(before.path)
    data = rewritten(text, wanted, _REMARKS).encode("utf-8")
    write_whole(target, data, named=str(target))


def rewritten(text: str, wanted: Mapping[str, Any], remarks: Mapping[str, str] = _NONE) -> str:
    """A job's text with other values in it.

    Parameters
    ----------
    text : str
        TOML that a parser has accepted. [-]
    wanted : mapping
        What the new text is to say. [as the job's keys]
    remarks : mapping of str to str, optional
        Comments for lines that are changed, by their dotted key, in the place of the old ones. [-]

    Returns
    -------
    str
        The text with the lines changed that have to be; where that is not possible, as with tables
        written inline, a plain one of the same content, without comments. [-]

    Examples
    --------
    >>> rewritten("[pot]\\nwater_g = 900 # warm\\n", {"pot": {"water_g": 1200, "cook_min": 20}})
    '[pot]\\ncook_min = 20\\nwater_g = 1200 # warm\\n'
    """
    try:
        new = _edited(text, wanted, remarks)
        if tomllib.loads(new) == wanted:
            return new
    except (ValueError, KeyError, IndexError, RecursionError):
        pass
    return _plain(wanted)


def _check_place(target: Path, job: Job, wanted: Mapping[str, Any]) -> None:
    if job.path is None or target.parent.resolve() == job.folder.resolve():
        return
    named = [f"{s}.{k}" for s, k in _PATHS if k in wanted.get(s, {})]
    if named or (job.folder / "cards").is_dir():
        what = " and ".join([*named, *(["its cards/"] if (job.folder / "cards").is_dir() else [])])
        message = f"must lie beside {job.path}: {what} would not be found from elsewhere"
        raise InputError([Fault(str(target), "", message)])


# ------------------------------------------------------------------------- line by line


def _edited(text: str, wanted: Mapping[str, Any], remarks: Mapping[str, str]) -> str:
    old, lines = tomllib.loads(text), text.split("\n")
    for name, value in wanted.items():
        if name == "ingredient":
            _rows(lines, old.get(name, []), value)
        elif isinstance(value, Mapping):
            _table(lines, name, old.get(name), value)
        elif old.get(name) != value:
            _put(lines, "", name, value)
    for dotted, remark in remarks.items():
        _remark(lines, dotted, remark)
    return "\n".join(lines)


def _table(lines: list[str], name: str, old: Any, wanted: Mapping[str, Any]) -> None:
    if old is None:
        body = [f"{key} = {toml_value(value)}" for key, value in wanted.items()]
        _append(lines, [f"[{name}]", *body])
        return
    for key in old.keys() - wanted.keys():
        _comment_out(lines, f"{name}.{key}")
    for key, value in wanted.items():
        if old.get(key) != value:
            _put(lines, name, key, value)


def _rows(lines: list[str], old: list[Any], wanted: list[Any]) -> None:
    """Rows are known by their card and lot; what is left over is new, or goes."""
    left, gone = list(wanted), []
    for number, row in enumerate(old):
        same = next((r for r in left if _identity(r) == _identity(row)), None)
        if same is None:
            gone.append(number)
            continue
        left.remove(same)
        _table(lines, f"ingredient.{number}", row, same)
    for number in reversed(gone):  # from below, so that the rows above keep their numbers
        _comment_out_row(lines, number)
    for row in left:
        _append(lines, ["[[ingredient]]", *(f"{key} = {toml_value(v)}" for key, v in row.items())])


def _identity(row: Mapping[str, Any]) -> tuple[Any, ...]:
    return row.get("card"), row.get("lot"), row.get("moisture_pct")


def _put(lines: list[str], section: str, key: str, value: Any) -> None:
    """Another value behind a key, or a line for it below its heading."""
    places = key_lines("\n".join(lines))
    dotted = f"{section}.{key}".lstrip(".")
    if dotted in places:
        at = places[dotted] - 1
        pattern = _VALUE.format(key=re.escape(key))
        lines[at] = re.sub(pattern, lambda m: _line(m, value), lines[at])
        return
    lines.insert(places[section] if section else 0, f"{key} = {toml_value(value)}")


def _line(old: re.Match[str], value: Any) -> str:
    """Another value in a line; its comment stays in its column where there is room."""
    new = old[1] + toml_value(value)
    if not old[3].strip():
        return new + old[3]
    return new.ljust(_column(old) - 1) + " " + old[3].lstrip()


def _remark(lines: list[str], dotted: str, remark: str) -> None:
    """A new comment behind a line, in the column of the old one."""
    place = key_lines("\n".join(lines)).get(dotted)
    if place is None:
        return
    found = re.match(_VALUE.format(key=re.escape(dotted.rpartition(".")[2])), lines[place - 1])
    if found is not None:
        lines[place - 1] = f"{found[1]}{found[2]}".ljust(_column(found)) + f"# {remark}"


def _column(line: re.Match[str]) -> int:
    """Where the comment of a line begins, or would."""
    gap = len(line[3]) - len(line[3].lstrip()) if line[3].strip() else 2
    return line.end(2) + gap


def _comment_out(lines: list[str], dotted: str) -> None:
    at = key_lines("\n".join(lines))[dotted] - 1
    lines[at] = "# " + lines[at]


def _comment_out_row(lines: list[str], number: int) -> None:
    row = f"ingredient.{number}"
    places = key_lines("\n".join(lines))
    mine = [at for name, at in places.items() if name == row or name.startswith(f"{row}.")]
    for at in mine:
        lines[at - 1] = "# " + lines[at - 1]


def _append(lines: list[str], block: list[str]) -> None:
    while lines and not lines[-1].strip():
        lines.pop()
    lines += ["", *block, ""] if lines else [*block, ""]


# ------------------------------------------------------------------------- written anew


def _plain(wanted: Mapping[str, Any]) -> str:
    lines = [
        f"{k} = {toml_value(v)}" for k, v in wanted.items() if not isinstance(v, Mapping | list)
    ]
    for name in (*SECTIONS, *(n for n in wanted if n not in SECTIONS)):
        value = wanted.get(name)
        if isinstance(value, list):
            lines += [line for row in value for line in _block(f"[[{name}]]", row)]
        elif isinstance(value, Mapping):
            own = {k: v for k, v in value.items() if not _is_rows(v)}
            lines += _block(f"[{name}]", own)
            for key in value.keys() - own.keys():
                lines += [line for row in value[key] for line in _block(f"[[{name}.{key}]]", row)]
    return "\n".join(lines) + "\n"


def _block(heading: str, table: Mapping[str, Any]) -> Iterator[str]:
    yield from ("", heading)
    yield from (f"{_key(key)} = {toml_value(value)}" for key, value in table.items())


def _is_rows(value: Any) -> bool:
    return isinstance(value, list | tuple) and any(isinstance(row, Mapping) for row in value)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else toml_value(name)
