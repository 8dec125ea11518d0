"""``moldwin dry``: oven or air drying to a target."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import (
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
from moldwin.cli._pellets import MeasuredOption, TargetOption, masses_on_the_way, target_moisture
from moldwin.cli._pictures import picture_target, write_picture
from moldwin.inputs.errors import Fault, InputError

__all__ = ["dry"]

_COLDEST, _HOTTEST = 0.0, 140.0


def dry(
    job: JobArgument = None,
    to_moisture_pct: TargetOption = None,
    oven_c: Annotated[
        float | None,
        typer.Option("--oven-c", metavar="T", help="Of oven or air; left out: as warm as is safe."),
    ] = None,
    measured: MeasuredOption = None,
    confidence: Annotated[
        float, typer.Option(help="Share of cases in which nothing may fuse, brown or leave.")
    ] = 0.7,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: drying.png or drying.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    force: ForceOption = False,
) -> None:
    """Dry the pellets to a target: how long, how warm at most, to which mass.

    \b
    Example:
      moldwin dry my-job.toml --to-moisture-pct 8 --oven-c 50

    \b
    Exit codes:
      0  an answer
      2  the command line, the job or a table is wrong
      3  something in a material card is wrong
    """
    to = target_moisture(to_moisture_pct)
    check_confidence(confidence)
    if oven_c is not None and not _COLDEST <= oven_c <= _HOTTEST:
        hint = f"; in kelvin? That is {oven_c - 273.15:.0f} °C" if 273.0 <= oven_c <= 414.0 else ""
        message = f"got {oven_c:g}, allowed: {_COLDEST:g} to {_HOTTEST:g} °C{hint}"
        raise InputError([Fault("--oven-c", "", message)])
    target = picture_target(output, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    weighings = masses_on_the_way(measured)
    from moldwin.advice.dried import dry_job

    t = None if oven_c is None else oven_c + 273.15
    advice = dry_job(read, to=to, t=t, measured=weighings, confidence=confidence, seed=seed)
    if target is not None:
        from moldwin.report.dry_picture import dry_picture

        write_picture(target, dry_picture, advice)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.dry_page import dry_page

        emit(dry_page(advice))
    drawn = [] if target is None else [f"the drying is drawn in {output}"]
    tell(notes_on([*read.notes, *drawn], advice.overrides))
