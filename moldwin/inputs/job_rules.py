"""Rules between the keys of a job: what must come together, and what cannot both be true."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from moldwin.inputs.errors import nearest
from moldwin.inputs.job import Job, SolidSpec
from moldwin.inputs.job_keys import PELLET_SHAPES, SOLID_SHAPES

__all__ = ["broken_rules", "solid_rules", "unused"]

#: Dotted key and what is wrong with it.
_Broken = Iterator[tuple[str, str]]

#: More than any press reaches: a slip in force or diameter. [Pa]
_PRESSURE_LIMIT = 1e9
_TON = 1000.0  # kg
#: Pellets wetter than this are gel: a fraction of it is no slip. [kg/kg]
_WETTEST = 0.4

_WAYS_TO_PUSH = ("force_kn", "melt_pressure_mpa", "lever_force_n", "gauge_mpa")

#: Keys that mean nothing without the other one.
_TOGETHER = (
    ("blend.softening_c", "blend.softening_moisture_pct"),
    ("blend.softening_moisture_pct", "blend.softening_c"),
    ("blend.softening_u_c", "blend.softening_c"),
    ("press.lever_force_n", "press.lever_ratio"),
    ("press.lever_ratio", "press.lever_force_n"),
    ("press.gauge_mpa", "press.jack_piston_diameter_mm"),
    ("press.jack_piston_diameter_mm", "press.gauge_mpa"),
    ("mold.runner_diameter_mm", "mold.runner_volume_cm3"),
    ("mold.runner_length_mm", "mold.runner_volume_cm3"),
    ("part.mesh", "part.mesh_unit"),
    ("part.mesh_unit", "part.mesh"),
    ("part.clamp_axis", "part.mesh"),
    ("part.gate_x_mm", "part.mesh"),
    ("part.gate_x_mm", "part.gate_y_mm"),
    ("part.gate_y_mm", "part.gate_z_mm"),
    ("part.gate_z_mm", "part.gate_x_mm"),
)

#: Where more is to be said than what is missing.
_NEEDS = {
    "press.gauge_mpa": "is the pressure of the jack's oil, not of the melt: needs "
    "press.jack_piston_diameter_mm, the piston it drives, beside it",
}


def broken_rules(raw: Mapping[str, Any], job: Job, was_set: Collection[str] = ()) -> _Broken:
    """What is wrong between keys that are each fine alone.

    Parameters
    ----------
    raw : mapping
        The job as in the file: what was given at all. [-]
    job : Job
        The values that could be read. [SI]
    was_set : collection of str
        Dotted keys that a what-if laid over the file. [-]

    Yields
    ------
    tuple of str
        Dotted key and message.
    """
    for key, other in _TOGETHER:
        if _given(raw, key) and not _given(raw, other):
            yield key, _NEEDS.get(key, f"needs {other} beside it")
    yield from _recipe(raw, job)
    yield from _pellets(raw, job, was_set)
    yield from _press(raw, job)
    if _at_least(job.sheet.whole, job.sheet.torn):
        yield "sheet.torn_mm", "must be thicker than whole_mm, which held; are the two swapped?"
    yield from _mold_and_use(job)
    yield from _part(raw, job)


def solid_rules(raw: Mapping[str, Any], solid: SolidSpec) -> Iterator[tuple[str, str]]:
    """What is wrong within one simple solid of a known shape.

    Parameters
    ----------
    raw : mapping
        Its row in the file. [-]
    solid : SolidSpec
        The sizes that could be read. [SI]

    Yields
    ------
    tuple of str
        Key and message.
    """
    needed = SOLID_SHAPES[solid.shape]
    may = (*needed, "tip_diameter_mm") if solid.shape == "cone" else needed
    for key in needed:
        if key not in raw:
            yield key, f"is missing; a {solid.shape} needs {', '.join(needed)}"
    for key in raw:
        if key.endswith("_mm") and key not in may:
            yield (
                key,
                f"means nothing for a {solid.shape}; it has {', '.join(may)}"
                + (nearest(key, [name for name in may if name not in raw])),
            )
    if solid.shape == "tube" and _at_least(solid.inner_diameter, solid.outer_diameter):
        yield "inner_diameter_mm", "must be smaller than outer_diameter_mm; are they swapped?"
    if solid.shape == "cone" and _less(solid.diameter, solid.tip_diameter or 0.0):
        yield "tip_diameter_mm", "is wider than the base, diameter_mm; are they swapped?"
    if solid.shape == "dome" and solid.height and _less(solid.diameter, 2.0 * solid.height):
        yield "height_mm", "is more than half of diameter_mm; are they swapped?"


def unused(raw: Mapping[str, Any]) -> tuple[str, ...]:
    """Keys that are fine but change nothing as the job stands.

    Parameters
    ----------
    raw : mapping
        The job as in the file. [-]

    Returns
    -------
    tuple of str
        Remarks for the reader.

    Examples
    --------
    >>> unused({"pellets": {"diameter_mm": 3}})
    ('pellets.diameter_mm is not used: pellets.shape is not given',)
    """
    notes = []
    shape = _section(raw, "pellets").get("shape")
    sizes = ("diameter_mm", "length_mm", "thickness_mm")
    wanted = PELLET_SHAPES.get(str(shape), ())
    why = "pellets.shape is not given" if shape is None else f"the shape {shape} needs none"
    for key in sizes:
        if _given(raw, f"pellets.{key}") and key not in wanted:
            notes.append(f"pellets.{key} is not used: {why}")
    if _given(raw, "jar.bed_area_cm2") and _given(raw, "jar.bed_depth_cm"):
        notes.append("jar.bed_depth_cm is not used: jar.bed_area_cm2 is given")
    return tuple(notes)


def _section(raw: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = raw.get(name)
    return found if isinstance(found, Mapping) else {}


def _given(raw: Mapping[str, Any], dotted: str) -> bool:
    section, _, key = dotted.partition(".")
    return key in _section(raw, section)


def _less(small: float | None, large: float | None) -> bool:
    return small is not None and large is not None and small < large


def _at_least(large: float | None, small: float | None) -> bool:
    return large is not None and small is not None and large >= small


def _recipe(raw: Mapping[str, Any], job: Job) -> _Broken:
    if not raw.get("ingredient"):
        yield (
            "ingredient",
            "is missing; a job needs at least one [[ingredient]] with card and mass_g",
        )
    total = sum(row.mass for row in job.ingredients)
    if total > _TON:
        yield "ingredient", f"the masses sum to {total / _TON:.4g} tons; mass_g is in grams"


def _pellets(raw: Mapping[str, Any], job: Job, was_set: Collection[str]) -> _Broken:
    moisture, table = _given(raw, "pellets.moisture_pct"), _given(raw, "pellets.weighings")
    pellets = _section(raw, "pellets")
    if not moisture and not table:
        yield "pellets.moisture_pct", 'is missing; give it, or weighings = "file.csv", in [pellets]'
    if table and (moisture or _given(raw, "pellets.moisture_u_pct")):
        yield "pellets.weighings", "gives the moisture already; keep it or moisture_pct, not both"
    if _given(raw, "pellets.moisture_u_pct") and not moisture and not table:
        yield "pellets.moisture_u_pct", "needs pellets.moisture_pct beside it"
    value = job.pellets.moisture
    # an uncertainty in the file speaks for the value in the file, not for one set over it
    value_set = "pellets.moisture_pct" in was_set
    u_given = _given(raw, "pellets.moisture_u_pct")
    sure = not moisture or ("pellets.moisture_u_pct" in was_set if value_set else u_given)
    if not sure and value is not None and 0 < value < 0.01:
        # only a fraction that would be a moisture of pellets is taken for one
        slip = f"; did you mean {value * 1e4:g}?" if value <= _WETTEST / 100 else "."
        yield (
            "pellets.moisture_pct",
            f"got {value * 100:g} %, drier than an oven leaves it{slip} "
            "If it was measured, give moisture_u_pct too",
        )
    from_sheet = job.pellets.shape == "flake" and job.sheet.spread is not None
    for key in PELLET_SHAPES.get(job.pellets.shape or "", ()):
        if key not in pellets and not from_sheet:
            or_sheet = ", or sheet.spread_mm" if job.pellets.shape == "flake" else ""
            yield f"pellets.{key}", f"is missing; the shape {job.pellets.shape} needs it{or_sheet}"


def _press(raw: Mapping[str, Any], job: Job) -> _Broken:
    press = job.press
    ways = [key for key in _WAYS_TO_PUSH if _given(raw, f"press.{key}")]
    if len(ways) > 1:
        yield (
            f"press.{ways[1]}",
            f"the force is given {len(ways)} times ({', '.join(ways)}); keep one",
        )
    bore, plunger = press.barrel_diameter, press.plunger_diameter
    if _less(bore, plunger):
        yield "press.plunger_diameter_mm", "is wider than the barrel; are the two swapped?"
    if _at_least(press.nozzle_diameter, bore):
        yield "press.nozzle_diameter_mm", "is as wide as the barrel or wider; are the two swapped?"
    if _at_least(press.spreader_diameter, bore):
        yield "press.spreader_diameter_mm", "does not fit into the barrel"
    pressure = press.packing_pressure
    if len(ways) == 1 and pressure is not None and pressure > _PRESSURE_LIMIT:
        yield (
            f"press.{ways[0]}",
            (
                f"makes {pressure / 1e6:.4g} MPa under the plunger, allowed: up to "
                f"{_PRESSURE_LIMIT / 1e6:g} MPa; check it and plunger_diameter_mm"
            ),
        )


def _mold_and_use(job: Job) -> _Broken:
    mold, use = job.mold, job.use
    pairs = (
        ("mold.temperature_c", mold.temperature, mold.temperature_max, "temperature_max_c"),
        ("use.humidity_low_pct", use.humidity_low, use.humidity_high, "humidity_high_pct"),
        ("use.temperature_low_c", use.temperature_low, use.temperature_high, "temperature_high_c"),
    )
    for key, low, high, other in pairs:
        if _less(high, low):
            yield key, f"is above {other}; are the two swapped?"
    if _less(mold.temperature_max, job.room.temperature):
        yield (
            "mold.temperature_max_c",
            "is below room.temperature_c; a mold is never kept colder than its room here",
        )


def _part(raw: Mapping[str, Any], job: Job) -> _Broken:
    ways = [key for key in ("specimen", "mesh", "solid") if _given(raw, f"part.{key}")]
    if len(ways) > 1:
        yield (
            f"part.{ways[1]}",
            f"the part is given {len(ways)} times ({', '.join(ways)}); keep one",
        )
    mesh = job.part.mesh
    if mesh is not None and not mesh.is_file():
        yield "part.mesh", f"there is no file {mesh.name} in that place, seen from the job's folder"
    if job.part.solids and all(solid.subtract for solid in job.part.solids):
        yield "part.solid", "all solids are taken away; one at least must be added"
