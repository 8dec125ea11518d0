"""``moldwin setup-sheet``: the answer as one page to print, or to read on a phone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import (
    ConfidenceOption,
    ForceOption,
    JobArgument,
    SeedOption,
    SetOption,
    check_confidence,
    emit,
    notes_on,
    tell,
)

if TYPE_CHECKING:
    from moldwin.inputs.job import Job
    from moldwin.report.sheet import Origin

__all__ = ["setup_sheet"]

_ENDINGS = (".html", ".htm")


def setup_sheet(
    output: Annotated[
        str, typer.Option("--output", "-o", metavar="FILE", help="Write it here: sheet.html.")
    ],
    job: JobArgument = None,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
    force: ForceOption = False,
) -> None:
    """Make a sheet for the bench: steps, boxes to write in, the window, all on one page.

    One HTML file that fetches nothing. It prints on one page of A4 or Letter; on a screen two
    controls show other moistures and barrel temperatures.

    \b
    Example:
      moldwin setup-sheet my-job.toml -o sheet.html

    \b
    Exit codes:
      0    the sheet is written; "do not heat" is an answer
      2    the command line or the job is wrong, or the sheet cannot be written
      3    something in a material card is wrong
      130  stopped with Ctrl-C; nothing is written
    """
    check_confidence(confidence)
    from moldwin.inputs.whole_file import checked_target, write_whole

    target = checked_target(output, _ENDINGS, force=force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.advice.advise import advise
    from moldwin.advice.sheet_grid import sheet_grid
    from moldwin.cli._progress import progress
    from moldwin.report.sheet import run_sheet
    from moldwin.report.words import clean

    with progress("sheet") as tick:
        advice = advise(read, seed=seed, confidence=confidence)
        grid = sheet_grid(read, advice, seed=seed, tick=tick)
        page = run_sheet(advice, grid, read, _origin(read, job, sets or ()))
    write_whole(target, page.encode(), named=output)
    emit(f"The sheet is in {clean(output)}.\n")
    tell(notes_on(read.notes, advice.overrides))


def _origin(read: Job, job: str | None, sets: Sequence[str]) -> Origin:
    """Where the job comes from; its text is shown on the sheet."""
    from moldwin.inputs.text_files import read_text
    from moldwin.report.sheet import Origin

    text = "" if read.path is None else read_text(read.path)
    return Origin(name=job or "", text=text, sets=tuple(sets))
