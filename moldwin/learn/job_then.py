"""The job behind a trial, as it was that day: the file may change, the trial stays understood."""

from __future__ import annotations

import copy
import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from moldwin.inputs.cards import library_for
from moldwin.inputs.errors import nearest
from moldwin.inputs.job import Job
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.text_files import printable
from moldwin.inputs.toml_plain import too_deep

__all__ = ["JobThen", "job_then", "path_from"]


@dataclass(frozen=True)
class JobThen:
    """A job's tables as one text that never changes.

    Parameters
    ----------
    text : str
        The tables as JSON, with what ``--set`` changed, moisture in place of a table of
        weighings, and the trial's lot. [-]

    Notes
    -----
    JSON and not the file's own text: it holds what counted for the trial, what-ifs included, and
    goes into `moldwin.advise` as it is. Only a mesh is still named by its path.

    Examples
    --------
    >>> then = JobThen('{"ingredient":[{"card":"glycerol","mass_g":90}],"title":"Labels"}')
    >>> then.title, then.materials
    ('Labels', (('glycerol', ''),))
    """

    text: str

    @classmethod
    def read(cls, text: str) -> JobThen:
        """From a table that anyone may have edited; `SlipError` where it is no job."""
        try:
            tables = json.loads(text)
        except (ValueError, RecursionError):
            raise SlipError("is not readable JSON; leave it as it was exported") from None
        if not isinstance(tables, dict) or too_deep(tables):
            raise SlipError("is not the JSON of a job; leave it as it was exported")
        return cls(_plain(tables))

    @cached_property
    def id(self) -> str:
        """Short name by content: the same tables always have the same."""
        return "j" + hashlib.sha256(self.text.encode()).hexdigest()[:24]

    @cached_property
    def tables(self) -> dict[str, Any]:
        """Tables as `moldwin.inputs.read_job.read_job` takes them."""
        return dict(json.loads(self.text))

    @cached_property
    def title(self) -> str:
        """The job's title; empty where it had none."""
        return str(self.tables.get("title", ""))

    @cached_property
    def ingredients(self) -> tuple[Mapping[str, Any], ...]:
        """Rows of the recipe that name a card."""
        rows = self.tables.get("ingredient")
        rows = rows if isinstance(rows, list) else []
        return tuple(r for r in rows if isinstance(r, dict) and isinstance(r.get("card"), str))

    @cached_property
    def materials(self) -> tuple[tuple[str, str], ...]:
        """Card and lot of every ingredient, each pair once, sorted."""
        return tuple(sorted({(r["card"], str(r.get("lot") or "")) for r in self.ingredients}))


def job_then(job: Job, folder: Path, lot: str = "") -> JobThen:
    """What is to be kept of a job.

    Parameters
    ----------
    job : Job
        As read. [SI]
    folder : pathlib.Path
        The book's, from which relative paths will start. [-]
    lot : str, optional
        ``NAME`` renames the one lot the job names; where it names none, it goes to the seaweed,
        or else to every polymer. ``CARD=NAME``, parted by commas, says it for each card. [-]

    Returns
    -------
    JobThen
        The tables.

    Raises
    ------
    SlipError
        A lot that cannot be given to one material without guessing.
    """
    tables = copy.deepcopy(dict(job.raw))
    pellets = tables.get("pellets", {})
    if pellets.pop("weighings", None) is not None and job.pellets.moisture is not None:
        pellets.setdefault("moisture_pct", 100.0 * job.pellets.moisture)
        if job.pellets.moisture_u is not None:
            pellets.setdefault("moisture_u_pct", 100.0 * job.pellets.moisture_u)
    if job.part.mesh is not None:
        tables["part"]["mesh"] = path_from(folder, job.part.mesh)
    if lot.strip():
        _give_lots(tables["ingredient"], lot.strip(), job)
    return JobThen(_plain(tables))


def path_from(folder: Path, path: Path) -> str:
    """A path as seen from a folder; the whole path where it lies elsewhere.

    Examples
    --------
    >>> path_from(Path("/home/me/kelp"), Path("/home/me/kelp/jobs/label.toml"))
    'jobs/label.toml'
    """
    whole = Path(os.path.realpath(path.parent)) / path.name  # a link to a job keeps its own name
    start = Path(os.path.realpath(folder))
    return (whole.relative_to(start) if whole.is_relative_to(start) else whole).as_posix()


def _plain(tables: Mapping[str, Any]) -> str:
    """One ASCII text for one meaning: sorted, without blanks, numbers to the last digit."""
    return json.dumps(tables, sort_keys=True, separators=(",", ":"))


def _give_lots(rows: list[dict[str, Any]], lot: str, job: Job) -> None:
    lots = _lots_by_card(lot, [row["card"] for row in rows])
    if lots is None:
        lots = dict.fromkeys(_cards_meant(rows, job), lot)
    for row in rows:
        if row["card"] in lots:
            row["lot"] = lots[row["card"]]


def _lots_by_card(lot: str, cards: list[str]) -> dict[str, str] | None:
    """``CARD=NAME, CARD=NAME`` taken apart; None for a plain name."""
    if "=" not in lot:
        return None
    found = {}
    for part in lot.split(","):
        card, _, name = (piece.strip() for piece in part.partition("="))
        if card not in cards or not name:
            offer = nearest(card, cards) or f"; the job has {', '.join(dict.fromkeys(cards))}"
            raise SlipError(f"got '{printable(part.strip())}'; allowed: NAME or CARD=NAME{offer}")
        found[card] = name
    return found


def _cards_meant(rows: list[dict[str, Any]], job: Job) -> set[str]:
    """Whose lot a plain name is."""
    named = {row["card"]: row["lot"] for row in rows if row.get("lot")}
    if len(set(named.values())) > 1:
        known = ", ".join(f"{card}={name}" for card, name in named.items())
        raise SlipError(f"the job names several lots; say which you mean: {printable(known)}")
    if named:
        return set(named)
    library = library_for(job.folder)
    cards = {row["card"]: library.card(row["card"]) for row in rows}
    seaweed = {name for name, card in cards.items() if card.family == "seaweed"}
    return seaweed or {name for name, card in cards.items() if card.role == "polymer"}
