"""``moldwin film``: the spread gel on its plate."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import (
    JobArgument,
    JsonOption,
    SeedOption,
    SetOption,
    emit,
    notes_on,
    tell,
)
from moldwin.cli._no_pellets import read_before_pellets
from moldwin.inputs.errors import Fault, InputError

__all__ = ["film"]

_COLDEST, _HOTTEST = 0.0, 90.0
_THINNEST, _THICKEST = 0.05, 100.0


def film(
    job: JobArgument = None,
    air_c: Annotated[
        float | None,
        typer.Option("--air-c", metavar="T", help="Of warmed air; left out: the room's."),
    ] = None,
    fan: Annotated[bool, typer.Option("--fan", help="A fan blows over the sheet.")] = False,
    torn_mm: Annotated[
        float | None,
        typer.Option("--torn-mm", metavar="X", help="Wet spread of a sheet that tore; narrows."),
    ] = None,
    whole_mm: Annotated[
        float | None,
        typer.Option("--whole-mm", metavar="X", help="Wet spread of one that stayed whole."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
) -> None:
    """Spread gel: how thick it dries, how long that takes, when it tears, peels and stores.

    \b
    Example:
      moldwin film my-job.toml --set sheet.spread_mm=6 --torn-mm 12 --whole-mm 5

    \b
    Exit codes:
      0  an answer
      2  the command line or the job is wrong
      3  something in a material card is wrong
    """
    if air_c is not None and not _COLDEST <= air_c <= _HOTTEST:
        hint = f"; in kelvin? That is {air_c - 273.15:.0f} °C" if 273.0 <= air_c <= 364.0 else ""
        message = f"got {air_c:g}, allowed: {_COLDEST:g} to {_HOTTEST:g} °C{hint}"
        raise InputError([Fault("--air-c", "", message)])
    torn, whole = _spread("--torn-mm", torn_mm), _spread("--whole-mm", whole_mm)
    read, notes = read_before_pellets(job, sets or [], "a sheet")
    torn, whole = torn or read.sheet.torn, whole or read.sheet.whole
    if torn is not None and whole is not None and torn <= whole:
        message = (
            f"got {1e3 * torn:g}, not above the {1e3 * whole:g} mm that stayed whole; "
            "are the two swapped?"
        )
        raise InputError([Fault("--torn-mm", "", message)])
    from moldwin.advice.film import film_job
    from moldwin.stages.sheet import SheetAir

    air = SheetAir(t=None if air_c is None else air_c + 273.15, fan=fan)
    advice = film_job(read, air=air, torn=torn, whole=whole, seed=seed)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(advice.to_dict()))
    else:
        from moldwin.report.film_page import film_page

        emit(film_page(advice))
    tell(notes_on(notes, advice.overrides))


def _spread(name: str, millimeters: float | None) -> float | None:
    """A wet spread from the command line. [m]"""
    if millimeters is None:
        return None
    if _THINNEST <= millimeters <= _THICKEST:
        return millimeters / 1e3
    message = f"got {millimeters:g}, allowed: {_THINNEST:g} to {_THICKEST:g} mm, as spread"
    raise InputError([Fault(name, "", message)])
