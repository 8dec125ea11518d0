"""Fitted cards on disk: in the maker's own folder, whole or not at all, older versions kept."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from moldwin.inputs.cards import Library, counted_by, load_card
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.fitted_cards import OWN_TRIALS, is_fitted
from moldwin.inputs.whole_file import write_whole
from moldwin.inputs.write_fitted import fitted_card
from moldwin.learn.fitting import Fit, FittedCard
from moldwin.learn.trials import now

__all__ = ["cards_folder", "keep"]

_OLD, _START = "old", "start"
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
        A file cannot be written, or a card there is broken; every card is as it was.
    """
    folder, date = cards_folder(job_folder), now()
    starts = {one.name: one for one in fit.weighed}
    before = Library(seen.folders, fits="behind", others=fit.others)
    texts = {}
    for one in fit.cards:
        behind = _behind(one, starts.get(one.name), fit, folder, date, before)
        data = fit.data
        if fit.used:
            data += f" ({book.name}: {_numbers(fit.used)})"
        texts[one.name] = _text(one, data, date, behind, fit.ids)
    given_way = {
        name: _behind_text(folder, name, before) for name in fit.looked_at if name not in texts
    }
    new = {**texts, **{name: text for name, text in given_way.items() if text is not None}}
    for name in new:
        _put_by(folder, name, date)
    _all_at_once(_made(folder), new)
    return [folder / f"{name}.toml" for name in texts]


def _text(one: FittedCard, data: str, date: str, behind: str, ids: Sequence[str]) -> bytes:
    fitted = {"date": date, "lot": one.lot, "behind": behind, "data": data, "trials": len(ids)}
    fitted["counted"] = " ".join(dict.fromkeys([*counted_by(one.card), *ids]))
    return fitted_card(one.card, one.name, one.values, one.group, f"Own data: {data}", fitted)


def _behind(
    one: FittedCard, start: FittedCard | None, fit: Fit, folder: Path, date: str, before: Library
) -> str:
    """What the next fit starts from: the same as this one did, weighings included."""
    if start is not None:
        text = _text(start, fit.weighings, date, "", ())
        return _kept_start(folder, date, one.name, text)
    path = folder / f"{one.name}.toml"
    if not path.is_file():
        return _start(one, folder, date)
    if is_fitted(load_card(path)):
        # weighings, or what others' trials taught, may stand here: that stays what fits start from
        return before.place(one.name) or _kept_start(folder, date, one.name, path.read_bytes())
    return f"{_OLD}/{_day(date)}/{one.name}.toml"  # a card of the maker's own: put by below


def _start(one: FittedCard, folder: Path, date: str) -> str:
    """The shipped card, or a copy of the other lot's fit that this one was widened from."""
    if not is_fitted(one.card):
        return "shipped"
    fitted = {**one.card.facts["fitted"], "lot": one.lot, "behind": ""}
    values = {
        key: quantity
        for key, quantity in one.card.quantities.items()
        if quantity.source == OWN_TRIALS
    }
    group = next((g for g in one.card.groups if g.name == "trials"), None)
    source = one.card.sources[OWN_TRIALS] + ", another lot, widened"
    text = fitted_card(one.card, one.name, values, group, source, fitted)
    return _kept_start(folder, date, one.name, text)


def _kept_start(folder: Path, date: str, name: str, text: bytes) -> str:
    place = f"{_OLD}/{_day(date)}/{_START}"
    write_whole(_made(folder / place) / f"{name}.toml", text)
    return f"{place}/{name}.toml"


def _put_by(folder: Path, name: str, date: str) -> None:
    path = folder / f"{name}.toml"
    if path.is_file():
        write_whole(_made(folder / _OLD / _day(date)) / path.name, path.read_bytes())


def _behind_text(folder: Path, name: str, before: Library) -> bytes | None:
    """What an earlier fit's card gives way to where this fit says nothing of it.

    Empty for the shipped card, None where nothing is to be done.
    """
    path = folder / f"{name}.toml"
    if not path.is_file() or not is_fitted(load_card(path)):
        return None
    place = before.place(name)
    if not place:
        return None
    return b"" if place == "shipped" else (folder / place).read_bytes()


def _all_at_once(folder: Path, texts: dict[str, bytes]) -> None:
    """Cards belong together: all are on the disk before the first takes its place.

    An empty text takes a card away.
    """
    aside = _made(folder / f".fit-{os.getpid()}")
    try:
        for name, text in texts.items():
            write_whole(aside / f"{name}.toml", text, named=str(folder / f"{name}.toml"))
        for name, text in texts.items():
            path = folder / f"{name}.toml"
            if text:
                os.replace(aside / path.name, path)
            else:
                path.unlink()
    except OSError as error:
        message = f"cannot be written: {error.strerror or error}"
        raise InputError([Fault(str(folder), "", message)]) from None
    finally:
        shutil.rmtree(aside, ignore_errors=True)


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
