"""``moldwin plan``: the next experiments, what each would teach and cost, and a sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from moldwin.cli._common import (
    ConfidenceOption,
    ForceOption,
    JobArgument,
    JsonOption,
    SeedOption,
    SetOption,
    check_confidence,
    emit,
    notes_on,
    tell,
)
from moldwin.cli._progress import progress
from moldwin.cli._trial_add import BookOption, book_place
from moldwin.inputs.errors import Fault, InputError

__all__ = ["plan"]

_FEWEST, _MOST = 1, 12
_AIMS = ("window", "part")
_DESIGNS = ("grid", "cross")


def plan(
    job: JobArgument = None,
    trials: Annotated[
        int, typer.Option("--trials", metavar="N", help=f"How many, {_FEWEST} to {_MOST}.")
    ] = 4,
    aim: Annotated[
        str,
        typer.Option(
            metavar="window|part",
            help="Chosen to narrow the barrel window, or for a good part soon.",
        ),
    ] = "window",
    design: Annotated[
        str | None,
        typer.Option(
            metavar="grid|cross",
            help="Instead: moisture x glycerol x temperature about the best setting.",
        ),
    ] = None,
    book: BookOption = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE.csv", help="Write the sheet to fill in."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
    force: ForceOption = False,
) -> None:
    """Choose the next experiments: each with what it would teach and what it costs.

    Trials of this material in the book are learned from first. Nothing past a stop is proposed;
    where advise says do not heat, only measurements without the press are.

    \b
    Example:
      moldwin plan my-job.toml --trials 3

    \b
    Exit codes:
      0    a plan, or why there is none
      2    the command line, job or book is wrong, or the sheet is there already
      3    something in a material card is wrong
      130  stopped with Ctrl-C
    """
    check_confidence(confidence)
    if not _FEWEST <= trials <= _MOST:
        message = f"got {trials}, allowed: {_FEWEST} to {_MOST} trials"
        raise InputError([Fault("--trials", "", message)])
    _one_of("--aim", aim, _AIMS)
    if design is not None:
        _one_of("--design", design, _DESIGNS)
    from moldwin.inputs.whole_file import checked_target, write_whole

    target = None if output is None else checked_target(output, (".csv",), force=force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.learn.book import read_trials

    kept, materials = [], []
    place = book_place(book, job)
    if job is not None or book is not None:
        materials = sorted({(row.card, row.lot) for row in read.ingredients})
        kept = read_trials(place, must_exist=book is not None)
    from moldwin.advice.planned import plan_job

    with progress("plan") as tick:
        advice = plan_job(
            read,
            [trial for trial in kept if trial.materials == tuple(materials)],
            Path(place).absolute().parent,
            others=[trial for trial in kept if trial.materials != tuple(materials)],
            wanted=trials,
            aim=aim,
            shape=design or "",
            seed=seed,
            confidence=confidence,
            tick=tick,
        )
    if target is not None and advice.pressed:
        from moldwin.learn.trial_sheet import trial_sheet

        sheet = trial_sheet([row.sheet for row in advice.pressed])
        write_whole(target, sheet.encode(), named=output)
    tell(notes_on(read.notes, advice.overrides))
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
        return
    from moldwin.report.plan_page import plan_page

    emit(plan_page(advice, job, output if advice.pressed else None))


def _one_of(option: str, came: str, allowed: tuple[str, ...]) -> None:
    if came not in allowed:
        message = f"got '{came}', allowed: {', '.join(allowed)}"
        raise InputError([Fault(option, "", message)])
