"""Fitted cards on disk: in the maker's own folder, whole or not at all, older versions kept."""

from __future__ import annotations

import os
import re
from pathlib import Path

from moldwin.inputs.cards import Library
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.fitted_cards import fitted_name, is_fitted
from moldwin.inputs.whole_file import write_whole
from moldwin.inputs.write_fitted import fitted_card
from moldwin.learn.fitting import Fit, FittedCard
from moldwin.learn.trials import now

__all__ = ["cards_folder", "keep"]

_OLD = "old"
_UNSAFE = re.compile(r"[^\w.-]+")


def cards_folder(job_folder: Path) -> Path:
    """Where a job's fitted cards are kept.

    Parameters
    ----------
    job_folder : pathlib.Path
        The job's folder. [-]

    Returns
    -------
    pathlib.Path
        ``cards/`` beside the job; where there is none, the folder named by ``MOLDWIN_CARDS``.
    """
    beside, named = Path(job_folder) / "cards", os.environ.get("MOLDWIN_CARDS")
    return Path(named) if named and not beside.is_dir() else beside


def keep(fit: Fit, job_folder: Path, book: Path, seen: Library) -> list[Path]:
    """Write every fitted card; a file that stood in its place is kept under ``old/DATE/``.

    Parameters
    ----------
    fit : Fit
        What was learned. [-]
    job_folder, book : pathlib.Path
        Where the job lies, and the trials. [-]
    seen : Library
        The cards as they are now. [-]

    Returns
    -------
    list of pathlib.Path
        The files written.

    Raises
    ------
    InputError
        A file cannot be written; those before it are whole.
    """
    folder, date = cards_folder(job_folder), now()
    texts = {}
    for one in fit.cards:
        name = fitted_name(one.card.name, one.lot)
        texts[name] = _text(one, name, fit, book, date, _behind(one, name, folder, date, seen))
    for name in texts:
        _put_by(folder, name, date)
    written = []
    for name, text in texts.items():
        path = _made(folder) / f"{name}.toml"
        write_whole(path, text)
        written.append(path)
    return written


def _text(one: FittedCard, name: str, fit: Fit, book: Path, date: str, behind: str) -> bytes:
    data = f"{len(fit.used)} trials of {book.name}: {_numbers(fit.used)}"
    return fitted_card(
        one.card,
        name,
        {learnt.key: learnt.quantity for learnt in one.learnt},
        one.group,
        f"Own trials: {data}",
        {
            "date": date,
            "lot": one.lot,
            "behind": behind,
            "data": data,
            "trials": len(fit.used),
        },
    )


def _behind(one: FittedCard, name: str, folder: Path, date: str, seen: Library) -> str:
    """What the next fit starts from: the same as this one did."""
    path = folder / f"{name}.toml"
    if not path.is_file():
        return _start(one, folder, date)
    now_there = seen.card(name)
    if is_fitted(now_there):
        return str(now_there.facts["fitted"]["behind"])
    return f"{_OLD}/{_day(date)}/{name}.toml"  # a card of the maker's own: put by below


def _start(one: FittedCard, folder: Path, date: str) -> str:
    """The shipped card, or a copy of the other lot's fit that this one was widened from."""
    if not is_fitted(one.card):
        return "shipped"
    name = fitted_name(one.card.name, one.lot)
    fitted = {**one.card.facts["fitted"], "lot": one.lot}
    values = {
        key: quantity
        for key, quantity in one.card.quantities.items()
        if quantity.source == "own_trials"
    }
    group = next((g for g in one.card.groups if g.name == "trials"), None)
    source = one.card.sources["own_trials"] + ", another lot, widened"
    text = fitted_card(one.card, name, values, group, source, fitted)
    place = f"{_OLD}/{_day(date)}"
    write_whole(_made(folder / place) / f"{name}.toml", text)
    return f"{place}/{name}.toml"


def _put_by(folder: Path, name: str, date: str) -> None:
    path = folder / f"{name}.toml"
    if path.is_file():
        write_whole(_made(folder / _OLD / _day(date)) / path.name, path.read_bytes())


def _made(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"cannot be made: {error.strerror or error}"
        raise InputError([Fault(str(folder), "", message)]) from None
    return folder


def _day(date: str) -> str:
    return _UNSAFE.sub("-", date)


def _numbers(numbers: tuple[int, ...]) -> str:
    """1, 2, 3, 7 as 1-3, 7."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(f"{a}-{b}" if b > a else str(a) for a, b in runs)
