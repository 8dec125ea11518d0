"""``moldwin trial``: keep what was tried at the press, show it, take it out as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import JsonOption, emit
from moldwin.cli._trial_add import BookOption, add, book_place, emit_trials
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.learn.trials import Trial

__all__ = ["trial"]

trial = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

JobArgument = Annotated[
    str | None,
    typer.Argument(metavar="JOB.toml", help="Its book is meant; left out: this folder's."),
]
AllOption = Annotated[bool, typer.Option("--all", help="Those taken back too.")]


trial.command("add")(add)


@trial.callback(invoke_without_command=True)
def _top(context: typer.Context) -> None:
    """Keep your trials safe: what went into the press, and what came out.

    They lie in one file beside your jobs, trials.sqlite. Copy that file, and you have a copy of
    all of them.

    \b
    Example:
      moldwin trial add my-job.toml --barrel-c 130 --soak-s 300 --filled yes

    \b
    Exit codes:
      0  done; an added trial is safe on the disk
      2  the command line or a file is wrong
    """
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@trial.command("list")
def list_trials(
    job: JobArgument = None,
    book: BookOption = None,
    every: AllOption = False,
    as_json: JsonOption = False,
) -> None:
    """List the trials, one line each, the oldest first.

    \b
    Example:
      moldwin trial list

    \b
    Exit codes:
      0  shown, also when there is none yet
      2  the command line or the book is wrong
    """
    place, trials = _read(book, job, every)
    if as_json:
        emit_trials(place, trials)
        return
    from moldwin.report.trials_page import trials_page

    emit(trials_page(place, trials))


@trial.command("show")
def show(
    number: Annotated[str, typer.Argument(metavar="N", help="Number of the trial, as listed.")],
    job: JobArgument = None,
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show all that is known of one trial, and the job as it was.

    \b
    Example:
      moldwin trial show 1

    \b
    Exit codes:
      0  shown
      2  there is no such trial, or the book is wrong
    """
    place, trials = _read(book, job, True)
    found = [one for one in trials if str(one.number) == number.strip()]
    if not found:
        last = f"; it holds 1 to {trials[-1].number}" if trials else ", nor any other yet"
        raise InputError([Fault(place, "", f"holds no trial {number}{last}")])
    if as_json:
        from moldwin.report.json_out import to_json
        from moldwin.report.trials_data import trial_data

        emit(to_json(trial_data(place, found[0])))
        return
    from moldwin.report.trials_page import trial_page

    emit(trial_page(place, found[0]))


@trial.command("export")
def export(
    job: JobArgument = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE.csv", help="Left out: to the terminal."),
    ] = None,
    book: BookOption = None,
    every: AllOption = False,
    as_json: JsonOption = False,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the file if it is there.")
    ] = False,
) -> None:
    """Write the trials as a table that `add --from` takes back to the last letter.

    An apostrophe before = + - or @ keeps a spreadsheet from running a note as a formula; it is
    taken off again when the table is read.

    \b
    Example:
      moldwin trial export -o trials.csv

    \b
    Exit codes:
      0  written
      2  the command line or the book is wrong, or the file is there already
    """
    from moldwin.inputs.whole_file import checked_target, write_whole

    target = None if output is None else checked_target(output, (".csv",), force=force)
    place, trials = _read(book, job, every)
    if as_json:
        if target is not None:
            raise InputError([Fault("--json", "", "goes to the terminal; leave out --output")])
        emit_trials(place, trials, with_job=True)
        return
    from moldwin.learn.trial_table import trial_table

    text = trial_table(trials)
    if target is None:
        emit(text)
        return
    write_whole(target, text.encode(), named=output)
    emit(f"{len(trials)} trial{'s' * (len(trials) != 1)} written to {output}.\n")


@trial.command("undo")
def undo(job: JobArgument = None, book: BookOption = None, as_json: JsonOption = False) -> None:
    """Take back the trial added last: it is struck out, not deleted, and counts no longer.

    \b
    Example:
      moldwin trial undo

    \b
    Exit codes:
      0  taken back
      2  there is none to take back, or the book is wrong
    """
    from moldwin.learn.book import undo_last

    place = book_place(book, job)
    last = undo_last(place)
    if as_json:
        from moldwin.report.json_out import to_json
        from moldwin.report.trials_data import trial_data

        emit(to_json(trial_data(place, last)))
    else:
        emit(f"Trial {last.number} is taken back; `moldwin trial list --all` still shows it.\n")


def _read(book: str | None, job: str | None, every: bool) -> tuple[str, list[Trial]]:
    """A book's trials; one that was named must be there."""
    from moldwin.inputs.text_files import read_text
    from moldwin.learn.book import read_trials

    place = book_place(book, job)
    if book is None and job is not None:
        read_text(job)  # a mistyped job must not look like one without trials
    return place, read_trials(place, undone=every, must_exist=book is not None)
