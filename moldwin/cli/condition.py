"""``moldwin condition``: pellets to their target moisture in a jar: source, time, stop mass."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import (
    ForceOption,
    JobArgument,
    JsonOption,
    SeedOption,
    SetOption,
    emit,
    notes_on,
    tell,
)
from moldwin.cli._pellets import MeasuredOption, TargetOption, masses_on_the_way, target_moisture
from moldwin.cli._pictures import picture_target, write_picture
from moldwin.inputs.errors import Fault, InputError

__all__ = ["condition"]


def condition(
    job: JobArgument = None,
    to_moisture_pct: TargetOption = None,
    source: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Use this source, such as NaCl or glycerol."),
    ] = None,
    bath_water_g: Annotated[
        float | None,
        typer.Option("--bath-water-g", metavar="G", help="Water in the jar's source already."),
    ] = None,
    measured: MeasuredOption = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: course.png or course.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    force: ForceOption = False,
) -> None:
    """Bring the pellets to their target moisture: which jar, how long, when to stop.

    The whole way is solved: source, still air, bed of pellets and their inside.

    \b
    Example:
      moldwin condition my-job.toml --to-moisture-pct 12

    \b
    Exit codes:
      0  an answer
      2  the command line, the job or a table is wrong
      3  something in a material card is wrong
    """
    to = target_moisture(to_moisture_pct)
    water = None
    if bath_water_g is not None:
        if not 0.0 <= bath_water_g <= 1e5:
            message = f"got {bath_water_g:g}, allowed: 0 to 100000 g"
            raise InputError([Fault("--bath-water-g", "", message)])
        water = 1e-3 * bath_water_g
    target = picture_target(output, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    weighings = masses_on_the_way(measured)
    from moldwin.advice.conditioned import condition_job

    advice = condition_job(
        read, to=to, source=source, bath_water=water, measured=weighings, seed=seed
    )
    if target is not None:
        from moldwin.report.condition_picture import condition_picture

        write_picture(target, condition_picture, advice)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.condition_page import condition_page

        emit(condition_page(advice))
    drawn = [] if target is None else [f"the course is drawn in {output}"]
    tell(notes_on([*read.notes, *drawn], advice.overrides))
