"""Trials as text: the list, one line each, and all that is known of one."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from typing import Any

from rich.cells import cell_len, set_cell_size

from moldwin.learn.trials import CAME_OUT, COLOR_SCALE, PUT_IN, Trial, written_value
from moldwin.report.page import Page
from moldwin.report.words import clean, first_up

__all__ = ["kept_words", "trial_page", "trials_page"]

_HEADINGS = ("no.", "day", "water", "barrel", "soak", "mold", "filled", "color", "seen")
_UNITS = ("", "", "%", "°C", "s", "°C", "%", "0-5", "")
#: Columns of numbers, set to the right.
_RIGHT = (0, 2, 3, 4, 5, 6, 7)
_WIDEST_CELL = 10
#: Columns of what was put in; and the least room, in columns, that is worth words beside all.
_PUT_IN, _LEAST_SEEN = 6, 8
#: The rest of a question is no label.
_LABEL_END = re.compile(r"[,;?]")
_SIGNS = {"pct": "%", "c": "°C", "s": "s", "kn": "kN", "g": "g", "mm": "mm"}


def trials_page(book: str, trials: Sequence[Trial], width: int | None = None) -> str:
    """The list of trials, one line each.

    Parameters
    ----------
    book : str
        The book as the user named it. [-]
    trials : sequence of Trial
        In their order. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    if not trials:
        page.paragraph(f"No trials are kept in {book} yet.")
        return page.text()
    struck = sum(bool(trial.undone) for trial in trials)
    taken = f", {struck} of them taken back (x)" if struck else ""
    count = f"{len(trials)} trial" + ("s" if len(trials) > 1 else "")
    page.heading(f"{count} in {book}{taken}")
    rows = [_HEADINGS, _UNITS, *map(_row, trials)]
    # plain lines, not a console's: ten thousand of them must not take a second
    return page.text() + "\n".join(_lines(rows, page.width)) + "\n"


def trial_page(book: str, trial: Trial, width: int | None = None) -> str:
    """All that is known of one trial.

    Parameters
    ----------
    book : str
        The book as the user named it. [-]
    trial : Trial
        The trial. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading(f"Trial {trial.number} in {book}")
    if trial.undone:
        page.paragraph(f"Taken back on {trial.undone[:10]}: it counts no longer.")
    noted = trial.noted()
    _facts(page, "WHAT WENT IN", PUT_IN, noted)
    _facts(page, "WHAT CAME OUT", [key for key in CAME_OUT if key.key != "note"], noted)
    if trial.note:
        page.heading("NOTE")
        for line in trial.note.splitlines():
            page.paragraph(line)
    _job(page, trial)
    page.gap()
    page.paragraph(f"Kept {trial.added}, id {trial.id}.")
    return page.text()


def kept_words(book: str, numbers: Sequence[int | None], known: int) -> str:
    """What became of trials that were handed in.

    Parameters
    ----------
    book : str
        Name of the book. [-]
    numbers : sequence of int
        Of the trials that are new in it. [-]
    known : int
        Trials that were in it before. [-]

    Examples
    --------
    >>> kept_words("trials.sqlite", [4, 5], 0)
    'Trials 4 to 5 are kept in trials.sqlite.\\n'
    >>> kept_words("trials.sqlite", [], 3)
    'Nothing new for trials.sqlite: all 3 trials were there already.\\n'
    """
    book = clean(book)
    if not numbers:
        each = "the trial was" if known == 1 else f"all {known} trials were"
        return f"Nothing new for {book}: {each} there already.\n"
    which = f"Trial {numbers[0]} is"
    if len(numbers) > 1:
        which = f"Trials {numbers[0]} to {numbers[-1]} are"
    rest = ""
    if known:
        rest = f" {known} more {'was' if known == 1 else 'were'} there already."
    return f"{which} kept in {book}.{rest}\n"


# --------------------------------------------------------------------------- list


def _row(trial: Trial) -> tuple[str, ...]:
    return (
        f"{trial.number}{'x' if trial.undone else ''}",
        trial.day,
        _short(trial.moisture_pct),
        _short(trial.barrel_c),
        _short(trial.soak_s),
        _short(trial.mold_c),
        _filled(trial),
        _short(trial.color),
        _seen(trial),
    )


def _filled(trial: Trial) -> str:
    """How far it filled, or the yes or no where nobody said how far."""
    return written_value(trial.filled) if trial.fill_pct is None else _short(trial.fill_pct)


def _short(value: float | None) -> str:
    """Six digits are enough for a list; the page of the trial has them all."""
    return "" if value is None else f"{value:g}"


def _seen(trial: Trial) -> str:
    """What went wrong, then the maker's own words."""
    bubbles = trial.bubbles
    found = []
    if bubbles not in ("", "none"):
        found.append("bubbles" if bubbles == "some" else f"bubbles {bubbles}")
    found += ["stuck"] * bool(trial.stuck) + ["cracked"] * bool(trial.cracked)
    found += ["warped"] * bool(trial.warped) + ["lumps"] * bool(trial.lumps)
    return "; ".join(filter(None, [", ".join(found), trial.note]))


def _lines(rows: Sequence[tuple[str, ...]], width: int) -> list[str]:
    """Rows in columns, each cut to the width; on a narrow page what was seen is a second line."""
    cells = [tuple(clean(cell)[: 2 * width] for cell in row) for row in rows]
    widths = [min(max(map(len, column)), _WIDEST_CELL) for column in zip(*cells, strict=True)]
    if sum(widths[:-1]) + len(widths) - 1 <= width - _LEAST_SEEN:
        return [_line(row, widths[:-1], width) for row in cells]
    lines = []
    for row in cells:
        lines.append(_line((*row[:_PUT_IN], ""), widths[:_PUT_IN], width))
        if row[0]:  # not the units
            lines.append(_line(("", _outcome(row)), (3,), width))
    return lines


def _outcome(row: Sequence[str]) -> str:
    """How far it filled, its color and what was seen, in words."""
    *_, filled, color, seen = row
    if row[: len(_HEADINGS)] == _HEADINGS:
        return "filled, color, seen"
    sign = " %" if filled and filled not in ("yes", "no") else ""
    told = [f"filled {filled}{sign}" if filled else "", f"color {color}" if color else ""]
    return "; ".join(filter(None, [", ".join(filter(None, told)), seen]))


def _line(row: tuple[str, ...], widths: Sequence[int], width: int) -> str:
    *numbers, seen = row
    line = ""
    for column, (cell, space) in enumerate(zip(numbers, widths, strict=True)):
        cell = cell if len(cell) <= space else cell[: space - 1] + "…"
        line += (cell.rjust(space) if column in _RIGHT else cell.ljust(space)) + " "
    line = (line + seen).rstrip()
    return line if cell_len(line) <= width else set_cell_size(line, width - 1).rstrip() + "…"


# ---------------------------------------------------------------------------- one


def _facts(page: Page, heading: str, keys: Sequence[Any], noted: Mapping[str, Any]) -> None:
    page.heading(heading)
    rows = [(first_up(_LABEL_END.split(key.what)[0]), _words(key.key, noted)) for key in keys]
    given = [row for row in rows if row[1]]
    if given:
        page.rows(given)
    empty = [row[0] for row in rows if not row[1]]
    if empty:
        page.paragraph(f"Not noted: {'; '.join(words.lower() for words in empty)}.")


def _words(name: str, noted: Mapping[str, Any]) -> str:
    if name not in noted:
        return ""
    words = written_value(noted[name])
    if name == "color":
        beyond = "" if noted[name].is_integer() else ", and a little more"
        return f"{words}: {COLOR_SCALE[int(noted[name])]}{beyond}"
    sign = _SIGNS.get(name.rpartition("_")[2], "") if isinstance(noted[name], float) else ""
    return f"{words} {sign}".rstrip()


def _job(page: Page, trial: Trial) -> None:
    then = trial.then
    page.heading("THE JOB AS IT WAS")
    title = f" ({then.title})" if then.title else ""
    page.paragraph(f"{shlex.quote(clean(trial.job)) if trial.job else 'No file'}{title}")
    rows = [
        (str(row["card"]), f"{row.get('mass_g', '?')} g", _lot(row)) for row in then.ingredients
    ]
    if rows:
        page.rows(rows, right=(1,))
    page.paragraph("With --json all its tables are shown; they do not change with the file.")


def _lot(row: Mapping[str, Any]) -> str:
    return f"lot {row['lot']}" if row.get("lot") else ""
