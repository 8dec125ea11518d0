"""The evidence as a page: misses first, then one line per quantity, then every value if asked."""

from __future__ import annotations

import math

from moldwin.advice.evidence.gather import Evidence, NotCompared
from moldwin.advice.evidence.row import (
    CONSTANT,
    PREDICTION,
    EvidenceRow,
    Subject,
    Summary,
    origins,
)
from moldwin.base.percentiles import Triple
from moldwin.report.numbers import interval
from moldwin.report.page import Page

__all__ = ["evidence_page", "evidence_summary"]

_TITLES = {
    PREDICTION: "PREDICTIONS: measured by others, foretold from the shipped cards",
    CONSTANT: "CONSTANTS: check values of the correlations themselves",
}
_STATUS = {"read": "read", "memory": "from memory", "derived": "worked out by us"}
_USED = "Used to choose a number of ours."
#: Errors as a factor up to here are told in percent.
_SMALL_FACTOR = 1.2
_HEAD = ("quantity", "rows", "src", "inside", "new", "RMSE", "bias", "unit")
#: What only predictions have: rows that nothing of ours was chosen by.
_NEW = _HEAD.index("new")
_WORDS_IN_HEAD = ("quantity", "unit")
_READING_IT = (
    "src: independent publications, each counted once however many of its values stand here, our "
    "own arithmetic not counted. inside: within the 90 % interval, or the printed digits of a "
    "constant; a printed range is judged by its middle. new: the same among rows that no number "
    "of ours was chosen by. x2: errors as a factor; bias above zero or x1: we say too much. "
    "stand-ins: flour, grain, tuber, pasta and board, for which a card of pure starch or wood is "
    "taken."
)


def evidence_page(evidence: Evidence, *, full: bool = False, width: int | None = None) -> str:
    """The page.

    Parameters
    ----------
    evidence : Evidence
        As gathered. [-]
    full : bool
        Every row and its source, and what is printed but not compared. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        Text. [-]
    """
    page = Page(width)
    page.heading("What others published, and what this tool says of it")
    for kind in (PREDICTION, CONSTANT):
        page.paragraph(_counted(evidence, kind), lead=" - ")
    page.heading("MISSES")
    _missed_predictions(page, evidence)
    _missed_constants(page, evidence)
    for kind in (PREDICTION, CONSTANT):
        page.heading(_TITLES[kind])
        rows = _table(evidence, kind)
        numbers = tuple(n for n, name in enumerate(rows[0]) if name not in _WORDS_IN_HEAD)
        page.rows(rows, right=numbers)
    page.gap()
    page.paragraph(_READING_IT)
    page.paragraph(
        "A molding attempt is 1 if it worked and 0 if it failed; beside it stands the share of "
        "samples in which the tool lets it work. It counts as inside where the tool would have "
        "backed or warned of it."
    )
    if full:
        _every_row(page, evidence)
        _left_out(page, evidence)
    else:
        page.paragraph("moldwin evidence --full shows every value with its source.")
    return page.text()


def evidence_summary(evidence: Evidence) -> str:
    """The same in Markdown, without the single rows.

    Parameters
    ----------
    evidence : Evidence
        As gathered. [-]

    Returns
    -------
    str
        Counts, a table of the predictions, and every prediction that is missed. [-]
    """
    lines = [f"- {_counted(evidence, kind)}" for kind in (PREDICTION, CONSTANT)]
    rule = tuple("---" if name in _WORDS_IN_HEAD else "--:" for name in _HEAD)
    head, *found = _table(evidence, PREDICTION)
    misses = [f"- {_miss(rows)}" for rows in _missed(evidence)]
    return "\n\n".join(
        (
            "\n".join(lines),
            "\n".join(f"| {' | '.join(row)} |" for row in (head, rule, *found)),
            _READING_IT,
            "Predictions missed:",
            "\n".join(misses),
        )
    )


def _counted(evidence: Evidence, kind: str) -> str:
    rows = evidence.of_kind(kind)
    fresh = [row for row in rows if not row.used_for_fit]
    memory = sum(row.status == "memory" for row in rows)
    words = (
        f"{kind}s: {sum(row.inside for row in rows)} of {len(rows)} inside, of {origins(rows)} "
        f"independent sources{_doubts(rows)}; {memory} published values are from memory"
    )
    if kind == PREDICTION:
        kept = sum(row.inside for row in fresh)
        words += f"; of the {len(fresh)} that no number of ours was chosen by, {kept} are inside"
    return words


def _doubts(rows: list[EvidenceRow]) -> str:
    """How many of the publications might be one of the others after all."""
    unknown = origins(row for row in rows if not row.identified)
    quoting = origins(row for row in rows if row.second_hand)
    told = [f"{unknown} not identified"] * bool(unknown)
    told += [f"{quoting} quoting others"] * bool(quoting)
    return f" ({', '.join(told)})" if told else ""


def _missed(evidence: Evidence) -> list[list[EvidenceRow]]:
    """Predictions missed: those of one quantity, missed for one reason, together."""
    groups: dict[tuple[str, str], list[EvidenceRow]] = {}
    for row in evidence.misses:
        if row.subject.kind == PREDICTION:
            key = (row.subject.quantity, row.known_miss or row.id)
            groups.setdefault(key, []).append(row)
    return list(groups.values())


def _missed_predictions(page: Page, evidence: Evidence) -> None:
    for rows in _missed(evidence):
        sources = dict.fromkeys(_source(row) for row in rows)
        page.paragraph(f"{_miss(rows)} {' '.join(sources)}", lead=" - ")


def _miss(rows: list[EvidenceRow]) -> str:
    """One row, or the worst of several and the names of all."""
    worst = max(rows, key=_far_off)
    why = _sentence(worst.known_miss or "no reason known")
    fitted = _USED if all(row.used_for_fit for row in rows) else ""
    if len(rows) == 1:
        which = f"row {worst.id} ({worst.what})"
    else:
        names = ", ".join(row.id for row in rows)
        which = f"{len(rows)} rows ({names}), the worst {worst.id} ({worst.what})"
    parts = (f"{worst.subject.quantity}, {which}: {_both(worst)}.", why, fitted)
    return " ".join(filter(None, parts))


def _far_off(row: EvidenceRow) -> float:
    """How far off a row is, by factor where both sides have a sign."""
    if row.published > 0.0 and row.predicted > 0.0:
        return abs(math.log(row.predicted / row.published))
    return abs(row.error)


def _missed_constants(page: Page, evidence: Evidence) -> None:
    groups: dict[tuple[str, str], list[EvidenceRow]] = {}
    for row in evidence.misses:
        if row.subject.kind == CONSTANT:
            groups.setdefault((row.subject.quantity, row.known_miss), []).append(row)
    for (quantity, why), rows in groups.items():
        worst = max(rows, key=lambda row: abs(row.error))
        many = f"{len(rows)} values, the worst " if len(rows) > 1 else ""
        page.paragraph(
            f"{quantity}: {many}{worst.what}: {_both(worst)}. "
            f"{_sentence(why or 'no reason known')} {_source(worst)}",
            lead=" - ",
        )


def _table(evidence: Evidence, kind: str) -> list[tuple[str, ...]]:
    """A head and one line per quantity."""
    rows = [_HEAD, *(_line(s) for s in evidence.summary if s.subject.kind == kind)]
    if kind == PREDICTION:
        return rows
    return [(*row[:_NEW], *row[_NEW + 1 :]) for row in rows]


def _line(summary: Summary) -> tuple[str, ...]:
    return (
        summary.subject.quantity,
        str(summary.rows),
        str(summary.sources),
        f"{100 * summary.inside_share:.0f} %",
        f"{summary.fresh_inside}/{summary.fresh}" if summary.fresh else "-",
        *_errors(summary),
    )


def _errors(summary: Summary) -> tuple[str, str, str]:
    rms, bias = summary.rms_factor, summary.bias_factor
    if rms is None or bias is None:
        return f"{summary.rmse:.2g}", _signed(summary.bias), _unit(summary.subject)
    if rms < _SMALL_FACTOR:
        return f"{100 * (rms - 1):.2g}", _signed(100 * (bias - 1)), "%"
    return f"x{rms:.2g}", f"x{bias:.2g}", ""


def _signed(value: float) -> str:
    return f"{value:+.1g}" if abs(value) < 9.5 else f"{value:+.0f}"


def _every_row(page: Page, evidence: Evidence) -> None:
    tables = {row.subject.table for row in evidence.rows}
    page.heading(f"EVERY VALUE, from {len(tables)} tables in material_cards/published")
    last = None
    order = [(summary.subject.kind, summary.subject.quantity) for summary in evidence.summary]
    placed = {each: place for place, each in enumerate(order)}
    for row in sorted(
        evidence.rows, key=lambda row: placed[row.subject.kind, row.subject.quantity]
    ):
        if row.subject != last:
            page.heading(f"{row.subject.quantity} ({row.subject.kind}, {row.subject.table})")
            last = row.subject
        page.paragraph(_in_full(row), lead=" - ")


def _in_full(row: EvidenceRow) -> str:
    name = "" if row.id.startswith(row.what) else f"{row.id}, "
    parts = [
        f"{name}{row.what}: {_both(row)}, {'inside' if row.inside else 'OUTSIDE'}.",
        _sentence(row.known_miss),
        _sentence(row.note),
        _USED if row.used_for_fit else "",
        _source(row),
    ]
    return " ".join(filter(None, parts))


def _left_out(page: Page, evidence: Evidence) -> None:
    page.heading("PRINTED, BUT NOT COMPARED")
    for row in evidence.not_compared:
        page.paragraph(
            f"{row.id}, {row.what}: {_sentence(row.why)} {_source(row)}",
            lead=" - ",
        )


def _both(row: EvidenceRow) -> str:
    """What the tool says, with its interval, and what was published."""
    unit = _unit(row.subject)
    if unit == "chance":
        outcome = "worked" if row.published else "failed"
        return f"works in {100 * row.predicted:.0f} % of the samples, published that it {outcome}"
    if row.low is not None and row.high is not None and row.low < row.high:
        ours = interval(Triple(row.low, row.predicted, row.high), unit, most=4)
        ours = ours.replace("  ", " ")  # a number without a unit
    else:
        ours = f"{_number(row.predicted, row)} {unit}".strip()
    if row.published_low is not None and row.published_high is not None:
        ends = (row.published_low, row.published_high)
        return f"predicted {ours}, published {' to '.join(_number(end, row) for end in ends)}"
    return f"predicted {ours}, published {_number(row.published, row)}"


def _number(value: float, row: EvidenceRow) -> str:
    """With as many digits as it takes to tell a constant from what is printed."""
    if row.subject.kind == PREDICTION or not row.published:
        return f"{value:.4g}"
    off = abs(row.error / row.published)
    digits = 9 if off < 1e-7 else max(4, 2 - math.floor(math.log10(off)))
    return f"{value:.{min(digits, 9)}g}"


def _unit(subject: Subject) -> str:
    return "" if subject.unit == "-" else subject.unit


def _source(row: EvidenceRow | NotCompared) -> str:
    return f"[{row.source}; {_STATUS[row.status]}]"


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:].removesuffix('.')}." if words else ""
