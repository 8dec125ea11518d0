"""Pieces of the run sheet's markup: text made safe, figures, boxes to write in, small print."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html import escape
from typing import Any

from moldwin.advice.answer import Advice, Assumption
from moldwin.inputs.text_files import printable
from moldwin.report.numbers import percent
from moldwin.report.words import clean, unknown_words

__all__ = [
    "assumed_lines",
    "box",
    "boxes",
    "choice",
    "figure",
    "input_lines",
    "say",
    "text",
    "unknowns_line",
]

#: Statuses of numbers that nobody measured or published.
_NOT_MEASURED = ("assumed", "memory")
#: A name from a file is cut here: more would push the sheet off its page.
_LONGEST = 120
_MOST_UNKNOWNS = 4


def text(words: object) -> str:
    """Words from anywhere as markup: one line, no control characters, nothing that is a tag.

    Examples
    --------
    >>> text("<script>alert(1)</script>")
    '&lt;script&gt;alert(1)&lt;/script&gt;'
    """
    return escape(clean(words))


def say(tag: str, words: object, *, mass: bool = False, more: str = "") -> str:
    """An element whose temperatures, and masses where asked, follow the units' switch.

    Examples
    --------
    >>> say("p", "At 115 °C.")
    '<p data-say="">At 115 °C.</p>'
    """
    return f'<{tag} data-say="{"mass" if mass else ""}"{more}>{text(words)}</{tag}>'


def figure(name: str, label: str, value: str, *, far: bool = False, mass: bool = False) -> str:
    """One number to be read from afar."""
    kind = ' class="far"' if far else ""
    number = say("dd", value, mass=mass, more=f' id="figure-{name}"')
    return f"<div{kind}><dt>{label}</dt>{number}</div>"


def box(label: str, unit: str = "", *, wide: bool = False) -> str:
    """A box to write a measured value in, on paper or on the screen."""
    behind = {"°C": '<span data-unit="c">°C</span>', "g": '<span data-unit="g">g</span>'}
    kind = ' class="wide"' if wide else ""
    mode = "text" if wide else "decimal"
    return (
        f"<label{kind}>{label} <input inputmode={mode} autocomplete=off>"
        f"{' ' + behind.get(unit, unit) if unit else ''}</label>"
    )


def boxes(*parts: str) -> str:
    """Boxes side by side."""
    return f'<div class="boxes">{"".join(parts)}</div>'


def choice(label: str, answers: Sequence[str]) -> str:
    """Answers to tick."""
    ticks = "".join(f"<label><input type=checkbox>{answer}</label>" for answer in answers)
    return f"<fieldset><legend>{label}</legend>{ticks}</fieldset>"


# -------------------------------------------------------------------------- small print


def input_lines(raw: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Every key of the job with its value, a line for each table.

    Examples
    --------
    >>> input_lines({"title": "Bars", "press": {"force_kn": 6, "sealed_nozzle": True}})
    [('press', 'force_kn 6, sealed_nozzle true')]
    """
    lines = []
    for table, value in raw.items():
        rows = value if isinstance(value, list) else [value]
        if table == "title":
            continue
        lines.append((table, "; ".join(_keys(row) for row in rows)))
    return lines


def _keys(row: Any) -> str:
    if not isinstance(row, Mapping):
        return _value(row)
    return ", ".join(f"{key} {_nested(value)}" for key, value in row.items())


def _nested(value: Any) -> str:
    """Tables in tables, such as the part's solids, in brackets."""
    if isinstance(value, Mapping):
        return f"({_keys(value)})"
    if isinstance(value, list):
        return " ".join(_nested(item) for item in value)
    return _value(value)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return printable(value, _LONGEST).strip("'\"") if isinstance(value, str) else str(value)


def assumed_lines(assumptions: Sequence[Assumption]) -> list[tuple[str, str]]:
    """Numbers that nobody measured or published, a line for each card.

    Examples
    --------
    >>> assumed_lines([Assumption("press.weld_offset", 40.0, "K", "assumed", "our own choice")])
    [('press', 'weld_offset 40 K')]
    """
    lines: dict[str, list[str]] = {}
    for row in assumptions:
        if row.value is None or row.status not in _NOT_MEASURED:
            continue
        card, _, key = row.name.partition(".")
        unit = "" if row.unit == "1" else f" {row.unit}"
        memory = "*" if row.status == "memory" else ""
        lines.setdefault(card, []).append(f"{key} {row.value:.4g}{unit}{memory}")
    return [(card, ", ".join(numbers)) for card, numbers in lines.items()]


def unknowns_line(advice: Advice) -> str:
    """What the answer hangs on most; empty where that was not worked out."""
    details = advice.details if advice.heat else None
    named = [] if details is None else [(unknown_words(n), s) for n, s in details.unknowns]
    return ", ".join(f"{name} {percent(s)}" for name, s in named[:_MOST_UNKNOWNS] if name)


def lines_markup(lines: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Names in bold, each before its numbers."""
    for name, numbers in lines:
        yield f"<p><b>{text(name)}</b> {text(numbers)}. </p>"
