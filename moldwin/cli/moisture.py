"""``moldwin moisture``: from weighings to the water in the pellets, and into the job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import JsonOption, emit, tell
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.inputs.job import Job
    from moldwin.inputs.weighings import Weighings

__all__ = ["moisture"]

#: Lets a job be read for its oven and recipe where its own moisture is missing or not wanted.
_STAND_IN = ("pellets.moisture_pct=10", "pellets.moisture_u_pct=1")
_MOST_GLYCEROL = 90.0


def moisture(
    weighings: Annotated[
        str | None,
        typer.Argument(
            metavar="WEIGHINGS.csv", help="Table: sample, minutes, dish_g, gross_g; minutes 0: wet."
        ),
    ] = None,
    dish_g: Annotated[
        str | None, typer.Option(metavar="G", help="Empty dish; 0 if tared away.")
    ] = None,
    wet_g: Annotated[
        str | None, typer.Option(metavar="G", help="Dish and sample before the oven.")
    ] = None,
    dry_g: Annotated[
        str | None, typer.Option(metavar="G", help="Dish and sample after the oven.")
    ] = None,
    minutes: Annotated[
        float | None, typer.Option(metavar="MIN", help="Time in the oven, for typed masses.")
    ] = None,
    oven_c: Annotated[
        float | None, typer.Option("--oven-c", metavar="C", help="Temperature of the oven.")
    ] = None,
    dish_area_cm2: Annotated[
        float | None,
        typer.Option("--dish-area-cm2", metavar="CM2", help="Open area of one dish."),
    ] = None,
    glycerol: Annotated[
        float | None,
        typer.Option(
            "--glycerol-g-per-100g-dry",
            metavar="G",
            help="Glycerol in 100 g of the dry blend, itself included; 0 for none.",
        ),
    ] = None,
    resolution_g: Annotated[
        float | None,
        typer.Option(metavar="G", help="Step of the scale; left out: the last digit given."),
    ] = None,
    job: Annotated[
        str | None,
        typer.Option(metavar="JOB.toml", help="Takes oven, scale, recipe and table from this job."),
    ] = None,
    into: Annotated[
        str | None,
        typer.Option(metavar="JOB.toml", help="Write the result into this job's [pellets]."),
    ] = None,
    isotherm_of: Annotated[
        str | None,
        typer.Option(
            "--isotherm",
            metavar="CARD",
            help="Fit this material's isotherm; table: sample, humidity_pct, dish_g, gross_g.",
        ),
    ] = None,
    temperature_c: Annotated[
        float | None,
        typer.Option("--temperature-c", metavar="C", help="With --isotherm: where it was weighed."),
    ] = None,
    card_out: Annotated[
        str | None,
        typer.Option(metavar="CARD.toml", help="With --isotherm: write a card of your own."),
    ] = None,
    as_json: JsonOption = False,
    force: Annotated[
        bool,
        typer.Option("--force", help="Overwrite the card; let pellets.weighings give way."),
    ] = False,
) -> None:
    """Say how wet the pellets are, from weighings before and after the oven.

    Glycerol evaporates too and reads as water: its part is estimated and taken off. With --into
    the job gets the new moisture and its uncertainty; all else in it stays as it is. With
    --isotherm CARD the table holds one material, dry (humidity_pct 0) and settled at two to eight
    humidities: its isotherm is fitted, and --card-out keeps it as a card of your own.

    \b
    Example:
      moldwin moisture --dish-g 21.35 --wet-g 26.41 --dry-g 25.83 --oven-c 105

    \b
    Exit codes:
      0  an answer, and the job written where one was named
      2  the command line, the weighings or the job is wrong
      3  something in a material card is wrong
    """
    typed = (dish_g, wet_g, dry_g)
    others: dict[str, object] = {
        "--oven-c": oven_c,
        "--dish-area-cm2": dish_area_cm2,
        "--minutes": minutes,
    }
    others |= {"--glycerol-g-per-100g-dry": glycerol, "--job": job, "--into": into}
    others |= {"--dish-g": dish_g, "--wet-g": wet_g, "--dry-g": dry_g}
    _check_isotherm(isotherm_of, others, {"--temperature-c": temperature_c, "--card-out": card_out})
    if isotherm_of is not None:
        from moldwin.cli._isotherm import isotherm

        step = _si("scale", "resolution_g", "--resolution-g", resolution_g)
        isotherm(isotherm_of, weighings, step, temperature_c, card_out, as_json, force)
        return
    _check_sources(weighings, typed, minutes)
    time = _si("oven", "minutes", "--minutes", minutes)
    temperature = _si("oven", "temperature_c", "--oven-c", oven_c)
    area = _si("oven", "dish_area_cm2", "--dish-area-cm2", dish_area_cm2)
    step = _si("scale", "resolution_g", "--resolution-g", resolution_g)
    loading = _loading(glycerol)
    own = weighings is not None or typed != (None, None, None)
    of_job = _job(job or into, own)
    table = _table(weighings, typed, time, step, of_job)
    if step is None:
        table, of_job = _on_its_scale(table, of_job)
    oven = of_job.oven
    oven = replace(
        oven,
        temperature=oven.temperature if temperature is None else temperature,
        dish_area=oven.dish_area if area is None else area,
    )
    _answer(replace(of_job, oven=oven), table, loading, into, force, as_json)


def _answer(
    job: Job, table: Weighings, loading: float | None, into: str | None, force: bool, as_json: bool
) -> None:
    """Compute, write into the job if asked, print."""
    from moldwin.inputs.cards import library_for
    from moldwin.stages.bench import Bench
    from moldwin.stages.weighing import weigh

    library = library_for(None if job.path is None else job.folder)
    reading = weigh(Bench(job, library=library), table, loading)
    written = None
    if into is not None:
        from moldwin.inputs.write_job import write_moisture

        written = write_moisture(into, reading.wet, reading.wet_u, force)
    from moldwin.report.moisture_data import moisture_data

    data = moisture_data(reading, written)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(data))
    else:
        from moldwin.report.moisture_page import moisture_page

        emit(moisture_page(data))
    tell(f"note: {note}" for note in job.notes)


def _check_isotherm(card: str | None, others: dict[str, object], own: dict[str, object]) -> None:
    """Options of the one question mean nothing in the other."""
    wrong = others if card is not None else own
    stray = [option for option, value in wrong.items() if value is not None]
    if stray:
        why = "says nothing about an isotherm" if card is not None else "goes with --isotherm CARD"
        raise InputError([Fault(stray[0], "", f"{why}; leave it out")])


def _check_sources(
    weighings: str | None, typed: tuple[str | None, ...], minutes: float | None
) -> None:
    """The masses come from one place only."""
    if weighings is None:
        return
    if typed != (None, None, None):
        message = (
            "the masses are in the table already; give the table or --dish-g, --wet-g, --dry-g"
        )
        raise InputError([Fault(weighings, "", message)])
    if minutes is not None:
        raise InputError(
            [Fault("--minutes", "", "the table has a column of minutes; leave it out")]
        )


def _job(path: str | None, own_weighings: bool) -> Job:
    """The job behind the weighings; an empty one where none is named.

    With weighings of the user's own the job's moisture does not matter, and may be missing.
    """
    if path is None:
        from moldwin.inputs.job import Job

        return Job()
    from moldwin.inputs.read_job import read_job

    if not own_weighings:
        return read_job(path)
    return replace(read_job(path, _STAND_IN), notes=())


def _table(
    weighings: str | None,
    typed: tuple[str | None, str | None, str | None],
    time: float | None,
    step: float | None,
    job: Job,
) -> Weighings:
    """Weighings from a table, from typed masses, or from the table that the job names."""
    if typed != (None, None, None):
        from moldwin.inputs.typed_weighings import typed_weighings

        return typed_weighings(*typed, time=time, resolution=step)
    from moldwin.inputs.weighings import read_weighings

    path = weighings or job.pellets.weighings
    if path is None:
        message = (
            "no weighings: name a table (sample, minutes, dish_g, gross_g) or give --dish-g, "
            "--wet-g and --dry-g"
        )
        raise InputError([Fault("moldwin moisture", "", message)])
    return read_weighings(path, step)


def _on_its_scale(table: Weighings, job: Job) -> tuple[Weighings, Job]:
    """The weighings with the job's scale, unless they were clearly read from a finer one."""
    step = job.scale.resolution
    if step is None:
        return table, job
    masses = (m for s in table.samples for m in (s.dish, s.wet, s.dry))
    if all(abs(mass / step - round(mass / step)) < 1e-6 for mass in masses):
        return type(table).of(table.samples, step), job
    note = (
        f"the masses are finer than scale.resolution_g of the job, {1e3 * step:g}: their own last "
        f"digit, {1e3 * table.resolution:g} g, is taken for the scale's step"
    )
    return table, replace(job, notes=(*job.notes, note))


def _si(section: str, key: str, option: str, value: float | None) -> float | None:
    """An option in SI, held to the bounds of the job key that means the same."""
    if value is None:
        return None
    from moldwin.inputs.job_keys import keys_of
    from moldwin.inputs.job_values import SlipError, to_si

    try:
        return float(to_si(keys_of(section)[key], value))
    except SlipError as slip:
        raise InputError([Fault(option, "", str(slip))]) from None


def _loading(glycerol: float | None) -> float | None:
    """Glycerol per dry solids. [kg/kg]"""
    if glycerol is None or 0.0 <= glycerol <= _MOST_GLYCEROL:
        return None if glycerol is None else glycerol / 100.0
    message = f"got {glycerol:g}; allowed: 0 to {_MOST_GLYCEROL:g} g in 100 g of the dry blend"
    raise InputError([Fault("--glycerol-g-per-100g-dry", "", message)])
