"""Which standard an oven weighing amounts to, and which ways take less glycerol for water."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CONSTANT_MASS", "GENTLER_WAYS", "METHODS", "Conditions", "MethodMatch", "match_method"]

#: Two weighings closer than this share of the wet mass count as the same (ISO 287, from memory).
CONSTANT_MASS = 1e-3

#: What is asked, and how much of it was read.
METHODS = {
    "ISO 1666": "starch, 130 to 133 °C, 90 min (ISO 1666:1996, scope read; 5 g from memory)",
    "ISO 287": "paper and board, 105 °C to constant mass (ISO 287:2017, scope read; rest from "
    "memory)",
    "ISO 15512": "plastics; titrates the water or measures its vapor (ISO 15512:2019, scope read)",
    "ASTM D6980": "plastics; weighs inside the heater until the loss falls below a set rate "
    "(ASTM D6980-12, summary read)",
}

#: Ways besides a cooler oven, common practice without a source.
GENTLER_WAYS = (
    "under vacuum at 60 to 70 °C to constant mass, and no longer",
    "at room temperature in a closed jar over a desiccant, until the mass stays (weeks)",
    "Karl Fischer titration by a laboratory: it counts water and nothing else",
    "a twin sample without plasticizer in the same oven: once its mass stays, what the other one "
    "goes on losing is glycerol",
)

_ISO_1666_T = (403.15 - 0.5, 406.15 + 0.5)  # half a degree of reading either way
_ISO_1666_TIME = (85 * 60.0, 95 * 60.0)
_ISO_1666_MASS = (4e-3, 6e-3)
_ISO_287_T = (376.15, 380.15)  # 105 ± 2 °C, from memory
#: Halfway between the two temperatures: decides which one is nearer. [K]
_HALFWAY = 391.4


@dataclass(frozen=True)
class Conditions:
    """How a sample was dried; None where it is not known.

    Parameters
    ----------
    temperature, time : float or None
        Oven temperature, and the longest time in it. [K, s]
    constant : bool or None
        Whether the last two weighings agree; None where there is only one. [-]
    lightest, heaviest : float
        Smallest and largest wet sample. [kg]
    repeats : int
        Samples. [-]
    starch_only, fiber_only, glycerol : bool or None
        What is in it. [-]
    """

    temperature: float | None
    time: float | None
    constant: bool | None
    lightest: float
    heaviest: float
    repeats: int
    starch_only: bool | None = None
    fiber_only: bool | None = None
    glycerol: bool | None = None


@dataclass(frozen=True)
class MethodMatch:
    """The standard that temperature and time amount to, if any, and in what they depart.

    Parameters
    ----------
    name : str or None
        The standard whose temperature and time were kept. [-]
    nearest : str or None
        That one, or the one with the nearest temperature; None where that is unknown. [-]
    departs : tuple of str
        In what the weighing departs from the nearest one. [-]
    """

    name: str | None
    nearest: str | None
    departs: tuple[str, ...]


def match_method(given: Conditions) -> MethodMatch:
    """Hold an oven weighing against the standards.

    Parameters
    ----------
    given : Conditions
        How it was done. [SI]

    Returns
    -------
    MethodMatch
        ISO 1666, ISO 287 or none: the other two are no weighing of a dish before and after.

    Examples
    --------
    >>> match_method(Conditions(404.15, 5400.0, None, 5e-3, 5e-3, 2)).name
    'ISO 1666'
    """
    if given.temperature is None:
        return MethodMatch(None, None, ("the oven's temperature is not known",))
    hot = given.temperature > _HALFWAY
    broken, others = _iso_1666(given) if hot else _iso_287(given)
    nearest = "ISO 1666" if hot else "ISO 287"
    return MethodMatch(None if broken else nearest, nearest, (*broken, *others))


def _iso_1666(given: Conditions) -> tuple[list[str], list[str]]:
    """What keeps it from being ISO 1666, and in what else it departs."""
    broken, others = [], []
    if not _within(given.temperature, _ISO_1666_T):
        broken.append(f"130 to 133 °C asked, {_celsius(given)} used")
    if given.time is None:
        broken.append("90 min asked, the time is not known")
    elif not _within(given.time, _ISO_1666_TIME):
        broken.append(f"90 min asked, {given.time / 60:.0f} min taken")
    if given.glycerol:
        others.append("it leaves out what is not stable at 130 °C, and glycerol evaporates there")
    if given.starch_only is False:
        others.append("it is for starch as a powder, not for a blend")
    if given.lightest < _ISO_1666_MASS[0] or given.heaviest > _ISO_1666_MASS[1]:
        masses = sorted({f"{1e3 * mass:.3g}" for mass in (given.lightest, given.heaviest)})
        others.append(f"about 5 g a sample asked, {' to '.join(masses)} g taken")
    if given.repeats < 2:
        others.append("two samples asked (from memory), one taken")
    return broken, others


def _iso_287(given: Conditions) -> tuple[list[str], list[str]]:
    """What keeps it from being ISO 287, and in what else it departs."""
    broken, others = [], []
    if not _within(given.temperature, _ISO_287_T):
        broken.append(f"105 °C asked, {_celsius(given)} used")
    if given.constant is None:
        broken.append("constant mass asked, and no second dry weighing shows it")
    elif not given.constant:
        broken.append("constant mass asked, and the last two weighings still differ")
    if given.glycerol:
        others.append("it is for what gives off nothing but water, and glycerol evaporates too")
    if given.fiber_only is False:
        others.append("it is for paper and board")
    return broken, others


def _within(value: float | None, ends: tuple[float, float]) -> bool:
    return value is not None and ends[0] <= value <= ends[1]


def _celsius(given: Conditions) -> str:
    return f"{(given.temperature or 0.0) - 273.15:.0f} °C"
