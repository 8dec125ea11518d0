# ruff: noqa: E501 - a table: one key, one line
"""Every key a job file may hold: unit, bounds, meaning, and the slips people make with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

__all__ = [
    "KEYS",
    "MESH_UNITS",
    "PELLET_SHAPES",
    "SECTIONS",
    "SOLID_SHAPES",
    "SPECIMENS",
    "UNITS",
    "JobKey",
    "Unit",
    "keys_of",
]

SPECIMENS = (
    "ISO 527-2 1A",
    "ISO 527-2 1B",
    "ISO 527-2 1BA",
    "ISO 527-2 1BB",
    "ISO 527-2 5A",
    "ISO 527-2 5B",
    "ASTM D638 I",
    "ASTM D638 II",
    "ASTM D638 III",
    "ASTM D638 IV",
    "ASTM D638 V",
    "ISO 178 bar",
    "ISO 179 bar",
    "ISO 20753 A1",
    "ISO 20753 B1",
    "ISO 294-3 D1",
    "ISO 294-3 D2",
)
MESH_UNITS = ("mm", "cm", "m", "in")

#: Sizes each shape of pellet must state.
PELLET_SHAPES: dict[str, tuple[str, ...]] = {
    "flake": ("thickness_mm",),
    "slab": ("thickness_mm",),
    "cylinder": ("diameter_mm", "length_mm"),
    "sphere": ("diameter_mm",),
}

#: Sizes each simple solid must state; a cone may leave out its tip and is then pointed.
SOLID_SHAPES: dict[str, tuple[str, ...]] = {
    "plate": ("length_mm", "width_mm", "thickness_mm"),
    "box": ("length_mm", "width_mm", "height_mm"),
    "disc": ("diameter_mm", "thickness_mm"),
    "rod": ("diameter_mm", "length_mm"),
    "tube": ("outer_diameter_mm", "inner_diameter_mm", "length_mm"),
    "sphere": ("diameter_mm",),
    "cone": ("diameter_mm", "length_mm"),
    "dome": ("diameter_mm", "height_mm"),
}


class Unit(NamedTuple):
    """A unit at the edge: how it is written, how it becomes SI, and what it is mistaken for."""

    sign: str
    to_si: Callable[[float], float]
    mistaken: tuple[tuple[str, Callable[[float], float]], ...] = ()


#: Division where it can be: 13.5 / 100 is the double nearest to 0.135, 13.5 * 0.01 is not always.
UNITS: dict[str, Unit] = {
    "": Unit("", float),
    "g": Unit("g", lambda v: v / 1000, (("kilograms", lambda v: v * 1000),)),
    "pct": Unit("%", lambda v: v / 100, (("a fraction", lambda v: v * 100),)),
    "c": Unit(
        "°C",
        lambda v: v + 273.15,
        (("kelvin", lambda v: v - 273.15), ("°F", lambda v: (v - 32) / 1.8)),
    ),
    "delta_c": Unit("°C", float),
    "mm": Unit(
        "mm",
        lambda v: v / 1000,
        (
            ("meters", lambda v: v * 1000),
            ("centimeters", lambda v: v * 10),
            ("micrometers", lambda v: v / 1000),
        ),
    ),
    "cm": Unit("cm", lambda v: v / 100, (("millimeters", lambda v: v / 10),)),
    "m": Unit("m", float, (("kilometers", lambda v: v * 1000),)),
    "cm2": Unit("cm²", lambda v: v / 1e4, (("m²", lambda v: v * 1e4), ("mm²", lambda v: v / 100))),
    "cm3": Unit("cm³", lambda v: v / 1e6, (("m³", lambda v: v * 1e6), ("mm³", lambda v: v / 1000))),
    "kn": Unit("kN", lambda v: v * 1000, (("newtons", lambda v: v / 1000),)),
    "n": Unit("N", float, (("kilonewtons", lambda v: v * 1000),)),
    "mpa": Unit("MPa", lambda v: v * 1e6, (("bar", lambda v: v / 10), ("Pa", lambda v: v / 1e6))),
    "g_cm3": Unit("g/cm³", lambda v: v * 1000, (("kg/m³", lambda v: v / 1000),)),
    "min": Unit("min", lambda v: v * 60, (("seconds", lambda v: v / 60),)),
    "weeks": Unit("weeks", lambda v: v * 604800, (("days", lambda v: v / 7),)),
}


class JobKey(NamedTuple):
    """What one key means.

    The bounds are not likely values: they catch what cannot be, lost powers of ten and wrong units.
    ``kind`` is number, integer, boolean, text, choice, path or texts; ``above`` leaves out the low
    end itself; ``percent`` marks a value that, strictly between 0 and 1, is taken for a fraction.
    """

    section: str
    key: str
    field: str
    kind: str
    what: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    above: bool = False
    percent: bool = False
    choices: tuple[str, ...] = ()


def _number(
    section: str, key: str, field: str, unit: str, low: float, high: float, what: str,
    *, above: bool = False, percent: bool = False,
) -> JobKey:  # fmt: skip
    return JobKey(section, key, field, "number", what, unit, low, high, above, percent)


def _whole(section: str, key: str, low: int, high: int, what: str) -> JobKey:
    return JobKey(section, key, key, "integer", what, "", low, high)


def _yes_no(section: str, key: str, what: str) -> JobKey:
    return JobKey(section, key, key, "boolean", what)


def _text(section: str, key: str, what: str) -> JobKey:
    return JobKey(section, key, key, "text", what)


def _choice(section: str, key: str, choices: tuple[str, ...], what: str) -> JobKey:
    return JobKey(section, key, key, "choice", what, choices=choices)


def _file(section: str, key: str, what: str) -> JobKey:
    return JobKey(section, key, key, "path", what)


def _solid(key: str, low: float, what: str, *, above: bool = True) -> JobKey:
    field = key.removesuffix("_mm")
    return _number("part.solid", key, field, "mm", low, 2000, what, above=above)


_TON = 1e6  # grams

# fmt: off
KEYS: tuple[JobKey, ...] = (
    _text("", "title", "what this job is called"),

    _text("ingredient", "card", "name of the material card"),
    _number("ingredient", "mass_g", "mass", "g", 0, _TON, "mass as weighed, its water included", above=True),
    _number("ingredient", "moisture_pct", "moisture", "pct", 0, 100, "water in it, wet basis"),
    _number("ingredient", "moisture_u_pct", "moisture_u", "pct", 0, 20, "how far that may be off"),
    _text("ingredient", "lot", "your name for the batch"),
    _number("ingredient", "length_mm", "length", "mm", 0.05, 100, "length of a fiber as cut"),

    _number("pot", "water_g", "water", "g", 0, _TON, "water added for cooking"),
    _number("pot", "cook_min", "cook_time", "min", 0, 1440, "time on the heat"),
    _number("pot", "cook_c", "cook_temperature", "c", 20, 150, "temperature of the gel"),
    _number("pot", "loss_pct", "loss", "pct", 0, 90, "share of the gel left in pot and on tools"),

    _yes_no("blend", "cooked", "gelatinized before drying"),
    _yes_no("blend", "washed", "seaweed rinsed of its salt"),
    _number("blend", "softening_c", "softening", "c", -20, 250, "where a strip gives way in a bend test"),
    _number("blend", "softening_u_c", "softening_u", "delta_c", 0, 60, "how far that may be off", above=True),
    _number("blend", "softening_moisture_pct", "softening_moisture", "pct", 0, 60, "moisture of that strip", percent=True),

    _number("sheet", "spread_mm", "spread", "mm", 0.05, 100, "wet thickness as spread"),
    _number("sheet", "area_cm2", "area", "cm2", 1, 1e6, "area covered"),
    _text("sheet", "plate", "what it was spread on"),
    _number("sheet", "torn_mm", "torn", "mm", 0.05, 100, "wet spread of a sheet that tore"),
    _number("sheet", "whole_mm", "whole", "mm", 0.05, 100, "wet spread of one that stayed whole"),

    _number("oven", "temperature_c", "temperature", "c", 20, 250, "oven for loss on drying"),
    _number("oven", "minutes", "time", "min", 0, 20000, "time in it", above=True),
    _number("oven", "dish_area_cm2", "dish_area", "cm2", 0.1, 10000, "area of the open dish"),

    _number("pellets", "moisture_pct", "moisture", "pct", 0, 60, "water in the pellets now, wet basis"),
    _number("pellets", "moisture_u_pct", "moisture_u", "pct", 0, 20, "how far that may be off"),
    _yes_no("pellets", "moisture_guessed", "nobody measured that water"),
    _file("pellets", "weighings", "table of loss-on-drying weighings"),
    _choice("pellets", "shape", tuple(PELLET_SHAPES), "shape of a pellet"),
    _number("pellets", "diameter_mm", "diameter", "mm", 0.05, 50, "diameter of a pellet"),
    _number("pellets", "length_mm", "length", "mm", 0.05, 200, "length of a pellet"),
    _number("pellets", "thickness_mm", "thickness", "mm", 0.01, 50, "thickness of a flake"),
    _number("pellets", "mass_g", "mass", "g", 0, _TON, "all pellets at hand", above=True),
    _number("pellets", "bulk_density_g_cm3", "bulk_density", "g_cm3", 0.02, 2, "mass per poured volume"),
    _number("pellets", "temperature_c", "temperature", "c", -20, 150, "as loaded; the room's where left out"),
    _whole("pellets", "times_heated", 0, 100, "how often it went through a barrel before"),

    _number("press", "plunger_diameter_mm", "plunger_diameter", "mm", 1, 200, "diameter of the plunger"),
    _number("press", "barrel_diameter_mm", "barrel_diameter", "mm", 1, 200, "bore of the barrel"),
    _number("press", "spreader_diameter_mm", "spreader_diameter", "mm", 1, 200, "diameter of the spreader"),
    _number("press", "force_kn", "force", "kn", 0, 500, "force on the plunger", above=True),
    _number("press", "melt_pressure_mpa", "melt_pressure", "mpa", 0, 500, "pressure under the plunger", above=True),
    _number("press", "lever_force_n", "lever_force", "n", 1, 5000, "force of your hand on the lever"),
    _number("press", "lever_ratio", "lever_ratio", "", 0.1, 1000, "how many times the lever multiplies it"),
    _number("press", "gauge_mpa", "gauge_pressure", "mpa", 0, 200, "oil pressure of the jack", above=True),
    _number("press", "jack_piston_diameter_mm", "jack_piston_diameter", "mm", 1, 200, "piston of the jack"),
    _number("press", "barrel_capacity_cm3", "barrel_capacity", "cm3", 0.1, 10000, "volume the barrel takes"),
    _number("press", "nozzle_diameter_mm", "nozzle_diameter", "mm", 0.2, 50, "bore of the nozzle"),
    _number("press", "nozzle_length_mm", "nozzle_length", "mm", 0.1, 500, "length of that bore"),
    _number("press", "heater_max_c", "heater_max", "c", 40, 400, "hottest the heater goes"),
    _number("press", "heater_u_c", "heater_u", "delta_c", 0, 60, "how far the set point may be off"),
    _yes_no("press", "sealed_nozzle", "nozzle shut while the charge soaks"),
    _number("press", "clamp_kn", "clamp", "kn", 0, 5000, "force that holds the mold shut", above=True),

    _text("mold", "material", "what the mold is made of"),
    _number("mold", "temperature_c", "temperature", "c", -20, 250, "where the mold is held"),
    _number("mold", "temperature_max_c", "temperature_max", "c", -20, 400, "hottest it can be held"),
    _number("mold", "gate_thickness_mm", "gate_thickness", "mm", 0.05, 50, "thinnest place of the gate"),
    _whole("mold", "cavities", 1, 1000, "parts a shot"),
    _number("mold", "runner_volume_cm3", "runner_volume", "cm3", 0, 10000, "sprue and runners"),
    _number("mold", "runner_diameter_mm", "runner_diameter", "mm", 0.5, 50, "bore of the runner, one as wide as it is deep"),
    _number("mold", "runner_length_mm", "runner_length", "mm", 1, 2000, "way through the runner to one cavity"),

    _choice("part", "specimen", SPECIMENS, "a standard test specimen"),
    _file("part", "mesh", "file of a closed surface"),
    _choice("part", "mesh_unit", MESH_UNITS, "unit of the mesh"),
    _choice("part", "clamp_axis", ("x", "y", "z"), "axis of the mesh the clamp presses along"),
    _number("part", "gate_x_mm", "gate_x", "mm", -5000, 5000, "where melt enters the mesh, as it is drawn"),
    _number("part", "gate_y_mm", "gate_y", "mm", -5000, 5000, "the same along y"),
    _number("part", "gate_z_mm", "gate_z", "mm", -5000, 5000, "the same along z"),
    _number("part", "flow_length_mm", "flow_length", "mm", 0.1, 5000, "longest way from the gate"),
    _number("part", "wall_mm", "wall", "mm", 0.05, 200, "wall thickness"),

    _choice("part.solid", "shape", tuple(SOLID_SHAPES), "kind of solid"),
    _solid("length_mm", 0, "length"),
    _solid("width_mm", 0, "width"),
    _solid("height_mm", 0, "height"),
    _solid("thickness_mm", 0, "thickness"),
    _solid("diameter_mm", 0, "diameter, of a cone at its base"),
    _solid("outer_diameter_mm", 0, "outer diameter"),
    _solid("inner_diameter_mm", 0, "inner diameter"),
    _solid("tip_diameter_mm", 0, "diameter at the tip, 0 for a point", above=False),
    _whole("part.solid", "count", 1, 10000, "how many of them"),
    _yes_no("part.solid", "subtract", "taken away instead of added"),

    _number("room", "temperature_c", "temperature", "c", -20, 60, "air temperature"),
    _number("room", "humidity_pct", "humidity", "pct", 0, 100, "relative humidity", percent=True),
    _number("room", "altitude_m", "altitude", "m", -430, 6000, "height above the sea"),

    _number("jar", "slurry_area_cm2", "slurry_area", "cm2", 0.1, 1e5, "open area of the slurry"),
    _number("jar", "air_gap_cm", "air_gap", "cm", 0.1, 200, "still air between slurry and bed"),
    _number("jar", "bed_area_cm2", "bed_area", "cm2", 0.1, 1e5, "area of the bed of pellets"),
    _number("jar", "bed_depth_cm", "bed_depth", "cm", 0.01, 100, "depth of the bed"),
    _yes_no("jar", "fan", "a fan stirs the air"),
    _number("jar", "tray_g", "tray", "g", 0, _TON, "mass of the empty tray"),
    _number("jar", "temperature_c", "temperature", "c", 0, 60, "temperature of the jar"),
    JobKey("jar", "sources", "sources", "texts", "humidity sources at hand"),

    _number("use", "humidity_low_pct", "humidity_low", "pct", 0, 100, "driest air the part lives in", percent=True),
    _number("use", "humidity_high_pct", "humidity_high", "pct", 0, 100, "dampest air", percent=True),
    _number("use", "temperature_low_c", "temperature_low", "c", -60, 150, "coldest"),
    _number("use", "temperature_high_c", "temperature_high", "c", -60, 150, "warmest"),
    _number("use", "weeks", "time", "weeks", 0, 1000, "how long until it is judged", above=True),

    _number("scale", "resolution_g", "resolution", "g", 1e-6, 1000, "smallest step the scale shows"),
)
# fmt: on

#: Headings of a job file, in the order of the work.
SECTIONS = (
    "ingredient", "pot", "blend", "sheet", "oven", "pellets", "press", "mold", "part", "room",
    "jar", "use", "scale", "price",
)  # fmt: skip


def keys_of(section: str) -> Mapping[str, JobKey]:
    """The keys of one section, by name.

    Parameters
    ----------
    section : str
        Heading, ``"part.solid"`` for a simple solid, empty for the top of the file. [-]

    Returns
    -------
    mapping of str to JobKey
        Empty for ``price``, whose keys are names of cards.

    Examples
    --------
    >>> sorted(keys_of("scale"))
    ['resolution_g']
    """
    return {key.key: key for key in KEYS if key.section == section}
