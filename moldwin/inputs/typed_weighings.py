"""Three weighings typed on the command line, checked as strictly as a table of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.number_table import FINEST
from moldwin.inputs.text_files import printable
from moldwin.inputs.weighings import DriedSample, Weighings, wrong_masses

__all__ = ["typed_weighings"]

_NEEDED = ("--dish-g", "--wet-g", "--dry-g")
_MISSING = {
    "--dish-g": "is missing; weigh the empty dish, or give 0 if the scale was tared with it",
    "--wet-g": "is missing; give the mass of dish and sample before the oven",
    "--dry-g": "is missing; give the mass of dish and sample after the oven",
}
_HEAVIEST = 1_000_000  # grams


def typed_weighings(
    dish: str | None,
    wet: str | None,
    dry: str | None,
    time: float | None = None,
    resolution: float | None = None,
) -> Weighings:
    """One sample from three masses as they were typed.

    Parameters
    ----------
    dish, wet, dry : str or None
        Empty dish; dish and sample before and after drying. [g]
    time : float, optional
        Time in the oven. [s]
    resolution : float, optional
        Step of the scale; left out, the last digit that was typed. [kg]

    Returns
    -------
    Weighings
        One sample.

    Raises
    ------
    InputError
        A mass is missing, no number, or cannot be.

    Examples
    --------
    >>> round(typed_weighings("20.0", "30.0", "29.0").moisture, 12)
    0.1
    """
    typed = dict(zip(_NEEDED, (dish, wet, dry), strict=True))
    faults = [_fault(option, _MISSING[option]) for option in _NEEDED if typed[option] is None]
    masses: dict[str, Decimal] = {}
    for option, text in typed.items():
        if text is not None:
            masses[option] = _mass(option, text.strip(), faults)
    if not faults:
        faults = _slips(*(float(masses[option]) for option in _NEEDED))
    if faults:
        raise InputError(faults)
    dish_kg, wet_kg, dry_kg = (float(masses[option]) / 1000 for option in _NEEDED)
    seconds = math.nan if time is None else time
    curve = () if time is None else ((time, dry_kg),)
    sample = DriedSample("typed", dish_kg, wet_kg, dry_kg, seconds, curve)
    return Weighings.of([sample], resolution if resolution else _last_digit(masses.values()))


def _mass(option: str, text: str, faults: list[Fault]) -> Decimal:
    try:
        mass = Decimal(text)
    except InvalidOperation:
        hint = "; use a point" if "," in text else "; write the number alone, in grams"
        faults.append(_fault(option, f"got '{printable(text)}'; a number belongs here{hint}"))
        return Decimal(0)
    if not (mass.is_finite() and 0 <= mass <= _HEAVIEST):
        faults.append(_fault(option, f"got {printable(text)}; allowed: 0 to {_HEAVIEST} g"))
        return Decimal(0)
    return mass


def _slips(dish: float, wet: float, dry: float) -> list[Fault]:
    """What cannot be between the three, told once, at the option it shows in."""
    for option, gross in (("--wet-g", wet), ("--dry-g", dry)):
        for column, message in wrong_masses(dish, wet, gross):
            return [_fault("--dish-g" if column == "dish_g" else option, message)]
    return []


def _last_digit(masses: Iterable[Decimal]) -> float:
    digits = [-int(mass.as_tuple().exponent) for mass in masses]
    return 10.0 ** -min(max(0, *digits), FINEST) / 1000


def _fault(option: str, message: str) -> Fault:
    return Fault(option, "", message)
