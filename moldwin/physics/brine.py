"""Water that dissolved salt holds."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import fraction

__all__ = ["salt_water"]

_SALT = Range(0.0, 0.98, "-", "Pitzer & Mayorga 1973 (from memory); pure NaCl only")


def salt_water(aw: Any, *, check: bool = True) -> Any:
    """Water held by sodium chloride once humid air dissolves it.

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity. [-]
    check : bool, optional
        Warn when ``aw`` lies above 0.98. [-]

    Returns
    -------
    float or array, shape (...)
        Water a kilogram of salt holds; 0 below 0.70, infinite at 1. [kg/kg]

    Raises
    ------
    ValueError
        An activity outside 0..1.

    Notes
    -----
    Above 0.75 a NaCl solution of that activity at 25 °C; a saturated one holds 2.8 kg/kg. Salt
    spread in a polymer does not dissolve at one sharp humidity, so the step is drawn out from
    0.70 to 0.75 (assumed). Kelp ash is half potassium salts and more: an estimate only.

    References
    ----------
    K. S. Pitzer, G. Mayorga, J. Phys. Chem. 77 (1973) 2300, NaCl at 25 °C (constants from
    memory; a test holds them against tabulated activities).

    Examples
    --------
    >>> print(f"{salt_water(0.75):.1f} kg/kg")
    2.8 kg/kg
    """
    aw = fraction("aw", aw)
    if check:
        _SALT.check("salt_water", "aw", aw)
    step = np.clip((aw - 0.70) / 0.05, 0.0, 1.0)
    step = step * step * (3 - 2 * step)
    molality = _nacl_molality(np.maximum(aw, 0.70))
    with np.errstate(divide="ignore"):  # saturated air dilutes the salt without end
        return (step / (molality * 0.05844277))[()]


def _nacl_log_activity(molality: Any) -> tuple[Any, Any]:
    """Logarithm of water activity over NaCl at 25 °C, and its slope in molality (Pitzer)."""
    root = np.sqrt(molality)
    debye = -0.392 * root / (1 + 1.2 * root)
    b = 0.0765 + 0.2664 * np.exp(-2 * root)
    osmotic = 1 + debye + molality * b + molality**2 * 0.00127
    # m times the slope of the osmotic coefficient, free of 0/0 at infinite dilution
    slope = (
        -0.196 * root / (1 + 1.2 * root) ** 2
        + molality * (b - 0.2664 * root * np.exp(-2 * root))
        + 2 * molality**2 * 0.00127
    )
    per_molal = -2 * 0.01801528
    return per_molal * molality * osmotic, per_molal * (osmotic + slope)


def _nacl_molality(aw: Any) -> Any:
    """Molality of the NaCl solution of a water activity, by Newton's method."""
    target = np.log(aw)
    molality = -target / 0.0396  # low at the saturated end, high at the dilute one
    for _ in range(8):
        value, slope = _nacl_log_activity(molality)
        molality = np.maximum(molality - (value - target) / slope, 0.0)
    return molality
