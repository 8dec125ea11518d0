"""``moldwin dry``: oven or air drying to a target."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import JsonOption, SetOption, check_confidence, emit, tell
from moldwin.cli.condition import target_moisture
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.advice.dried import DryAdvice

__all__ = ["dry"]

_ENDINGS = (".png", ".svg")
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
    measured: Annotated[
        str | None,
        typer.Option(metavar="MASS.csv", help="Weighings on the way: hours, gross_g; narrows."),
    ] = None,
    confidence: Annotated[
        float, typer.Option(help="Share of cases in which nothing may fuse, brown or leave.")
    ] = 0.7,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: drying.png or drying.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: Annotated[int, typer.Option(help="Of the random draws; same seed, same answer.")] = 20260,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the file if it is there.")
    ] = False,
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
    target = None if output is None else _picture(output, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    weighings = None
    if measured is not None:
        from moldwin.inputs.jar_weighings import read_jar_weighings

        weighings = read_jar_weighings(measured)
    from moldwin.advice.dried import dry_job

    t = None if oven_c is None else oven_c + 273.15
    advice = dry_job(read, to=to, t=t, measured=weighings, confidence=confidence, seed=seed)
    if target is not None:
        _draw(advice, target)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.dry_page import dry_page

        emit(dry_page(advice))
    notes = [f"note: {note}" for note in read.notes]
    notes += [f"note: your own card {name} is used, not ours" for name in advice.overrides]
    tell(notes + ([f"note: the drying is drawn in {output}"] if target is not None else []))


def _picture(output: str, force: bool) -> Path:
    """Where the picture goes, and that it can be drawn at all, before anything is computed."""
    from importlib.util import find_spec

    from moldwin.report.output_file import checked_target

    target = checked_target(output, _ENDINGS, force=force)
    if find_spec("matplotlib") is None:
        message = "a picture needs matplotlib; pip install 'moldwin[pictures]' brings it"
        raise InputError([Fault("--output", "", message)])
    return target


def _draw(advice: DryAdvice, target: Path) -> None:
    from moldwin.report.dry_picture import dry_picture
    from moldwin.report.output_file import write_whole

    write_whole(target, dry_picture(advice, target.suffix.lower().removeprefix(".")))
