"""What the model foretells of parts and of molding attempts: stiffness, strength, success."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from moldwin.advice.case_rows import read_cases
from moldwin.advice.cases import judge_case
from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import PREDICTION, EvidenceRow, Subject, told
from moldwin.advice.evidence.tables import number, published
from moldwin.base.percentiles import Triple, triple

__all__ = ["moldings", "parts"]

_PARTS = {
    "strength": Subject("strength of parts", PREDICTION, "MPa", "part_properties.csv", True),
    "modulus": Subject("stiffness of parts", PREDICTION, "MPa", "part_properties.csv", True),
}
_FIBERS = Subject("strength of parts", PREDICTION, "MPa", "fiber.csv", by_factor=True)
_MOLDINGS = Subject("molding attempts", PREDICTION, "chance", "molding_cases.csv")

#: Known misses of the laws of stiffness and strength.
_PART_MISSES = {
    "P08": "0.5 MPa after a week is a factor 2 below our low end; barley is taken for corn",
    "F05": "a factor 3 above our high end; far above the other fibers of the same review, too",
}
_MOLDING_MISSES = {
    "C002": "at 120 °C too few samples are too stiff if the glycerol is a share of the whole",
}


def parts(blends: Blends) -> Iterator[EvidenceRow]:
    """Stiffness and strength of parts, fiber-filled ones too."""
    for row in published("part_properties.csv"):
        if row["judge"] in _PARTS and not row["why_not"]:
            yield _part(blends, row, _PARTS[row["judge"]], row["judge"])
    for row in published("fiber.csv"):
        if row["rule"] == "strength" and not row["why_not"]:
            yield _part(blends, row, _FIBERS, "strength")


def _part(blends: Blends, row: dict[str, str], subject: Subject, asked: str) -> EvidenceRow:
    weeks, t_c = float(row.get("weeks") or 0.0), float(row.get("t_c") or 23.0)
    found = blends.part(row["recipe"], number(row, "humidity"), t_c, weeks)
    samples = {"modulus": found.modulus_later, "strength": found.strength_later}[asked]
    aged = f", {weeks:g} week{'s' * (weeks != 1)}" if weeks else ""
    what = (
        f"{row['material']}, {100 * number(row, 'humidity'):.0f} % humidity, {t_c:g} °C{aged}; "
        f"read as {row['recipe']}"
    )
    ends, miss = (number(row, "low"), number(row, "high")), _PART_MISSES.get(row["id"], "")
    return told(subject, row, triple(1e-6 * samples), ends, what=what, known_miss=miss)


def moldings(_: Blends) -> Iterator[EvidenceRow]:
    """Attempts of others: 1 where it worked, 0 where it failed for the reason printed.

    The chance beside it is the share of samples in which the tool would have it work. Whether that
    counts as right is decided by the same rule as the tool's own warnings. Rows on proteins, which
    the tool declines, and rows that tell too little are not among them.
    """
    for row in read_cases():
        if row["judge"] not in ("window", "bears", "fails"):
            continue
        verdict = judge_case(row)
        chance = float("nan") if verdict.works is None else verdict.works
        outcome = 0.0 if row["judge"] == "fails" else 1.0
        more: dict[str, Any] = {"low": None, "high": None, "hit": bool(verdict.hit)}
        yield told(
            _MOLDINGS,
            row,
            Triple(chance, chance, chance),
            (outcome, outcome),
            what=_attempt(row),
            used_for_fit=row["third"] == "tuning",
            note=f"expected {verdict.expected}; the tool: {verdict.got}; {row['note']}",
            known_miss=_MOLDING_MISSES.get(row["id"], ""),
            **more,
        )


def _attempt(row: dict[str, str]) -> str:
    """What was tried, how it went, and what the tool was asked in its place."""
    tried = ", ".join(filter(None, (row["material"], row["composition"])))
    at = f" at {row['at_c']} °C" if row["at_c"] else ""
    asked = f"{row['recipe']}, {row['pellets_pct']} % water{at}, press: {row['press']}"
    return f"{tried}: {row['outcome']}; read as {asked}"
