"""``moldwin service``: the molded part where it will live."""

from __future__ import annotations

from moldwin.cli._common import (
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

__all__ = ["service"]


def service(
    job: JobArgument = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
) -> None:
    """The molded part in use: water, stiffness, brittleness, size, season by season.

    \b
    Example:
      moldwin service my-job.toml --set use.humidity_high_pct=80

    \b
    Exit codes:
      0  an answer
      2  the command line or the job is wrong
      3  something in a material card is wrong
    """
    check_confidence(confidence)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.advice.in_service import service_job

    advice = service_job(read, seed=seed, confidence=confidence)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.service_page import service_page

        emit(service_page(advice))
    tell(notes_on(read.notes, advice.overrides))
