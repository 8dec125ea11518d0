"""``moldwin condition``: pellets to their target moisture in a jar: source, time, stop mass."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import JsonOption, SetOption, emit, tell
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.advice.conditioned import ConditionAdvice

__all__ = ["condition", "target_moisture"]

_ENDINGS = (".png", ".svg")
_DRIEST, _WETTEST = 1.0, 40.0


def condition(
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
    source: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Use this source, such as NaCl or glycerol."),
    ] = None,
    bath_water_g: Annotated[
        float | None,
        typer.Option("--bath-water-g", metavar="G", help="Water in the jar's source already."),
    ] = None,
    measured: Annotated[
        str | None,
        typer.Option(metavar="MASS.csv", help="Weighings on the way: hours, gross_g; narrows."),
    ] = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: course.png or course.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: Annotated[int, typer.Option(help="Of the random draws; same seed, same answer.")] = 20260,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the file if it is there.")
    ] = False,
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
    target = None if output is None else _target(output, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    weighings = None
    if measured is not None:
        from moldwin.inputs.jar_weighings import read_jar_weighings

        weighings = read_jar_weighings(measured)
    from moldwin.advice.conditioned import condition_job

    advice = condition_job(
        read, to=to, source=source, bath_water=water, measured=weighings, seed=seed
    )
    if target is not None:
        _draw(advice, target)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.condition_page import condition_page

        emit(condition_page(advice))
    notes = [f"note: {note}" for note in read.notes]
    notes += [f"note: your own card {name} is used, not ours" for name in advice.overrides]
    tell(notes + ([f"note: the course is drawn in {output}"] if target is not None else []))


def target_moisture(percent: float | None) -> float | None:
    """A target from the command line as a mass fraction, held to what pellets can be. [kg/kg]"""
    if percent is None:
        return None
    if _DRIEST <= percent <= _WETTEST:
        return percent / 100.0
    hint = f"; did you mean {100 * percent:g}?" if _DRIEST <= 100 * percent <= _WETTEST else ""
    message = f"got {percent:g}, allowed: {_DRIEST:g} to {_WETTEST:g} % water, wet basis{hint}"
    raise InputError([Fault("--to-moisture-pct", "", message)])


def _target(output: str, force: bool) -> Path:
    """Where the picture goes, and that it can be drawn at all, before anything is computed."""
    from importlib.util import find_spec

    from moldwin.report.output_file import checked_target

    target = checked_target(output, _ENDINGS, force=force)
    if find_spec("matplotlib") is None:
        message = "a picture needs matplotlib; pip install 'moldwin[pictures]' brings it"
        raise InputError([Fault("--output", "", message)])
    return target


def _draw(advice: ConditionAdvice, target: Path) -> None:
    from moldwin.report.condition_picture import condition_picture
    from moldwin.report.output_file import write_whole

    write_whole(target, condition_picture(advice, target.suffix.lower().removeprefix(".")))
