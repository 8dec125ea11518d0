"""One trial at the press: what went in, what came out, and what may be said of either."""

from __future__ import annotations

import datetime
import re
import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from moldwin.inputs.job_keys import JobKey
from moldwin.inputs.job_values import SlipError, to_si
from moldwin.inputs.text_files import printable
from moldwin.learn.job_then import JobThen

__all__ = [
    "CAME_OUT",
    "COLOR_SCALE",
    "COLUMNS",
    "PUT_IN",
    "Trial",
    "contradictions",
    "new_id",
    "now",
    "read_value",
    "short_ids",
    "written_value",
]

#: Steps of color by eye, the part held beside an unheated pellet in daylight (our own wording).
COLOR_SCALE: tuple[str, ...] = (
    "as the pellets were: no difference side by side",
    "a shade darker, seen only side by side",
    "honey: plainly yellower, clear or milky as before",
    "toffee: light brown all through, smells of caramel",
    "dark brown, or brown streaks; smells burnt",
    "black or charred somewhere",
)

#: "some": there were bubbles, and nobody noted where.
_BUBBLES = ("none", "some", "skin", "heart", "all")
_SPOKEN = {"no": "none", "yes": "some"}
_YES_NO = {"yes": True, "y": True, "true": True, "1": True}
_YES_NO |= {"no": False, "n": False, "false": False, "0": False}

_LONGEST_NOTE, _LONGEST_NAME = 10_000, 300
_SHORT_ID = 13
_PLAIN_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", re.ASCII)
_DOTTED_DATE = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", re.ASCII)
_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
#: A part filled this far may be called filled; whoever says "filled: yes, 60 %" has slipped.
_FILLED_FROM = 95.0


def _number(
    key: str, unit: str, low: float, high: float, what: str, *, above: bool = False
) -> JobKey:
    field = key.rpartition("_")[0] if "_" in key else key
    percent = unit == "pct"
    return JobKey("trial", key, field, "number", what, unit, low, high, above, percent)


def _yes_no(key: str, what: str) -> JobKey:
    return JobKey("trial", key, key, "boolean", what)


def _text(key: str, what: str) -> JobKey:
    return JobKey("trial", key, key, "text", what)


#: What went in. Bounds catch what cannot be and wrong units; seconds need no conversion.
PUT_IN: tuple[JobKey, ...] = (
    _text("date", "day of the trial, YYYY-MM-DD"),
    _text("lot", "lot of the material"),
    _number("moisture_pct", "pct", 0, 60, "water in the pellets as molded, wet basis"),
    _number("barrel_c", "c", 20, 400, "barrel temperature"),
    _number("soak_s", "", 0, 36000, "time in the hot barrel before pressing"),
    _number("mold_c", "c", -20, 250, "mold temperature"),
    _number("force_kn", "kn", 0, 500, "force on the plunger", above=True),
    _number("charge_g", "g", 0, 1e5, "pellets loaded", above=True),
    _number("cooling_s", "", 0, 36000, "time from pressing to opening the mold"),
)

#: What came out. Nothing noted is kept as nothing, never as "no" or 0.
CAME_OUT: tuple[JobKey, ...] = (
    _yes_no("filled", "did the part fill?"),
    _number("fill_pct", "pct", 0, 100, "how far it filled"),
    _number("part_g", "g", 0, 1e5, "mass of the part, sprue cut off"),
    JobKey("trial", "bubbles", "bubbles", "choice", "where bubbles sit", choices=_BUBBLES),
    _number("color", "", 0, 5, "color step"),
    _yes_no("stuck", "did it stick to mold or barrel?"),
    _yes_no("cracked", "did it crack by itself?"),
    _yes_no("warped", "did it warp?"),
    _yes_no("lumps", "are pellets or grains still seen in it?"),
    _number(
        "bend_radius_mm", "mm", 0, 2000, "tightest bend it took whole; 0 if it folds flat and holds"
    ),
    _text("photo", "file name of a photo"),
    _text("note", "anything else, in your own words"),
)

#: Every column a maker may fill, by name, in the order of a table.
COLUMNS: Mapping[str, JobKey] = {key.key: key for key in (*PUT_IN, *CAME_OUT)}


@dataclass(frozen=True)
class Trial:
    """One trial, in the units it was noted in, so that it reads back to the last digit.

    `moldwin.learn.reading.trial_arrays` gives the same in SI. ``None``, or an empty text, where
    nobody noted anything.

    Parameters
    ----------
    id : str
        Its own for good, in every book and table. [-]
    added : str
        When it was kept, UTC. [ISO 8601]
    job : str
        Path of the job file, from the book's folder where it lies there. [-]
    then : JobThen
        The job as it was. [-]
    undone : str
        When it was taken back; empty for a trial that counts. [ISO 8601]
    number : int, optional
        In its book, from 1. [-]
    date, lot, photo, note : str
        As typed; the date as YYYY-MM-DD. [-]
    moisture_pct : float, optional
        Water in the pellets, wet basis. [%]
    barrel_c, mold_c : float, optional
        Temperatures. [°C]
    soak_s, cooling_s : float, optional
        Times. [s]
    force_kn : float, optional
        On the plunger. [kN]
    charge_g, part_g : float, optional
        Masses. [g]
    filled, stuck, cracked, warped, lumps : bool, optional
        Yes or no. [-]
    fill_pct : float, optional
        How far the part filled. [%]
    bubbles : str
        ``"none"``, ``"some"``, ``"skin"``, ``"heart"``, ``"all"`` or empty. [-]
    color : float, optional
        On `COLOR_SCALE`. [-]
    bend_radius_mm : float, optional
        Tightest bend it took whole. [mm]
    """

    id: str
    added: str
    job: str
    then: JobThen
    undone: str = ""
    number: int | None = None
    date: str = ""
    lot: str = ""
    moisture_pct: float | None = None
    barrel_c: float | None = None
    soak_s: float | None = None
    mold_c: float | None = None
    force_kn: float | None = None
    charge_g: float | None = None
    cooling_s: float | None = None
    filled: bool | None = None
    fill_pct: float | None = None
    part_g: float | None = None
    bubbles: str = ""
    color: float | None = None
    stuck: bool | None = None
    cracked: bool | None = None
    warped: bool | None = None
    lumps: bool | None = None
    bend_radius_mm: float | None = None
    photo: str = ""
    note: str = ""

    @property
    def materials(self) -> tuple[tuple[str, str], ...]:
        """Card and lot of every ingredient, sorted: what a fit belongs to."""
        return self.then.materials

    @property
    def day(self) -> str:
        """The day of the trial; where none was noted, the day it was kept."""
        return self.date or self.added[:10]

    def noted(self) -> dict[str, Any]:
        """Every column that was filled, by name."""
        facts = vars(self)
        return {n: facts[n] for n in COLUMNS if facts[n] is not None and facts[n] != ""}

    @property
    def empty(self) -> bool:
        """Whether nothing was set and nothing seen: a day and a lot are no trial."""
        return not self.noted().keys() - {"date", "lot"}

    @property
    def seen(self) -> bool:
        """Whether anything was noted of what came out."""
        return not self.noted().keys().isdisjoint(key.key for key in CAME_OUT)

    def differing(self, other: Trial) -> list[str]:
        """Names in which two trials differ; what the book itself noted does not count."""
        names = [f.name for f in fields(self) if f.name not in ("number", "added", "undone")]
        return [name for name in names if getattr(self, name) != getattr(other, name)]


def new_id() -> str:
    """An id that no other trial has. The letter keeps spreadsheets from reading it as a number."""
    return f"t{uuid.uuid4().hex}"


def short_ids(trials: Iterable[Trial]) -> list[str]:
    """Ids of trials as a fitted card notes them, in their order.

    Parameters
    ----------
    trials : iterable of Trial
        The trials. [-]

    Returns
    -------
    list of str
        Twelve of the 32 digits: enough to tell all trials of a life apart. [-]

    Examples
    --------
    >>> short_ids([Trial("t0123456789abcdef", "2026-03-01T10:00:00Z", "bar.toml", JobThen("{}"))])
    ['t0123456789ab']
    """
    return [trial.id[:_SHORT_ID] for trial in trials]


def now() -> str:
    """This second, UTC, as ISO 8601."""
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def read_value(column: str, text: str, *, decimal_comma: bool = False) -> Any:
    """A value as typed by a maker or found in a table.

    Parameters
    ----------
    column : str
        One of `COLUMNS`. [-]
    text : str
        As it came. [as the column says]
    decimal_comma : bool
        Whether 9,5 may stand for 9.5. [-]

    Returns
    -------
    float, bool, str or None
        The value; None, or an empty text, for nothing. [as the column says]

    Raises
    ------
    SlipError
        Not what the column takes: what came, what is allowed and the likely slip.

    Examples
    --------
    >>> read_value("barrel_c", "130"), read_value("filled", "Yes"), read_value("color", " ")
    (130.0, True, None)
    >>> read_value("fill_pct", "0.6")
    Traceback (most recent call last):
    moldwin.inputs.job_values.SlipError: got 0.6 %; did you mean 60? percent, no fraction
    """
    key, bare = COLUMNS[column], text.strip()
    if key.kind == "text":
        return _date(bare) if column == "date" else _exact(column, text)
    if not bare:
        return "" if key.kind == "choice" else None
    if key.kind == "number":
        return _read_number(key, bare, decimal_comma)
    small = bare.casefold()
    if key.kind == "choice":
        return to_si(key, _SPOKEN.get(small, small))
    if small not in _YES_NO:
        raise SlipError(f"got '{printable(bare)}'; allowed: yes or no")
    return _YES_NO[small]


def written_value(value: Any) -> str:
    """A value as `read_value` reads it back, to the last digit.

    Parameters
    ----------
    value : float, bool, str or None
        Of a column. [as the column says]

    Returns
    -------
    str
        Empty for nothing. [as the column says]

    Examples
    --------
    >>> written_value(130.0), written_value(9.45), written_value(False), written_value(None)
    ('130', '9.45', 'no', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value).removesuffix(".0") if isinstance(value, float) else str(value)


def contradictions(values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What two columns say against each other.

    Parameters
    ----------
    values : mapping
        Columns and values, as `read_value` gives them. [as the columns say]

    Yields
    ------
    tuple of str
        Column and message.

    Examples
    --------
    >>> [column for column, _ in contradictions({"filled": True, "fill_pct": 60.0})]
    ['fill_pct']
    """
    filled, share = values.get("filled"), values.get("fill_pct")
    if filled is None or share is None:
        return
    if filled and share < _FILLED_FROM:
        yield "fill_pct", f"got {share:g} beside filled = yes; allowed: {_FILLED_FROM:g} to 100"
    if not filled and share == 100.0:
        yield "fill_pct", "got 100 beside filled = no; one of the two is a slip"


def _read_number(key: JobKey, text: str, decimal_comma: bool) -> float:
    if decimal_comma and text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    if not _PLAIN_NUMBER.fullmatch(text):
        raise SlipError(_no_number(key, text))
    value = float(text) + 0.0  # + 0.0 makes one zero of two
    to_si(key, value)  # its bounds and the slips people make
    return value


def _no_number(key: JobKey, text: str) -> str:
    """The words for a field that holds no number, with how to write the one it seems to hold."""
    if text.startswith("="):
        return f"got the formula {printable(text)}; save the table with its results, not formulas"
    try:
        to_si(key, text)
    except SlipError as slip:
        return str(slip).replace("and no quotes", "").replace("  ", " ").replace(" :", ":")
    raise AssertionError("text is never a number here")


def _date(text: str) -> str:
    """The day as YYYY-MM-DD; 5.3.2026, as some spreadsheets save it, can only be day and month."""
    dotted = _DOTTED_DATE.fullmatch(text)
    iso = f"{dotted[3]}-{int(dotted[2]):02d}-{int(dotted[1]):02d}" if dotted else text
    try:
        if iso and not _ISO_DATE.fullmatch(iso):
            raise ValueError
        return iso and datetime.date.fromisoformat(iso).isoformat()
    except ValueError:
        raise SlipError(f"got '{printable(text)}'; allowed: a day as YYYY-MM-DD") from None


def _exact(column: str, text: str) -> str:
    """Text kept to the letter; only what no file can hold is refused."""
    most = _LONGEST_NOTE if column == "note" else _LONGEST_NAME
    if len(text) > most:
        raise SlipError(f"has {len(text)} characters, allowed are {most}")
    if "\0" in text:
        raise SlipError("holds a zero character, which no table can keep; leave it out")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise SlipError(f"got '{printable(text)}', which is not valid text") from None
    return text
