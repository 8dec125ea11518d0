"""Behind the page of answer: the law of each remark, the numbers it took, and their sources."""

from __future__ import annotations

from collections.abc import Iterator

from moldwin.advice.answer import Advice, Assumption
from moldwin.base.percentiles import in_words
from moldwin.report.laws import LAW_OF, LAWS, Law
from moldwin.report.page import Page, together
from moldwin.report.steps_page import shown
from moldwin.report.words import STATUS_WORDS, first_up, limit_words

__all__ = ["verbose_section"]

#: A limit broken less often than this is not worth a block of its own.
_RARE = 0.02
_GLASS = "glass"


def verbose_section(advice: Advice, width: int | None = None) -> str:
    """What stands behind the remarks and limits of an answer, as text.

    Parameters
    ----------
    advice : Advice
        The answer; nothing is worked out anew. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        A block for each law that said something. [-]
    """
    said = _said(advice)
    page = Page(width)
    page.gap()
    page.paragraph(
        "BEHIND THE REMARKS: law, numbers (SI units, likely value), source", style="bold"
    )
    for name, law in LAWS.items():
        if name in said or (name == _GLASS and not _another_material(advice)):
            _block(page, law, said.get(name, []), advice)
    page.gap()
    page.paragraph(
        f"Sources stand here by their short names: {together('moldwin cards NAME')} prints those"
        " of a material in full."
    )
    return page.text()


def _another_material(advice: Advice) -> bool:
    return any(w.code == "not-polysaccharide" and w.severity == "stop" for w in advice.warnings)


def _said(advice: Advice) -> dict[str, list[str]]:
    """Remarks and limits by the law behind them, each with its source or its share."""
    found: dict[str, list[str]] = {}
    for remark in advice.warnings:
        law = LAW_OF[remark.code]
        found.setdefault(law, []).append(f"{remark.message} [{remark.source}]")
    if _another_material(advice):
        return found
    shares = [(limit.name, limit.broken_share) for limit in shown(advice).barrel.limits]
    shares += [(limit.name, limit.broken_share) for limit in advice.moisture.limits]
    for name, share in shares:
        if share >= _RARE:
            words = f"{first_up(limit_words(name))}: {in_words(share)}."
            found.setdefault(LAW_OF[name], []).append(words)
    return found


def _block(page: Page, law: Law, said: list[str], advice: Advice) -> None:
    page.gap()
    page.paragraph(law.title, style="bold")
    for words in said:
        page.paragraph(words, lead=" - ")
    page.paragraph(law.says, strong="Law:")
    rows = [_row(number) for number in _numbers(advice, law)]
    if rows:
        page.rows(rows, right=(1,))


def _numbers(advice: Advice, law: Law) -> Iterator[Assumption]:
    """The numbers of the answer whose names end as the law says."""
    for row in advice.assumptions:
        name = row.name.partition(" = ")[0]
        if row.value is not None and any(_fits(name, ending) for ending in law.takes):
            yield row


def _fits(name: str, ending: str) -> bool:
    """A whole name, or the last words of one behind a point."""
    return name.endswith(ending) if ending.startswith(".") else name == ending


def _row(number: Assumption) -> tuple[str, ...]:
    unit = "" if number.unit == "1" else f" {number.unit}"
    name = number.name.partition(" = ")[0]
    return (
        f"  {name}",
        f"{number.value:.4g}{unit}",
        STATUS_WORDS.get(number.status, number.status),
        number.source,
    )
