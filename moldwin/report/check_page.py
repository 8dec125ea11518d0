"""What a sound job leaves out, and what that costs the answer."""

from __future__ import annotations

from collections.abc import Iterator

from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job
from moldwin.inputs.job_keys import UNITS, JobKey, keys_of
from moldwin.report.page import Page
from moldwin.report.words import clean

__all__ = ["check_page", "left_out"]

#: Job key, and the bench card and key whose value stands in for it.
_STAND_INS = (
    ("press", "plunger_diameter_mm", "plunger_diameter"),
    ("press", "nozzle_diameter_mm", "nozzle_diameter"),
    ("press", "nozzle_length_mm", "nozzle_length"),
    ("press", "heater_max_c", "heater_max"),
    ("mold", "temperature_max_c", "temperature_max"),
    ("room", "temperature_c", "temperature"),
    ("room", "humidity_pct", "humidity"),
    ("room", "altitude_m", "altitude"),
    ("jar", "slurry_area_cm2", "slurry_area"),
    ("jar", "air_gap_cm", "air_gap"),
    ("jar", "bed_area_cm2", "bed_area"),
)


def check_page(job: Job, library: Library, name: str, width: int | None = None) -> str:
    """That a job is fine, and what it leaves to assumptions.

    Parameters
    ----------
    job : Job
        A job without faults. [SI]
    library : Library
        The cards it sees. [-]
    name : str
        The file as the user named it. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.line(f"{name}: fine.")
    rows = list(left_out(job, library))
    if rows:
        page.paragraph("Left out, and what that costs:")
    for row in rows:
        page.paragraph(row, lead=" - ")
    return page.text()


def left_out(job: Job, library: Library) -> Iterator[str]:
    """What was left out and what it costs, a sentence each, in the order of the job file.

    Parameters
    ----------
    job : Job
        A job without faults. [SI]
    library : Library
        The cards it sees. [-]

    Yields
    ------
    str
        One sentence. [-]
    """
    yield from _ingredients(job, library)
    yield from _blend_and_pellets(job)
    for section in ("press", "mold", "room", "jar"):
        yield from _stand_ins(job, library, section)
        if section == "press":
            yield from _press(job, library)
        if section == "mold":
            yield from _part(job)


def _ingredients(job: Job, library: Library) -> Iterator[str]:
    for row in job.ingredients:
        usual = library.card(row.card).get("moisture")
        if row.moisture is None and usual is not None and usual.value > 0.0:
            yield (
                f"no moisture_pct of {clean(row.card)}: "
                f"{100.0 * usual.value:.3g} % is taken from its card"
            )


def _blend_and_pellets(job: Job) -> Iterator[str]:
    if job.blend.softening is None:
        yield (
            "no softening_c in [blend]: the glass transition rests on the cards alone; "
            "a bend test would narrow everything"
        )
    pellets = job.pellets
    if pellets.moisture_u is None:
        yield "no moisture_u_pct in [pellets]: half a percent of water either way is assumed"
    if pellets.shape is None:
        yield "no shape in [pellets]: 3 mm cylinders stand in for how fast they dry and soak"
    if pellets.mass is None:
        yield "no mass_g in [pellets]: no mass to stop the conditioning at"


def _press(job: Job, library: Library) -> Iterator[str]:
    press = job.press
    if press.ram_force is None and press.packing_pressure is None:
        force = library.card("press")["force"].value
        yield f"no force in [press]: {force / 1e3:.3g} kN is assumed"
    if press.heater_u is None:
        error = library.card("press")["heater_error"].u or 0.0
        yield f"no heater_u_c in [press]: the set point may be off by {error:.3g} °C (assumed)"
    if press.sealed_nozzle is None:
        yield "no sealed_nozzle in [press]: taken as open, so steam limits the barrel sooner"
    if press.barrel_capacity is None:
        yield "no barrel_capacity_cm3 in [press]: how full the barrel gets is not said"
    if press.clamp is None:
        yield "no clamp_kn in [press]: whether the mold stays shut is not judged"


def _part(job: Job) -> Iterator[str]:
    if not job.part.given:
        yield "no [part]: a 50 x 10 x 2 mm plate stands in for it"


def _stand_ins(job: Job, library: Library, section: str) -> Iterator[str]:
    """One sentence for all that a bench card stands in for in one section."""
    known, values = keys_of(section), getattr(job, section)
    missing = [
        (known[key], library.card(section)[typical].value)
        for place, key, typical in _STAND_INS
        if place == section and getattr(values, known[key].field) is None
    ]
    if section == "jar" and job.jar.bed_depth is not None:
        missing = [row for row in missing if row[0].key != "bed_area_cm2"]
    if not missing:
        return
    names = ", ".join(key.key for key, _ in missing)
    left = f"no {names} in [{section}]" if section in job.raw else f"no [{section}]"
    if len(missing) == 1:
        yield f"{left}: {_at_the_edge(*missing[0])} is assumed"
    else:
        shown = ", ".join(f"{key.what} {_at_the_edge(key, value)}" for key, value in missing)
        yield f"{left}: assumed are {shown}"


def _at_the_edge(key: JobKey, value: float) -> str:
    """An SI value in the unit of its job key; every unit there is a straight line."""
    unit = UNITS[key.unit]
    zero, one = unit.to_si(0.0), unit.to_si(1.0)
    return f"{(value - zero) / (one - zero):.3g} {unit.sign}"
