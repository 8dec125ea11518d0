"""``moldwin dry``: oven or air drying to a target."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import JsonOption, SetOption, emit, tell
from moldwin.cli.condition import target_moisture
from moldwin.inputs.errors import Fault, InputError

__all__ = ["dry"]

_COLDEST, _HOTTEST = 0.0, 140.0


def dry(
    job: Annotated[
        str | None,
        typer.Argument(metavar="JOB.toml", help="Your job; left out: the bundled example."),
    ] = None,
    to_moisture_pct: Annotated[
        float | None,
        typer.Option(
            "--to-moisture-pct", metavar="X", help="Target, wet basis; left out: the best to mold."
        ),
    ] = None,
    oven_c: Annotated[
        float | None,
        typer.Option("--oven-c", metavar="T", help="Of oven or air; left out: as warm as is safe."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: Annotated[int, typer.Option(help="Of the random draws; same seed, same answer.")] = 20260,
) -> None:
    """Dry the pellets to a target: how long, how warm at most, to which mass.

    \b
    Example:
      moldwin dry my-job.toml --to-moisture-pct 8 --oven-c 50

    \b
    Exit codes:
      0  an answer
      2  the command line or the job is wrong
      3  something in a material card is wrong
    """
    to = target_moisture(to_moisture_pct)
    if oven_c is not None and not _COLDEST <= oven_c <= _HOTTEST:
        message = f"got {oven_c:g}, allowed: {_COLDEST:g} to {_HOTTEST:g} °C"
        raise InputError([Fault("--oven-c", "", message)])
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.advice.dried import dry_job

    t = None if oven_c is None else oven_c + 273.15
    advice = dry_job(read, to=to, t=t, seed=seed)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.dry_page import dry_page

        emit(dry_page(advice))
    tell(f"note: {note}" for note in read.notes)
