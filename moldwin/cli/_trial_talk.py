"""The short conversation of ``moldwin trial add``: one question a line, an empty line skips it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from moldwin.cli._talk import until_it_reads
from moldwin.inputs.job_values import SlipError, allowed
from moldwin.inputs.typed_amounts import number
from moldwin.learn.trials import COLOR_SCALE, COLUMNS, contradictions, read_value

__all__ = ["converse"]

#: Columns of a lesser kind: taken as options and from tables, not asked for.
_NOT_ASKED = ("lot", "cooling_s")


def converse(ask: Callable[[str], str], say: Callable[[str], None]) -> dict[str, str]:
    """Ask for a trial.

    Parameters
    ----------
    ask : callable
        Shows a question and returns what was typed. [-]
    say : callable
        Shows a line. [-]

    Returns
    -------
    dict of str to str
        What was typed, by column; each of it can be read by `read_value`. [-]

    Examples
    --------
    >>> typed = iter(["", "", "hot", "130,5"])
    >>> said = []
    >>> converse(lambda question: next(typed, ""), said.append)
    {'barrel_c': '130.5'}
    >>> said[1]
    'got the text "hot"; a number belongs here, 20 to 400 °C'
    """
    say("What you did not measure or see stays empty: press Enter. Ctrl-C keeps nothing.")
    answers: dict[str, str] = {}
    for column in COLUMNS:
        if column in _NOT_ASKED or (column == "fill_pct" and answers.get("filled", "") == "yes"):
            continue
        for line in _before(column):
            say(line)
        text = _answer(column, answers, ask, say)
        if text:
            answers[column] = text
    return answers


def _answer(
    column: str, answers: dict[str, str], ask: Callable[[str], str], say: Callable[[str], None]
) -> str:
    """Ask until the answer can be kept."""

    def read(text: str) -> str:
        if COLUMNS[column].kind == "number" and "," in text:
            text = f"{number(text):.15g}"  # 9,5 is nine and a half here, as for `new`
        value = read_value(column, text)
        known = {name: read_value(name, typed) for name, typed in answers.items()}
        for _, message in contradictions({**known, column: value}):
            raise SlipError(message)
        if value is True:
            return "yes"
        return text if text.strip() else ""

    return until_it_reads(_question(column), ask, say, read)[1]


def _question(column: str) -> str:
    key = COLUMNS[column]
    hints = {"boolean": "yes or no", "number": allowed(key), "choice": ", ".join(key.choices)}
    hint = hints.get(key.kind, "")
    if column.endswith("_s"):
        hint += " s"
    what = key.what[:1].upper() + key.what[1:]
    return f"{what} ({hint}): " if hint else f"{what}: "


def _before(column: str) -> Iterator[str]:
    if column == "color":
        yield from (f"  {step}  {words}" for step, words in enumerate(COLOR_SCALE))
