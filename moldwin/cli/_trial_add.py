"""``moldwin trial add``: from options, a table or a conversation to a row that is safe on disk."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from moldwin.cli._common import JsonOption, SetOption, emit, tell
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.learn.trials import Trial

__all__ = ["BookOption", "add", "book_place", "emit_trials"]

_NOTHING = (
    "nothing was noted, nothing is kept; give one thing that was set or seen, such as "
    "--barrel-c 130 or --filled yes"
)

BookOption = Annotated[
    str | None,
    typer.Option("--book", metavar="FILE", help="The book; left out: trials.sqlite beside JOB."),
]


def add(
    job: Annotated[
        str | None,
        typer.Argument(metavar="JOB.toml", help="The job that was molded; kept as it is now."),
    ] = None,
    date: Annotated[
        str | None, typer.Option(metavar="YYYY-MM-DD", help="Day of the trial.")
    ] = None,
    lot: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="Lot of the material, CARD=NAME where there are several."
        ),
    ] = None,
    moisture_pct: Annotated[
        str | None, typer.Option(metavar="PCT", help="Water in the pellets as molded, wet basis.")
    ] = None,
    barrel_c: Annotated[str | None, typer.Option(metavar="C", help="Barrel temperature.")] = None,
    soak_s: Annotated[
        str | None, typer.Option(metavar="S", help="Time in the hot barrel before pressing.")
    ] = None,
    mold_c: Annotated[str | None, typer.Option(metavar="C", help="Mold temperature.")] = None,
    force_kn: Annotated[
        str | None, typer.Option(metavar="KN", help="Force on the plunger.")
    ] = None,
    charge_g: Annotated[str | None, typer.Option(metavar="G", help="Pellets loaded.")] = None,
    cooling_s: Annotated[
        str | None, typer.Option(metavar="S", help="From pressing to opening the mold.")
    ] = None,
    filled: Annotated[str | None, typer.Option(metavar="yes|no", help="Did the part fill?")] = None,
    fill_pct: Annotated[str | None, typer.Option(metavar="PCT", help="How far it filled.")] = None,
    part_g: Annotated[
        str | None, typer.Option(metavar="G", help="Mass of the part, sprue cut off.")
    ] = None,
    bubbles: Annotated[
        str | None,
        typer.Option(
            metavar="WHERE", help="none, skin, heart (inside), all, or some (not noted where)."
        ),
    ] = None,
    color: Annotated[
        str | None, typer.Option(metavar="0-5", help="Step of color, by the scale above.")
    ] = None,
    stuck: Annotated[
        str | None, typer.Option(metavar="yes|no", help="Did it stick to mold or barrel?")
    ] = None,
    cracked: Annotated[
        str | None, typer.Option(metavar="yes|no", help="Did it crack by itself?")
    ] = None,
    warped: Annotated[str | None, typer.Option(metavar="yes|no", help="Did it warp?")] = None,
    lumps: Annotated[
        str | None, typer.Option(metavar="yes|no", help="Are pellets or grains still seen in it?")
    ] = None,
    bend_radius_mm: Annotated[
        str | None, typer.Option(metavar="MM", help="Tightest bend it took whole; 0: folds flat.")
    ] = None,
    photo: Annotated[str | None, typer.Option(metavar="FILE", help="Name of a photo.")] = None,
    note: Annotated[
        str | None, typer.Option(metavar="TEXT", help="Anything else, in your own words.")
    ] = None,
    table: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="TRIALS.csv",
            help="Many at once; columns: the options' names, _ for -.",
        ),
    ] = None,
    book: BookOption = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
) -> None:
    """Keep a trial. With no option but --book, at a terminal, you are asked for each thing.

    What you leave out stays empty; one thing that was set or seen makes a trial. A table is taken
    as a whole or not at all, and one that was taken already adds nothing.

    \b
    Color, the part beside an unheated pellet in daylight:
      0  as the pellets were: no difference side by side
      1  a shade darker, seen only side by side
      2  honey: plainly yellower, clear or milky as before
      3  toffee: light brown all through, smells of caramel
      4  dark brown, or brown streaks; smells burnt
      5  black or charred somewhere

    \b
    Example:
      moldwin trial add my-job.toml --barrel-c 130 --moisture-pct 10 --filled yes

    \b
    Exit codes:
      0    the trial is safe on the disk
      2    the command line, job, table or book is wrong; nothing was kept
      3    something in a material card is wrong
      130  stopped with Ctrl-C; nothing was kept
    """
    typed = {
        "date": date,
        "lot": lot,
        "moisture_pct": moisture_pct,
        "barrel_c": barrel_c,
        "soak_s": soak_s,
        "mold_c": mold_c,
        "force_kn": force_kn,
        "charge_g": charge_g,
        "cooling_s": cooling_s,
        "filled": filled,
        "fill_pct": fill_pct,
        "part_g": part_g,
        "bubbles": bubbles,
        "color": color,
        "stuck": stuck,
        "cracked": cracked,
        "warped": warped,
        "lumps": lumps,
        "bend_radius_mm": bend_radius_mm,
        "photo": photo,
        "note": note,
    }
    given = {name: text for name, text in typed.items() if text is not None}
    if job is None and table is None:
        raise InputError([Fault("moldwin trial add", "", "name the job that was molded, JOB.toml")])
    if table is not None and given:
        message = "says it all; leave out --from or the trial's own options"
        raise InputError([Fault("--from", "", f"the table {message}")])
    place = book_place(book, job)
    if table is not None:
        from moldwin.learn.trial_table import read_trial_table

        trials = read_trial_table(table, job, _folder(place), sets or ())
    else:
        asked = not given and not sets and not as_json and sys.stdin is not None
        trials = [_one(str(job), given, asked and sys.stdin.isatty(), sets or (), place)]
    from moldwin.learn.book import add_trials

    added = add_trials(place, trials)
    _say_added(place, added.trials, len(added.known), as_json)


def book_place(book: str | None, job: str | None) -> str:
    from moldwin.learn.book import book_beside

    return str(book_beside(job)) if book is None else book


def emit_trials(place: str, trials: list[Trial], **more: Any) -> None:
    from moldwin.report.json_out import to_json
    from moldwin.report.trials_data import trials_data

    emit(to_json(trials_data(place, trials, **more)))


def _one(job: str, given: dict[str, str], ask: bool, sets: Sequence[str], place: str) -> Trial:
    """The trial that the options, or the answers at the terminal, tell of."""
    from moldwin.inputs.job_values import SlipError
    from moldwin.inputs.read_job import read_job
    from moldwin.learn.job_then import job_then, path_from
    from moldwin.learn.trials import Trial, contradictions, new_id, now, read_value

    read = read_job(job, sets)
    if ask:
        from moldwin.cli._talk import ask_at_terminal, say_at_terminal
        from moldwin.cli._trial_talk import converse

        given = converse(ask_at_terminal, say_at_terminal)
    values, faults = {}, []
    for name, text in given.items():
        try:
            values[name] = read_value(name, text)
        except SlipError as slip:
            faults.append(Fault(_option(name), "", str(slip)))
    faults += [Fault(_option(name), "", words) for name, words in contradictions(values)]
    if faults:
        raise InputError(faults)
    folder = _folder(place)
    try:
        then = job_then(read, folder, values.get("lot", ""))
    except SlipError as slip:
        raise InputError([Fault("--lot", "", str(slip))]) from None
    made = Trial(new_id(), now(), path_from(folder, Path(job)), then, **values)
    if made.empty:
        raise InputError([Fault("moldwin trial add", "", _NOTHING)])
    tell(f"note: {note}" for note in read.notes)
    return made


def _option(column: str) -> str:
    return "--" + column.replace("_", "-")


def _folder(place: str) -> Path:
    return Path(os.path.realpath(place)).parent


def _say_added(place: str, trials: Any, known: int, as_json: bool) -> None:
    if as_json:
        emit_trials(place, list(trials), known=known)
        return
    from moldwin.report.trials_page import kept_words

    emit(kept_words(place, [one.number for one in trials], known))
    blank = sum(not one.seen for one in trials)
    if blank:
        which = "the trial says" if len(trials) == 1 else f"{blank} of them say"
        tell([f"note: {which} nothing of what came out: no fit learns from that"])
