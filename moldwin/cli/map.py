"""``moldwin map``: the chance across moisture and barrel temperature, as text, data or picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import (
    ConfidenceOption,
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
from moldwin.cli._pictures import picture_target, write_picture
from moldwin.cli._progress import progress
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.advice.mapped import MapAdvice

__all__ = ["draw_map"]

_GRID_LOW, _GRID_HIGH = 10, 200
_SAMPLES_LOW, _SAMPLES_HIGH = 64, 16384


def draw_map(
    job: JobArgument = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: map.png or map.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    confidence: ConfidenceOption = 0.7,
    grid: Annotated[
        int, typer.Option(help=f"Points along either axis, {_GRID_LOW} to {_GRID_HIGH}.")
    ] = 40,
    samples: Annotated[
        int, typer.Option(help=f"Possible truths tried, {_SAMPLES_LOW} to {_SAMPLES_HIGH}.")
    ] = 2048,
    force: ForceOption = False,
) -> None:
    """Map the chance of success: moisture across, barrel temperature up.

    Each point stands at its best soak. Without a file the map is text in the terminal.

    \b
    Example:
      moldwin map my-job.toml -o map.png

    \b
    Exit codes:
      0  an answer; a closed window is an answer
      2  the command line or a file is wrong, or the picture cannot be written
      3  something in a material card is wrong
    """
    check_confidence(confidence)
    _check_count("--grid", grid, _GRID_LOW, _GRID_HIGH, "points along either axis")
    _check_count("--samples", samples, _SAMPLES_LOW, _SAMPLES_HIGH, "possible truths")
    target = picture_target(output, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    from moldwin.advice.mapped import map_job

    with progress("map") as tick:
        advice = map_job(
            read, grid=grid, seed=seed, count=samples, confidence=confidence, tick=tick
        )
    said = "" if target is None else _draw(advice, target, str(output))
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    elif target is None:
        from moldwin.report.map_page import map_page

        emit(map_page(advice))
    else:
        emit(said)
    tell(notes_on(read.notes, advice.overrides))


def _draw(advice: MapAdvice, target: Path, named: str) -> str:
    """Draw and write the picture; what to say of it."""
    from moldwin.report.map_picture import map_picture

    write_picture(target, map_picture, advice)
    from moldwin.report.map_words import here, places
    from moldwin.report.words import clean

    lines = [f"{name}: {here(place, heat)}" for name, place, heat in places(advice)]
    return "\n".join([f"The map is in {clean(named)}.", *lines]) + "\n"


def _check_count(option: str, value: int, low: int, high: int, what: str) -> None:
    if not low <= value <= high:
        message = f"got {value}, allowed: {low} to {high} {what}"
        raise InputError([Fault(option, "", message)])
