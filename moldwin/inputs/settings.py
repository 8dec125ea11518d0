"""``--set KEY=VALUE``: a what-if laid over the job as it stands in the file."""

from __future__ import annotations

import copy
import numbers
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from moldwin.inputs.errors import Fault
from moldwin.inputs.job_keys import SECTIONS, JobKey, keys_of
from moldwin.inputs.job_values import unknown_key, unknown_section
from moldwin.inputs.text_files import printable

__all__ = ["Settings", "apply_settings"]

_MESH = ("mesh", "mesh_unit", "clamp_axis", "gate_x_mm", "gate_y_mm", "gate_z_mm")
#: Ways to say the same thing: setting one of them takes the others out of the job.
_ALTERNATIVES: dict[str, tuple[tuple[str, ...], ...]] = {
    "pellets": (("moisture_pct", "moisture_u_pct"), ("weighings",)),
    "press": (
        ("force_kn",),
        ("melt_pressure_mpa",),
        ("lever_force_n", "lever_ratio"),
        ("gauge_mpa", "jack_piston_diameter_mm"),
    ),
    "part": (("specimen",), _MESH, ("solid",)),
    "jar": (("bed_area_cm2",), ("bed_depth_cm",)),
}
#: Keys that qualify another one and so displace nothing.
_COMPANIONS = ("moisture_u_pct", "lever_ratio", "jack_piston_diameter_mm", *_MESH[1:])

_PYTHON_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")


@dataclass
class Settings:
    """A job with what was set, and what was wrong with the setting.

    Parameters
    ----------
    raw : dict
        The job, a copy. [-]
    places : set of str
        Dotted keys whose value no longer comes from the file. [-]
    faults : list of Fault
        Settings that could not be applied. [-]
    notes : list of str
        What a setting did beyond its own key. [-]
    """

    raw: dict[str, Any]
    places: set[str] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def apply_settings(raw: Mapping[str, Any], sets: Sequence[str]) -> Settings:
    """Lay settings over a job; a later one wins.

    Parameters
    ----------
    raw : mapping
        Tables of a job file; left as they are. [-]
    sets : sequence of str
        Each ``KEY=VALUE``: a dotted job key, ``ingredient.CARD.KEY`` or ``part.solid.0.KEY``; the
        value as in TOML, or bare text. [-]

    Returns
    -------
    Settings
        The changed copy; values are not checked here.

    Notes
    -----
    ``ingredient.CARD.mass_g`` is the total of that card: several rows share it as before, 0 takes
    them out, and a card that is not there yet gets a row.

    Examples
    --------
    >>> apply_settings({"pellets": {"moisture_pct": 9}}, ["pellets.moisture_pct=16"]).raw
    {'pellets': {'moisture_pct': 16}}
    """
    settings = Settings(copy.deepcopy(dict(raw)))
    for text in sets:
        key, equals, value = str(text).partition("=")
        if not equals or not key.strip():
            _complain(settings, str(text), "write KEY=VALUE, like pellets.moisture_pct=12")
            continue
        _apply(settings, key.strip(), value.strip())
    return settings


def _complain(settings: Settings, key: str, message: str) -> None:
    settings.faults.append(Fault("--set", printable(key), message))


def _apply(settings: Settings, dotted: str, text: str) -> None:
    section, *rest = dotted.split(".")
    if not rest and section == "title":
        settings.raw["title"] = text
        settings.places.add("title")
    elif section not in SECTIONS:
        _complain(settings, dotted, unknown_section(section))
    elif not rest or not all(rest):
        _complain(settings, dotted, f"names a section; write {section}.KEY=VALUE")
    elif section == "ingredient":
        _set_ingredient(settings, dotted, rest, text)
    elif section == "price":
        _put(settings, ("price", ".".join(rest)), _parsed(text))
    elif section == "part" and rest[0] == "solid":
        _set_solid(settings, dotted, rest[1:], text)
    else:
        _set_plain(settings, section, ".".join(rest), text)


def _set_plain(settings: Settings, section: str, name: str, text: str) -> None:
    key = keys_of(section).get(name)
    if key is None:
        _complain(settings, f"{section}.{name}", unknown_key(section, name))
        return
    _displace(settings, section, name)
    _put(settings, (section, name), _value(key, text))


def _put(settings: Settings, path: tuple[str, str], value: Any) -> None:
    section, name = path
    table = settings.raw.setdefault(section, {})
    if isinstance(table, dict):  # anything else is a fault of the file, reported from there
        table[name] = value
        settings.places.add(f"{section}.{name}")


def _displace(settings: Settings, section: str, name: str) -> None:
    """Take out the other ways to say what is being set now."""
    table = settings.raw.get(section)
    ways = _ALTERNATIVES.get(section, ())
    if not isinstance(table, dict) or name in _COMPANIONS or not any(name in way for way in ways):
        return
    for way in ways:
        for other in way:
            if name not in way and table.pop(other, None) is not None:
                settings.notes.append(f"{section}.{other} of the job gives way to {name}")


def _set_solid(settings: Settings, dotted: str, rest: list[str], text: str) -> None:
    part = settings.raw.get("part")
    solids = part.get("solid") if isinstance(part, dict) else None
    rows = solids if isinstance(solids, list) else []
    if len(rest) != 2 or not rest[0].isdecimal():
        _complain(settings, dotted, "write part.solid.NUMBER.KEY=VALUE, counting from 0")
        return
    index = int(rest[0][:6])
    key = keys_of("part.solid").get(rest[1])
    if key is None:
        _complain(settings, dotted, unknown_key("part.solid", rest[1]))
    elif index >= len(rows):
        _complain(settings, dotted, f"the part has {len(rows)} solids, counted from 0")
    elif isinstance(rows[index], dict):
        rows[index][key.key] = _value(key, text)
        settings.places.add(f"part.solid.{index}.{key.key}")


def _set_ingredient(settings: Settings, dotted: str, rest: list[str], text: str) -> None:
    if len(rest) < 2:
        _complain(settings, dotted, "write ingredient.CARD.KEY=VALUE")
        return
    card, name = ".".join(rest[:-1]), rest[-1]
    key = keys_of("ingredient").get(name)
    if key is None:
        _complain(settings, dotted, unknown_key("ingredient", name))
        return
    rows = settings.raw.setdefault("ingredient", [])
    if not isinstance(rows, list):
        return  # a fault of the file, reported from there
    value = _value(key, text)
    mine = [i for i, row in enumerate(rows) if isinstance(row, dict) and row.get("card") == card]
    if name == "mass_g":
        _set_mass(settings, card, mine, value)
    elif not mine:
        message = f"the job has no {printable(card)}; set ingredient.{printable(card)}.mass_g first"
        _complain(settings, dotted, message)
    else:
        for i in mine:
            rows[i][name] = value
            settings.places.add(f"ingredient.{i}.{name}")


def _set_mass(settings: Settings, card: str, mine: list[int], value: Any) -> None:
    """The total of one card: shared between its rows as before."""
    rows = settings.raw["ingredient"]
    if _is_number(value) and value == 0:
        _take_out(settings, card, mine)
        return
    if not mine:
        rows.append({"card": card})
        mine = [len(rows) - 1]
        settings.places.add(f"ingredient.{mine[0]}.card")
    for i, share in zip(mine, _shares([rows[i].get("mass_g") for i in mine]), strict=True):
        rows[i]["mass_g"] = value * share if _is_number(value) and len(mine) > 1 else value
        settings.places.add(f"ingredient.{i}.mass_g")


def _take_out(settings: Settings, card: str, mine: list[int]) -> None:
    """Leave a card out; the rows behind it move up, and so do their places."""
    rows = settings.raw["ingredient"]
    kept = [i for i in range(len(rows)) if i not in mine]
    moved = {f"ingredient.{old}.": f"ingredient.{new}." for new, old in enumerate(kept)}
    settings.raw["ingredient"] = [rows[i] for i in kept]
    places = set()
    for place in settings.places:
        row = ".".join(place.split(".")[:2]) + "."
        if not place.startswith("ingredient."):
            places.add(place)
        elif row in moved:
            places.add(place.replace(row, moved[row], 1))
    settings.places = places
    settings.notes.append(f"ingredient {printable(card)} is left out: its mass was set to 0")


def _shares(masses: list[Any]) -> list[float]:
    if not all(_is_number(mass) and mass > 0 for mass in masses) or not sum(masses) < float("inf"):
        return [1 / len(masses)] * len(masses)
    return [mass / sum(masses) for mass in masses]


def _is_number(value: Any) -> bool:
    return isinstance(value, numbers.Real) and not isinstance(value, bool)


def _value(key: JobKey, text: str) -> Any:
    """The value as in TOML, or as typed where the key takes text anyway."""
    value = _parsed(text)
    if key.kind in ("text", "choice", "path") and not isinstance(value, str):
        return text
    if key.kind == "boolean" and text.casefold() in ("true", "false"):
        return text.casefold() == "true"
    if key.kind == "texts" and isinstance(value, str):
        return [name.strip() for name in value.split(",") if name.strip()]
    return value


def _parsed(text: str) -> Any:
    """A TOML value, a number as Python writes it (5., .5, 007), or the text itself."""
    try:
        found = tomllib.loads(f"value = {text}")
        if list(found) == ["value"]:
            return found["value"]
    except (ValueError, RecursionError):
        pass
    if len(text) < 50 and _PYTHON_NUMBER.fullmatch(text):
        return float(text)
    return text
