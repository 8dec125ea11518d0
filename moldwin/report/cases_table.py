"""Molding attempts of others and what the tool says of them, as Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from moldwin.advice.cases import Case, tally
from moldwin.report.numbers import percent

__all__ = ["cases_summary", "cases_table"]


def cases_summary(cases: Sequence[Case]) -> str:
    """How many attempts the tool would have called right, and which not.

    Parameters
    ----------
    cases : sequence of Case
        Rows with their verdicts. [-]

    Returns
    -------
    str
        A table in Markdown, and a list of the misses. [-]
    """
    ours = [case for case in cases if not case.declined]
    groups = {
        "windows and limits": ours,
        "- of sources open to tuning": _of_third(ours, "tuning"),
        "- of sources held out": _of_third(ours, "held-out"),
        "- rows that could go either way": [case for case in ours if case.sharp],
        "another material, to be declined": [case for case in cases if case.declined],
        "all that can be judged": cases,
    }
    table = [_counted(name, group) for name, group in groups.items()]
    head = ("held against", "rows", "sources", "hits", "share")
    misses = [
        f"- {case.row['id']} ({case.row['material']}, {case.row['composition']}): expected"
        f" {case.verdict.expected}; {case.verdict.got}, {case.verdict.miss}."
        for case in cases
        if case.verdict.judged and not case.verdict.hit
    ]
    unjudged = sum(not case.verdict.judged for case in cases)
    parts = [
        _markdown(head, table, numbers=4),
        f"{unjudged} of the {len(cases)} printed attempts tell too little to be judged.",
    ]
    if misses:
        parts.append("Missed:\n\n" + "\n".join(misses))
    return "\n\n".join(parts) + "\n"


def cases_table(cases: Sequence[Case]) -> str:
    """The summary, the count by source, every verdict, and why the others have none.

    Parameters
    ----------
    cases : sequence of Case
        Rows with their verdicts. [-]

    Returns
    -------
    str
        Markdown. [-]
    """
    judged = [case for case in cases if case.verdict.judged]
    sources = dict.fromkeys(case.row["source_key"] for case in judged)
    by_source = []
    for key in sources:
        own = [case for case in judged if case.row["source_key"] == key]
        count, row = tally(own), own[0].row
        by_source.append(
            (
                key,
                row["third"],
                str(count.rows),
                str(count.hits),
                f"{row['source']}, {row['status']}",
            )
        )
    verdicts = [
        (
            case.row["id"],
            case.row["source_key"],
            f"{case.row['material']}; {case.row['composition']}",
            case.row["outcome"],
            case.verdict.expected,
            case.verdict.got,
            "hit" if case.verdict.hit else f"miss: {case.verdict.miss}",
        )
        for case in judged
    ]
    others = [
        (case.row["id"], case.row["material"], case.verdict.why)
        for case in cases
        if not case.verdict.judged
    ]
    parts = (
        cases_summary(cases).rstrip(),
        _markdown(("source", "third", "rows", "hits", "where"), by_source),
        _markdown(
            ("row", "source", "what", "printed", "expected", "the tool", "verdict"), verdicts
        ),
        _markdown(("row", "what", "why it is not judged"), others),
    )
    return "\n\n".join(parts) + "\n"


def _of_third(cases: Iterable[Case], third: str) -> list[Case]:
    return [case for case in cases if case.row["third"] == third]


def _counted(name: str, group: Iterable[Case]) -> tuple[str, ...]:
    count = tally(group)
    share = percent(count.share) if count.rows else ""
    return name, str(count.rows), str(count.sources), str(count.hits), share


def _markdown(head: Sequence[str], rows: Sequence[Sequence[str]], numbers: int = 0) -> str:
    """A table; its last ``numbers`` columns are aligned to the right."""
    words = len(head) - numbers
    rule = ["---"] * words + ["--:"] * numbers
    lines = [head, rule, *rows]
    return "\n".join(f"| {' | '.join(map(_cell, line))} |" for line in lines)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")
