"""``moldwin advise``: the whole answer on one page."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import (
    EXIT_STRICT,
    ConfidenceOption,
    JobArgument,
    JsonOption,
    SeedOption,
    SetOption,
    check_confidence,
    emit,
    notes_on,
    tell,
)

__all__ = ["advise"]

#: What ``--strict`` does not accept.
_UNSURE = ("extrapolated", "unmeasured-material")


def advise(
    job: JobArgument = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
    strict: Annotated[
        bool,
        typer.Option("--strict", help="Exit 4 if anything was extrapolated or unmeasured."),
    ] = False,
    verbose: Annotated[
        bool,
        typer.Option("--verbose", "-v", help="Below it: law, numbers and source of each remark."),
    ] = False,
) -> None:
    """Say what to do with this blend, press and part.

    \b
    Example:
      moldwin advise --set pellets.moisture_pct=12

    \b
    Exit codes:
      0  an answer; a closed window is an answer
      2  the command line or the job file is wrong
      3  something in a material card is wrong
      4  --strict, and something was extrapolated or unmeasured
    """
    check_confidence(confidence)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.advice.advise import advise as advise_on

    advice = advise_on(read, seed=seed, confidence=confidence)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.terminal import advice_page

        page = advice_page(advice, job)
        if verbose:
            from moldwin.report.verbose_page import verbose_section

            page += verbose_section(advice)
        emit(page)
    tell(notes_on(read.notes, advice.overrides))
    if strict and any(warning.code in _UNSURE for warning in advice.warnings):
        raise typer.Exit(EXIT_STRICT)
