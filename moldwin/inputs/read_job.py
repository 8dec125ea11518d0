"""A job file, or the same tables from Python, read into a `Job`, with every fault told at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldwin.inputs.cards import Library, library_for
from moldwin.inputs.errors import CardError, Fault, InputError
from moldwin.inputs.files import shipped
from moldwin.inputs.job import (
    Blend,
    Ingredient,
    Jar,
    Job,
    Mold,
    Oven,
    Part,
    Pellets,
    Pot,
    Press,
    Room,
    Scale,
    Sheet,
    SolidSpec,
    Use,
)
from moldwin.inputs.job_cards import card_faults
from moldwin.inputs.job_keys import SECTIONS, JobKey, keys_of
from moldwin.inputs.job_rules import broken_rules, solid_rules, unused
from moldwin.inputs.job_values import SlipError, to_si, unknown_key, unknown_section
from moldwin.inputs.settings import apply_settings
from moldwin.inputs.text_files import printable, read_text
from moldwin.inputs.toml_lines import key_lines, line_of
from moldwin.inputs.toml_plain import parse_toml, too_deep
from moldwin.inputs.weighings import read_weighings

__all__ = ["BUNDLED", "Source", "check_job", "read_job"]

#: What a job can come from.
Source = str | Path | Mapping[str, Any] | Job | None

#: The example read when no job is named.
BUNDLED = "starch-glycerol-bar.toml"

_CLASSES: dict[str, type] = {
    "pot": Pot,
    "blend": Blend,
    "sheet": Sheet,
    "oven": Oven,
    "pellets": Pellets,
    "press": Press,
    "mold": Mold,
    "part": Part,
    "room": Room,
    "jar": Jar,
    "use": Use,
    "scale": Scale,
}

_MOST_FAULTS = 50
_PRICE = JobKey("price", "", "", "number", "currency per kg", "", 0, 1e6)


def read_job(
    source: Source = None, sets: Sequence[str] = (), *, library: Library | None = None
) -> Job:
    """Read a job.

    Parameters
    ----------
    source : str, pathlib.Path, mapping, Job or None
        A TOML file, its tables, a job read before, or nothing for the bundled example. [-]
    sets : sequence of str
        What-ifs, each ``KEY=VALUE`` in the job's own keys and units. [-]
    library : Library, optional
        Cards read before, for one what-if after another; left out, they are read anew. [-]

    Returns
    -------
    Job
        All that was given, in SI.

    Raises
    ------
    InputError
        Everything wrong in the file and in the settings, at once.
    CardError
        A card of the recipe is wrong.

    Examples
    --------
    >>> read_job(sets=["pellets.moisture_pct=16"]).pellets.moisture
    0.16
    """
    if isinstance(source, Job) and not sets:
        return source
    reader = _Reader(_open(source), sets, library)
    job = reader.job()
    if reader.faults:
        raise InputError(reader.faults)
    return job


def check_job(source: Source = None, sets: Sequence[str] = ()) -> list[Fault]:
    """Everything wrong with a job; an empty list when it can be used.

    Parameters
    ----------
    source, sets
        As for `read_job`. [-]

    Returns
    -------
    list of Fault
        In the order found.

    Raises
    ------
    CardError
        A card of the recipe is wrong.

    Examples
    --------
    >>> [fault.key for fault in check_job({"pellets": {"moisture_pct": 120}})]
    ['pellets.moisture_pct', 'ingredient']
    """
    try:
        read_job(source, sets)
    except CardError:
        raise
    except InputError as error:
        return list(error.faults)
    return []


@dataclass(frozen=True)
class _Opened:
    """Tables, and where they came from."""

    raw: Mapping[str, Any]
    name: str
    folder: Path
    path: Path | None = None
    text: str = ""
    bundled: bool = False


def _open(source: Source) -> _Opened:
    if isinstance(source, Job):
        return _Opened(source.raw, "job", source.folder, source.path, bundled=source.bundled)
    if isinstance(source, Mapping):
        if too_deep(source):
            raise InputError([Fault("job", "", "is nested too deeply for a job")])
        return _Opened(source, "job", Path())
    path = shipped("examples") / BUNDLED if source is None else Path(source)
    name = BUNDLED if source is None else printable(source, 200)
    text = read_text(path)
    raw = parse_toml(text, name)
    if not raw:
        raise InputError([Fault(name, "", "is empty; a job needs [[ingredient]] and [pellets]")])
    return _Opened(raw, name, path.parent, path, text, source is None)


class _TooMany(Exception):
    """Enough faults for one reading."""


class _Reader:
    """Turns tables into a Job and collects every fault on the way."""

    def __init__(self, opened: _Opened, sets: Sequence[str], library: Library | None) -> None:
        settings = apply_settings(opened.raw, sets)
        self.faults = settings.faults
        self._opened = opened
        self._library = library
        self._raw = settings.raw
        self._set = settings.places
        self._notes = list(settings.notes)
        self._lines: dict[str, int] | None = None

    def job(self) -> Job:
        """The job; not to be used when there are faults."""
        try:
            return self._read()
        except _TooMany:
            self.faults.append(Fault(self._opened.name, "", "and more; mend these first"))
            return Job()

    def _read(self) -> Job:
        self._check_headings()
        opened = self._opened
        title = self._values("", {k: v for k, v in self._raw.items() if k == "title"}, "")
        sections = {name: cls(**self._section(name)) for name, cls in _CLASSES.items()}
        job = Job(
            title=title.get("title", ""),
            path=opened.path,
            folder=opened.folder,
            ingredients=self._ingredients(),
            price=self._prices(),
            raw=self._raw,
            bundled=opened.bundled,
            **sections,
        )
        job = self._completed(job)
        for key, message in broken_rules(self._raw, job, self._set):
            self._fault(key, message)
        library = self._library or library_for(job.folder)
        for key, message in card_faults(self._raw, job, library):
            self._fault(key, message)
        return replace(job, notes=(*self._notes, *unused(self._raw)))

    # ------------------------------------------------------------------ faults

    def _fault(self, key: str, message: str) -> None:
        shown = self._shown(key)
        if key in self._set:
            self.faults.append(Fault("--set", shown, message))
        else:
            self.faults.append(Fault(self._opened.name, shown, message, self._line(key)))
        if len(self.faults) >= _MOST_FAULTS:
            raise _TooMany

    def _line(self, key: str) -> int | None:
        if self._lines is None:
            self._lines = key_lines(self._opened.text)
        return line_of(self._lines, key)

    def _shown(self, key: str) -> str:
        """The key as `--set` would take it: an ingredient by its card, not by its number."""
        parts = key.split(".")
        if parts[0] == "ingredient" and len(parts) == 3 and parts[2] != "card":
            row = self._raw["ingredient"]
            row = row[int(parts[1])] if isinstance(row, list) else row
            if isinstance(row.get("card"), str):
                return printable(f"ingredient.{row['card']}.{parts[2]}", 80)
        if parts[0] == "ingredient" and len(parts) > 1:
            parts[1] = f"row {int(parts[1]) + 1}"
        return printable(".".join(parts), 80)

    # ---------------------------------------------------------------- sections

    def _check_headings(self) -> None:
        for name in self._raw:
            if name not in SECTIONS and name != "title":
                self._fault(str(name), unknown_section(str(name)))

    def _values(self, section: str, table: Mapping[str, Any], prefix: str) -> dict[str, Any]:
        """What of a table could be read, by field; the rest becomes faults."""
        known, found = keys_of(section), {}
        for name, value in table.items():
            path = f"{prefix}{name}"
            if name not in known:
                self._fault(path, unknown_key(section, str(name)))
                continue
            try:
                found[known[name].field] = to_si(known[name], value)
            except SlipError as slip:
                self._fault(path, str(slip))
        return found

    def _section(self, name: str) -> dict[str, Any]:
        table = self._raw.get(name, {})
        if isinstance(table, list):
            self._fault(name, f"write [{name}] once, in single brackets; only ingredients repeat")
            return {}
        if not isinstance(table, Mapping):
            self._fault(name, f"is a section: write [{name}] on its own line, its keys below")
            return {}
        plain = {k: v for k, v in table.items() if (name, k) != ("part", "solid")}
        values = self._values(name, plain, f"{name}.")
        if name == "part":
            values["solids"] = self._solids(table.get("solid", []))
        return values

    def _rows(self, name: str, rows: Any) -> list[tuple[int, Mapping[str, Any]]]:
        """Rows of an array of tables, with their number."""
        if isinstance(rows, Mapping):
            self._fault(name, f"write [[{name}]] in double brackets, once for each")
            return []
        if not isinstance(rows, list | tuple) or not all(isinstance(r, Mapping) for r in rows):
            self._fault(name, f"is a list of tables: write [[{name}]] on its own line for each")
            return []
        return list(enumerate(rows))

    def _ingredients(self) -> tuple[Ingredient, ...]:
        found = []
        for number, row in self._rows("ingredient", self._raw.get("ingredient", [])):
            prefix = f"ingredient.{number}."
            values = self._values("ingredient", row, prefix)
            for key in ("card", "mass_g"):
                if key not in row:
                    self._fault(prefix + key, "is missing; every ingredient needs card and mass_g")
            if "card" in values and "mass" in values:
                found.append(Ingredient(**values))
        return tuple(found)

    def _solids(self, rows: Any) -> tuple[SolidSpec, ...]:
        found = []
        for number, row in self._rows("part.solid", rows):
            prefix = f"part.solid.{number}."
            values = self._values("part.solid", row, prefix)
            if "shape" not in row:
                self._fault(prefix + "shape", "is missing; a solid needs its shape")
            if "shape" not in values:
                continue
            solid = SolidSpec(**values)
            for key, message in solid_rules(row, solid):
                self._fault(prefix + key, message)
            found.append(solid)
        return tuple(found)

    def _prices(self) -> dict[str, float]:
        table = self._raw.get("price", {})
        if not isinstance(table, Mapping):
            self._fault("price", "is a section: write [price], then card = price per kg")
            return {}
        found = {}
        for card, value in table.items():
            try:
                found[str(card)] = to_si(_PRICE, value)
            except SlipError as slip:
                self._fault(f"price.{card}", str(slip))
        return found

    # -------------------------------------------------- what follows from others

    def _completed(self, job: Job) -> Job:
        """Paths from the job's folder, the barrel's default, moisture from weighings."""
        press, part, pellets = job.press, job.part, job.pellets
        if press.barrel_diameter is None:
            press = replace(press, barrel_diameter=press.plunger_diameter)
        if part.mesh is not None:
            part = replace(part, mesh=job.folder / part.mesh)
        if pellets.weighings is not None and pellets.moisture is None:
            pellets = self._weighed(pellets, job)
        return replace(job, press=press, part=part, pellets=pellets)

    def _weighed(self, pellets: Pellets, job: Job) -> Pellets:
        path = job.folder / str(pellets.weighings)
        try:
            table = read_weighings(path, job.scale.resolution)
        except InputError as error:
            self.faults.extend(error.faults[:_MOST_FAULTS])
            return replace(pellets, weighings=path)
        if table.moisture > 0.6:
            message = f"the table gives {table.moisture:.1%} water, allowed: up to 60 %"
            self._fault("pellets.weighings", message)
        return replace(
            pellets,
            weighings=path,
            moisture=table.moisture,
            moisture_u=table.moisture_u,
            moisture_guessed=False,
        )
