"""``moldwin plasticizer``: how much plasticizer the seaweed brings along."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import JobArgument, JsonOption, SeedOption, SetOption, emit, notes_on, tell
from moldwin.inputs.errors import Fault, InputError

__all__ = ["plasticizer"]

_WETTEST_PCT, _LEAST_RH, _MOST_RH = 60.0, 5.0, 95.0
#: No blend is so dry at any humidity asked for: a fraction was meant.
_DRIEST_PCT = 1.0


def plasticizer(
    job: JobArgument = None,
    moisture_pct: Annotated[
        float | None,
        typer.Option("--moisture-pct", metavar="X", help="Moisture it came to, wet basis."),
    ] = None,
    humidity_pct: Annotated[
        float | None,
        typer.Option("--humidity-pct", metavar="X", help="Relative humidity it came to that at."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
) -> None:
    """Say how much plasticizer is in your seaweed, counted as glycerol.

    From the softening test in the job ([blend] softening_c, softening_moisture_pct), from the
    moisture the blend comes to at a known humidity, or both.

    \b
    Example:
      moldwin plasticizer my-job.toml --moisture-pct 12 --humidity-pct 55

    \b
    Exit codes:
      0  an answer
      2  the command line or job is wrong, it has no seaweed or no measurement
      3  something in a material card is wrong
    """
    if (moisture_pct is None) != (humidity_pct is None):
        message = "--moisture-pct and --humidity-pct go together"
        raise InputError([Fault("moldwin plasticizer", "", message)])
    if moisture_pct is not None and not _DRIEST_PCT <= moisture_pct <= _WETTEST_PCT:
        message = f"got {moisture_pct:g}, allowed: {_DRIEST_PCT:g} to {_WETTEST_PCT:g} %, wet basis"
        message += _slip(moisture_pct, _DRIEST_PCT)
        raise InputError([Fault("--moisture-pct", "", message)])
    if humidity_pct is not None and not _LEAST_RH <= humidity_pct <= _MOST_RH:
        message = f"got {humidity_pct:g}, allowed: {_LEAST_RH:g} to {_MOST_RH:g} %"
        message += _slip(humidity_pct, 1.0)
        raise InputError([Fault("--humidity-pct", "", message)])
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.learn.native import native_plasticizer
    from moldwin.stages.bench import Bench

    found = native_plasticizer(
        Bench(read, seed=seed),
        None if moisture_pct is None else moisture_pct / 100.0,
        None if humidity_pct is None else humidity_pct / 100.0,
    )
    from moldwin.report.plasticizer_page import plasticizer_data, plasticizer_page

    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(plasticizer_data(found)))
    else:
        emit(plasticizer_page(found))
    tell(notes_on(read.notes))


def _slip(came: float, least: float) -> str:
    """A fraction where percent belongs."""
    return f"; did you mean {100.0 * came:g}? percent, no fraction" if 0.0 < came < least else ""
