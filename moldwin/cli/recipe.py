"""``moldwin recipe``: the pot in, gel, sheet, pellets and parts out; and backwards."""

from __future__ import annotations

from pathlib import Path
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
from moldwin.cli._no_pellets import read_before_pellets
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable

__all__ = ["recipe"]

_COLDEST, _HOTTEST = -50.0, 150.0
_AIMS = ("flexible", "firm")
_ENDINGS = (".toml",)


def recipe(
    job: JobArgument = None,
    parts: Annotated[
        int | None, typer.Option(metavar="N", help="Size the batch for so many parts.")
    ] = None,
    aim: Annotated[
        str | None, typer.Option(metavar="AIM", help="flexible or firm: solves the plasticizer.")
    ] = None,
    tg_in_room: Annotated[
        float | None,
        typer.Option("--tg-in-room", metavar="T", help="The same, for a glass transition in °C."),
    ] = None,
    swap: Annotated[
        str | None,
        typer.Option(metavar="A=B", help="Plasticizer B for A, with the same glass transition."),
    ] = None,
    ladder: Annotated[
        str | None,
        typer.Option(metavar="CARD", help="The part with 0 to 40 g of it per 100 g dry polymer."),
    ] = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write the changed job: new.toml."),
    ] = None,
    confidence: Annotated[
        float, typer.Option(help="Share of cases in which --parts must come out.")
    ] = 0.7,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    force: ForceOption = False,
) -> None:
    """From the pot to the parts: what to weigh, what comes out, what it costs; and backwards.

    \b
    Example:
      moldwin recipe my-job.toml --parts 40 --aim flexible

    \b
    Exit codes:
      0  an answer
      2  the command line or the job is wrong, or nothing reaches the aim
      3  something in a material card is wrong
    """
    check_confidence(confidence)
    exchanged = _checked(aim, tg_in_room, swap, parts)
    target = _target(output, force)
    read, notes = read_before_pellets(job, sets or [], "a recipe")
    from moldwin.advice.recipe import recipe_job
    from moldwin.advice.recipe_answer import Asked

    t = None if tg_in_room is None else tg_in_room + 273.15
    asked = Asked(parts=parts, aim=aim, tg=t, swap=exchanged, ladder=ladder)
    advice = recipe_job(read, asked, confidence=confidence, seed=seed)
    if target is not None:
        from moldwin.inputs.write_recipe import write_recipe

        pellets = advice.steps["pellets"].likely
        write_recipe(target, read, advice.final, advice.moisture, pellets)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.recipe_page import recipe_page

        emit(recipe_page(advice))
    written = [] if target is None else [f"the changed job is in {output}"]
    tell(notes_on([*notes, *written], advice.overrides))


def _checked(
    aim: str | None, tg: float | None, swap: str | None, parts: int | None
) -> tuple[str, str] | None:
    """What stands on the command line, held to what can be; the two names of a swap."""
    if aim is not None and aim not in _AIMS:
        message = f"got '{printable(aim)}', allowed: {' or '.join(_AIMS)}"
        raise InputError([Fault("--aim", "", message)])
    if tg is not None and not _COLDEST <= tg <= _HOTTEST:
        hint = f"; in kelvin? That is {tg - 273.15:.0f} °C" if 223.0 <= tg <= 423.0 else ""
        message = f"got {tg:g}, allowed: {_COLDEST:g} to {_HOTTEST:g} °C{hint}"
        raise InputError([Fault("--tg-in-room", "", message)])
    if parts is not None and parts < 1:
        raise InputError([Fault("--parts", "", f"got {parts}, allowed: 1 and more")])
    if sum(option is not None for option in (aim, tg, swap)) > 1:
        message = "one at a time: each of them sets the plasticizer"
        raise InputError([Fault("--aim, --tg-in-room, --swap", "", message)])
    if swap is None:
        return None
    old, equals, new = (part.strip() for part in swap.partition("="))
    if not (old and equals and new):
        message = f"got '{printable(swap)}'; write two cards, such as glycerol=sorbitol"
        raise InputError([Fault("--swap", "", message)])
    return old, new


def _target(output: str | None, force: bool) -> Path | None:
    """Where the changed job goes, looked at before anything is computed."""
    if output is None:
        return None
    from moldwin.inputs.whole_file import checked_target

    return checked_target(output, _ENDINGS, force=force)
