"""One published value beside what the tool says, and what many of them come to."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from moldwin.advice.evidence.tables import middle
from moldwin.base.percentiles import Triple

__all__ = [
    "CONSTANT",
    "PREDICTION",
    "EvidenceRow",
    "Subject",
    "Summary",
    "checked",
    "origins",
    "summaries",
    "told",
]

#: A correlation's own check value: our typing and arithmetic are at stake, not the model.
CONSTANT = "constant"
#: Something measured that the model foretells from its cards.
PREDICTION = "prediction"

#: Publications of which we know too little to say that no two of them are one.
_NOT_IDENTIFIED = re.compile(
    r"unidentified|not identified|journal not noted|year not shown|probably", re.IGNORECASE
)
#: Publications that pass on what others measured.
_SECOND_HAND = re.compile(r"\bafter\b|by way of|as tabulated|\breview\b", re.IGNORECASE)
#: What follows the name of a publication in the tables: an abstract, an open file, and so on.
_HOW_COME_BY = re.compile(r";.*|, from an? .*| as usually .*|( \([^()]*\))+$")


@dataclass(frozen=True)
class Subject:
    """What is compared.

    Parameters
    ----------
    quantity : str
        In words. [-]
    kind : str
        ``"constant"`` or ``"prediction"``. [-]
    unit : str
        Of both values. [-]
    table : str
        File in ``material_cards/published/``. [-]
    by_factor : bool
        Errors are told as a factor too: values lie far apart, and no single one shall decide. [-]
    """

    quantity: str
    kind: str
    unit: str
    table: str
    by_factor: bool = False


@dataclass(frozen=True)
class EvidenceRow:
    """One published value, and what the tool says under the same conditions.

    ``low`` and ``high`` are the tool's 90 % interval, where it has one. A constant has none and is
    held to ``tolerance`` instead. ``hit`` is given where neither fits: an attempt at molding that
    the tool backs or warns of. ``known_miss`` says why a value is missed, for those we know of.
    """

    subject: Subject
    id: str
    what: str
    predicted: float
    published: float
    source: str
    status: str
    low: float | None = None
    high: float | None = None
    published_low: float | None = None
    published_high: float | None = None
    tolerance: float | None = None
    hit: bool | None = None
    used_for_fit: bool = False
    note: str = ""
    known_miss: str = ""

    @property
    def error(self) -> float:
        """Predicted less published. [the subject's unit]"""
        return self.predicted - self.published

    @property
    def inside(self) -> bool:
        """The published value, or the middle of its range, within interval or tolerance."""
        if self.hit is not None:
            return self.hit
        if self.tolerance is not None:
            return abs(self.error) <= self.tolerance
        if self.low is None or self.high is None:
            raise ValueError(f"{self.id} has neither interval, tolerance nor verdict")
        return self.low <= self.published <= self.high

    @property
    def origin(self) -> str:
        """The publication behind a source, without the words on how it was come by."""
        return _HOW_COME_BY.sub("", self.source).strip()

    @property
    def identified(self) -> bool:
        """False where author, journal or year are missing, so that it could be another one."""
        return not _NOT_IDENTIFIED.search(self.source)

    @property
    def second_hand(self) -> bool:
        """True where the publication quotes a measurement of others."""
        return bool(_SECOND_HAND.search(self.source))

    @property
    def independent(self) -> bool:
        """False where the published figure is only our own arithmetic on a printed equation."""
        return not (self.subject.kind == CONSTANT and self.status == "derived")

    def to_dict(self) -> dict[str, Any]:
        """As plain data, at full precision."""
        return {
            "quantity": self.subject.quantity,
            "kind": self.subject.kind,
            "id": self.id,
            "what": self.what,
            "predicted": self.predicted,
            "low": self.low,
            "high": self.high,
            "published": self.published,
            "published_low": self.published_low,
            "published_high": self.published_high,
            "tolerance": self.tolerance,
            "unit": self.subject.unit,
            "error": self.error,
            "inside": self.inside,
            "used_for_fit": self.used_for_fit,
            "source": self.source,
            "status": self.status,
            "independent_source": self.independent,
            "publication": self.origin,
            "publication_identified": self.identified,
            "second_hand": self.second_hand,
            "table": self.subject.table,
            "note": self.note,
            "known_miss": self.known_miss or None,
        }


def told(
    subject: Subject,
    row: dict[str, str],
    band: Triple,
    ends: tuple[float, float],
    **more: Any,
) -> EvidenceRow:
    """A row of a table foretold with an interval; ``ends`` are those of the printed range.

    Parameters
    ----------
    band : Triple
        What the tool foretells, in the subject's unit. [-]
    ends : tuple of float
        Of the printed range, in the same. [-]
    **more : object
        Other fields of the row, by name. [-]
    """
    low, high = ends
    known = {
        "id": row.get("id", ""),
        "used_for_fit": row.get("used_for_fit") == "yes",
        "note": row.get("note", ""),
        "low": band.low,
        "high": band.high,
        **more,
    }
    if low != high:
        known |= {"published_low": low, "published_high": high}
    return EvidenceRow(
        subject,
        predicted=band.likely,
        published=middle(low, high),
        source=row["source"],
        status=row["status"],
        **known,
    )


def checked(
    subject: Subject,
    row: dict[str, str],
    what: str,
    predicted: Any,
    value: float,
    tolerance: float,
    **more: Any,
) -> EvidenceRow:
    """A row of a table that a correlation has to give back.

    Parameters
    ----------
    predicted : float
        What the tool gives, in the subject's unit. [-]
    value, tolerance : float
        What is printed, and how far off is still right, in the same. [-]
    **more : object
        Other fields of the row, by name. [-]
    """
    known = {"id": row.get("id") or what, "note": row.get("note", ""), **more}
    return EvidenceRow(
        subject,
        what=what,
        predicted=float(predicted),
        published=value,
        tolerance=tolerance,
        source=row["source"],
        status=row["status"],
        **known,
    )


@dataclass(frozen=True)
class Summary:
    """All rows of one quantity taken together.

    ``sources`` counts who published, not what: ten values of one paper are one source, and our own
    arithmetic is none. ``fitted`` counts rows that some number of ours was chosen by, ``fresh``
    the others. ``rmse`` and ``bias`` are in the subject's unit; ``rms_factor`` and ``bias_factor``
    are the same errors taken of logarithms. [-]
    """

    subject: Subject
    rows: int
    sources: int
    inside: int
    fitted: int
    fresh: int
    fresh_inside: int
    rmse: float
    bias: float
    rms_factor: float | None
    bias_factor: float | None
    statuses: dict[str, int]

    @property
    def inside_share(self) -> float:
        """Share of rows within interval or tolerance. [-]"""
        return self.inside / self.rows

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "quantity": self.subject.quantity,
            "kind": self.subject.kind,
            "rows": self.rows,
            "independent_sources": self.sources,
            "inside": self.inside,
            "inside_share": self.inside_share,
            "rows_used_for_fit": self.fitted,
            "rows_not_used_for_fit": self.fresh,
            "inside_not_used_for_fit": self.fresh_inside,
            "rmse": self.rmse,
            "bias": self.bias,
            "rms_factor": self.rms_factor,
            "bias_factor": self.bias_factor,
            "unit": self.subject.unit,
            "statuses": self.statuses,
        }


def summaries(rows: Iterable[EvidenceRow]) -> list[Summary]:
    """One summary per quantity, in the order they come; predictions first.

    Parameters
    ----------
    rows : iterable of EvidenceRow
        Of any quantities. [-]

    Returns
    -------
    list of Summary
        RMSE and bias in the unit of the values. [-]

    Examples
    --------
    >>> density = Subject("density", CONSTANT, "kg/m3", "made-up.csv")
    >>> two = [
    ...     EvidenceRow(density, name, "", 1003.0, value, name, "read", tolerance=3.5)
    ...     for name, value in (("a", 1000.0), ("b", 1007.0))
    ... ]
    >>> found = summaries(two)[0]
    >>> found.inside, found.sources, found.rmse, found.bias
    (1, 2, 3.5355339059327378, -0.5)
    """
    groups: dict[tuple[str, str], list[EvidenceRow]] = {}
    for row in rows:
        groups.setdefault((row.subject.kind, row.subject.quantity), []).append(row)
    ordered = sorted(groups.items(), key=lambda item: item[0][0] != PREDICTION)
    return [_summary(group) for _, group in ordered]


def origins(rows: Iterable[EvidenceRow]) -> int:
    """How many publications stand behind rows, our own arithmetic not counted.

    Parameters
    ----------
    rows : iterable of EvidenceRow
        Of any quantities. [-]

    Returns
    -------
    int
        Publications, each once. [-]
    """
    return len({row.origin for row in rows if row.independent})


def _summary(group: Sequence[EvidenceRow]) -> Summary:
    errors = [row.error for row in group]
    by_factor = group[0].subject.by_factor
    logs = [math.log(row.predicted / row.published) for row in group] if by_factor else []
    fresh = [row for row in group if not row.used_for_fit]
    statuses: dict[str, int] = {}
    for row in group:
        statuses[row.status] = statuses.get(row.status, 0) + 1
    return Summary(
        subject=group[0].subject,
        rows=len(group),
        sources=origins(group),
        inside=sum(row.inside for row in group),
        fitted=len(group) - len(fresh),
        fresh=len(fresh),
        fresh_inside=sum(row.inside for row in fresh),
        rmse=_rms(errors),
        bias=_mean(errors),
        rms_factor=math.exp(_rms(logs)) if logs else None,
        bias_factor=math.exp(_mean(logs)) if logs else None,
        statuses=statuses,
    )


def _rms(values: Sequence[float]) -> float:
    return math.sqrt(_mean([value * value for value in values]))


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)
