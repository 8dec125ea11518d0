"""``moldwin check``: everything wrong with a job file, at once."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import EXIT_WRONG, SetOption, emit, notes_on, tell

__all__ = ["check"]


def check(
    job: Annotated[str, typer.Argument(metavar="JOB.toml", help="The job to read.")],
    sets: SetOption = None,
) -> None:
    """Say all that is wrong with a job file.

    Where nothing is wrong: what was left out, and what that costs the answer.

    \b
    Example:
      moldwin check my-job.toml

    \b
    Exit codes:
      0  the job can be used
      2  it cannot be read, or something in it is wrong
      3  something in a material card is wrong
    """
    from moldwin.inputs.cards import library_for
    from moldwin.inputs.read_job import check_job, read_job
    from moldwin.report.check_page import check_page

    faults = check_job(job, sets or ())
    if faults:
        tell(faults)
        raise typer.Exit(EXIT_WRONG)
    read = read_job(job, sets or ())
    if read.part.given:  # whether its solids leave anything is worked out where parts are
        from moldwin.stages.bench import Bench
        from moldwin.stages.shot import part_geometry

        part_geometry(Bench(read))
    emit(check_page(read, library_for(read.folder), job))
    tell(notes_on(read.notes))
