"""``moldwin screen``: a table of recipes in, the main numbers of each out."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from moldwin.cli._common import (
    EXIT_WRONG,
    ConfidenceOption,
    ForceOption,
    JsonOption,
    SeedOption,
    SetOption,
    check_confidence,
    emit,
    notes_on,
    tell,
)
from moldwin.cli._progress import progress
from moldwin.cli._threads import one_thread
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.files import shipped
from moldwin.inputs.text_files import printable

if TYPE_CHECKING:
    from moldwin.cli._screen_run import Tally

__all__ = ["screen"]

_ENDINGS = (".csv", ".parquet")
#: The recipes answered when none are named.
_BUNDLED = "recipes-invented.csv"
_SAMPLES_LOW, _SAMPLES_HIGH = 64, 16384
_MOST_PROCESSES = 256


def screen(
    output: Annotated[
        str,
        typer.Option(
            "--output", "-o", metavar="FILE", help="Where to: answers.csv or answers.parquet."
        ),
    ],
    recipes: Annotated[
        str | None,
        typer.Argument(
            metavar="RECIPES.csv",
            help="One recipe a row, job keys as columns; or .parquet. Left out: the bundled ones.",
        ),
    ] = None,
    job: Annotated[
        str | None,
        typer.Option(metavar="JOB.toml", help="A job whose values the columns replace."),
    ] = None,
    sets: SetOption = None,
    samples: Annotated[
        int, typer.Option(help=f"Possible truths tried, {_SAMPLES_LOW} to {_SAMPLES_HIGH}.")
    ] = 256,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
    target: Annotated[
        bool,
        typer.Option(
            "--target/--no-target",
            help="Also look for the moisture to mold at; without it several times as fast.",
        ),
    ] = True,
    between: Annotated[
        bool,
        typer.Option(
            "--between/--every-row",
            help="Work out some hundred rows, read the others from surfaces laid through them, and"
            " say how far off those are; needs --no-target.",
        ),
    ] = False,
    processes: Annotated[
        int | None,
        typer.Option(metavar="N", help="Processes at work at once; left out: one a core."),
    ] = None,
    as_json: JsonOption = False,
    force: ForceOption = False,
) -> None:
    """Answer a whole table of recipes: window, chance, soak, mold, charge and warnings of each.

    Columns are named as --set names keys; an empty cell leaves what --job says. What is wrong with
    a row stands in its column error. A run that was stopped goes on where it was when it is started
    again, and gives the same bytes.

    A long table of rows that differ in numbers alone is answered a hundred times as fast with
    --between --no-target: the column made says computed or interpolated, warnings_unsure which of
    the warnings may not hold there, and rows where surfaces are not near enough are worked out.

    \b
    Example:
      moldwin screen -o answers.csv
    answers the recipes that come with moldwin.
    Your own: moldwin screen recipes.csv --job my-job.toml -o answers.csv

    \b
    Exit codes:
      0    answers; a closed window is an answer, and so is an error in some rows
      2    the command line, the table or the job is wrong, or every single row is
      3    something in a material card is wrong
      130  stopped with Ctrl-C; the same command goes on
    """
    check_confidence(confidence)
    _check("--samples", samples, _SAMPLES_LOW, _SAMPLES_HIGH)
    if processes is not None:
        _check("--processes", processes, 1, _MOST_PROCESSES)
    if between and target:
        message = "answers the pellets as they are; add --no-target"
        raise InputError([Fault("--between", "", message)])
    if between:
        one_thread(insist=True)
    from moldwin.inputs.whole_file import checked_target

    if recipes is None:
        recipes = str(shipped("examples") / _BUNDLED)
    if Path(recipes).suffix.lower() not in _ENDINGS:
        message = f"ends in neither {' nor '.join(_ENDINGS)}: name a table"
        raise InputError([Fault(printable(recipes, 200), "", message)])
    place = checked_target(output, _ENDINGS, force=force)
    if Path(recipes).exists() and place == Path(recipes).resolve():
        raise InputError([Fault(printable(output, 200), "", "is the table of recipes itself")])
    from moldwin.cli._screen_run import Order, screen_table

    base = _base(job, sets or [])
    order = Order(
        recipes=Path(recipes),
        target=place,
        named=recipes,
        base=base,
        options={
            "samples": samples,
            "seed": seed,
            "confidence": confidence,
            "target": target,
        },
        processes=processes or _cores(),
        anew=force,
        between=between,
    )
    with progress("screen") as tick:
        tally = screen_table(order, tick)
    _say(tally, output, as_json)
    tell([] if base is None else notes_on(base.notes))
    if tally.rows and tally.errors == tally.rows:
        tell([f"every row is wrong; the column error of {printable(output, 200)} says why"])
        raise SystemExit(EXIT_WRONG)


def _base(job: str | None, sets: list[str]) -> Any:
    """The job behind the table, with what was set in it."""
    if job is None and not sets:
        return None
    from moldwin.inputs.read_job import read_job

    if job is None:
        message = "there is nothing to set without --job: make a column of it"
        raise InputError([Fault("--set", "", message)])
    return read_job(job, sets)


def _say(tally: Tally, output: str, as_json: bool) -> None:
    if as_json:
        from moldwin.report.json_out import to_json

        emit(
            to_json(
                {
                    "schema": "moldwin.screen/1",
                    "rows": tally.rows,
                    "open": tally.open,
                    "errors": tally.errors,
                    "output": output,
                    "interpolated": tally.interpolated,
                    "between": [of_group.to_dict() for of_group in tally.between],
                }
            )
        )
    else:
        wrong = f", {tally.errors} with an error" if tally.errors else ""
        rows = f"{tally.rows} recipe{'' if tally.rows == 1 else 's'}"
        emit(f"{rows}, {tally.open} with an open window{wrong}: {printable(output, 200)}\n")
    from moldwin.cli._screen_words import lines_of

    tell(lines_of(tally))
    if tally.before:
        tell([f"note: the first {tally.before} were there from a run that was stopped"])


def _cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _check(option: str, value: int, low: int, high: int) -> None:
    if not low <= value <= high:
        raise InputError([Fault(option, "", f"got {value}, allowed: {low} to {high}")])
