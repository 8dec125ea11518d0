"""A job as the stages see it: SI, kelvin and mass fractions, ``None`` where nothing was given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from moldwin.inputs.equipment import Mold, Part, Press, SolidSpec

__all__ = [
    "Blend",
    "Ingredient",
    "Jar",
    "Job",
    "Mold",
    "Oven",
    "Part",
    "Pellets",
    "Pot",
    "Press",
    "Room",
    "Scale",
    "Sheet",
    "SolidSpec",
    "Use",
]


@dataclass(frozen=True)
class Ingredient:
    """One row of the recipe, as weighed into the pot.

    Parameters
    ----------
    card : str
        Name of the material card. [-]
    mass : float
        Mass as weighed, its own water included. [kg]
    moisture, moisture_u : float, optional
        Water in it, wet basis, and its standard uncertainty. [kg/kg]
    lot : str
        The user's name for the batch; empty where none was given. [-]
    length : float, optional
        Of a fiber, as cut. [m]
    """

    card: str
    mass: float
    moisture: float | None = None
    moisture_u: float | None = None
    lot: str = ""
    length: float | None = None


@dataclass(frozen=True)
class Pot:
    """The cooking.

    Parameters
    ----------
    water : float, optional
        Water added for cooking. [kg]
    cook_time : float, optional
        Time on the heat. [s]
    cook_temperature : float, optional
        Temperature of the gel. [K]
    loss : float, optional
        Share of the gel left behind in pot and on tools. [kg/kg]
    """

    water: float | None = None
    cook_time: float | None = None
    cook_temperature: float | None = None
    loss: float | None = None


@dataclass(frozen=True)
class Blend:
    """What was done to the blend, and a bend test on a strip of it.

    Parameters
    ----------
    cooked, washed : bool
        Gelatinized before drying; seaweed rinsed of its salt. [-]
    softening : float, optional
        Temperature at which a strip gives way in a bend test. [K]
    softening_u : float, optional
        Its standard uncertainty, a difference. [K]
    softening_moisture : float, optional
        Moisture of that strip, wet basis. [kg/kg]
    """

    cooked: bool = True
    washed: bool = False
    softening: float | None = None
    softening_u: float | None = None
    softening_moisture: float | None = None


@dataclass(frozen=True)
class Sheet:
    """The wet gel as spread.

    Parameters
    ----------
    spread : float, optional
        Wet thickness. [m]
    area : float, optional
        Area covered. [m²]
    plate : str, optional
        What it was spread on. [-]
    torn, whole : float, optional
        Wet thickness of a sheet of this recipe that tore, and of one that stayed whole. [m]
    """

    spread: float | None = None
    area: float | None = None
    plate: str | None = None
    torn: float | None = None
    whole: float | None = None


@dataclass(frozen=True)
class Oven:
    """The oven used for loss on drying.

    Parameters
    ----------
    temperature : float, optional
        Set temperature. [K]
    time : float, optional
        Time in the oven. [s]
    dish_area : float, optional
        Area of the open dish. [m²]
    """

    temperature: float | None = None
    time: float | None = None
    dish_area: float | None = None


@dataclass(frozen=True)
class Pellets:
    """The pellets as they are now.

    Parameters
    ----------
    moisture, moisture_u : float, optional
        Water, wet basis, and its standard uncertainty; worked out from ``weighings`` where a
        table was given instead. [kg/kg]
    moisture_guessed : bool
        Whether nobody measured it: it is then listed as assumed. [-]
    weighings : pathlib.Path, optional
        Table of loss-on-drying weighings. [-]
    shape : str, optional
        ``"flake"``, ``"slab"``, ``"cylinder"`` or ``"sphere"``. [-]
    diameter, length, thickness : float, optional
        Sizes of one pellet. [m]
    mass : float, optional
        All pellets at hand. [kg]
    bulk_density : float, optional
        Mass per poured volume. [kg/m³]
    temperature : float, optional
        Of the pellets as they are loaded. [K]
    times_heated : int
        How often the material went through a barrel before. [-]
    """

    moisture: float | None = None
    moisture_u: float | None = None
    moisture_guessed: bool = False
    weighings: Path | None = None
    shape: str | None = None
    diameter: float | None = None
    length: float | None = None
    thickness: float | None = None
    mass: float | None = None
    bulk_density: float | None = None
    temperature: float | None = None
    times_heated: int = 0


@dataclass(frozen=True)
class Room:
    """The room pellets and parts live in.

    Parameters
    ----------
    temperature : float, optional
        Air temperature. [K]
    humidity : float, optional
        Relative humidity. [-]
    altitude : float, optional
        Height above the sea. [m]
    """

    temperature: float | None = None
    humidity: float | None = None
    altitude: float | None = None


@dataclass(frozen=True)
class Jar:
    """The jar pellets are conditioned in.

    Parameters
    ----------
    slurry_area : float, optional
        Open area of the salt slurry or bath. [m²]
    air_gap : float, optional
        Still air between slurry and bed. [m]
    bed_area : float, optional
        Area of the bed of pellets. [m²]
    bed_depth : float, optional
        Its depth. [m]
    fan : bool
        Whether a fan stirs the air. [-]
    tray : float, optional
        Mass of the empty tray. [kg]
    temperature : float, optional
        Temperature of the jar. [K]
    sources : tuple of str, optional
        Humidity sources at hand. [-]
    """

    slurry_area: float | None = None
    air_gap: float | None = None
    bed_area: float | None = None
    bed_depth: float | None = None
    fan: bool = False
    tray: float | None = None
    temperature: float | None = None
    sources: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Use:
    """Where the part will live.

    Parameters
    ----------
    humidity_low, humidity_high : float, optional
        Relative humidity. [-]
    temperature_low, temperature_high : float, optional
        Temperature. [K]
    time : float, optional
        How long until it is judged. [s]
    """

    humidity_low: float | None = None
    humidity_high: float | None = None
    temperature_low: float | None = None
    temperature_high: float | None = None
    time: float | None = None


@dataclass(frozen=True)
class Scale:
    """The scale.

    Parameters
    ----------
    resolution : float, optional
        Smallest step it shows. [kg]
    """

    resolution: float | None = None


@dataclass(frozen=True)
class Job:
    """A whole job: blend, press, part, room.

    Parameters
    ----------
    title : str
        The user's title; empty where none was given. [-]
    path : pathlib.Path, optional
        The job file, ``None`` for a mapping. [-]
    folder : pathlib.Path
        Folder that relative paths and the user's own cards start from. [-]
    ingredients : tuple of Ingredient
        The recipe. [-]
    pot, blend, sheet, oven, pellets, press, mold, part, room, jar, use, scale
        The sections of the job file; an empty section where it was left out. [-]
    price : mapping of str to float
        Price by card. [currency/kg]
    raw : mapping
        The job as in the file, with what ``--set`` changed. [-]
    notes : tuple of str
        What the reader should be told about how the file was read. [-]
    bundled : bool
        True for the example that ships with the package. [-]
    """

    title: str = ""
    path: Path | None = None
    folder: Path = Path(".")
    ingredients: tuple[Ingredient, ...] = ()
    pot: Pot = Pot()
    blend: Blend = Blend()
    sheet: Sheet = Sheet()
    oven: Oven = Oven()
    pellets: Pellets = Pellets()
    press: Press = field(default_factory=Press)
    mold: Mold = field(default_factory=Mold)
    part: Part = field(default_factory=Part)
    room: Room = Room()
    jar: Jar = Jar()
    use: Use = Use()
    scale: Scale = Scale()
    price: Mapping[str, float] = field(default_factory=dict)
    raw: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    bundled: bool = False
