"""Refusing the impossible, in one voice for all of physics."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__: list[str] = []


def inside(name: str, values: Any, low: float, high: float, unit: str, slip: str = "") -> Any:
    """The values as floats; refused where they lie outside what is possible. NaN passes."""
    array = np.asarray(values, dtype=float)
    bad = (array < low) | (array > high)
    if bad.any():
        hint = f"; {slip}" if slip else ""
        raise ValueError(
            f"{name} must lie in {low:g} to {high:g} {unit}, got {array[bad].flat[0]:g}{hint}"
        )
    return array


def fraction(name: str, values: Any) -> Any:
    """The values as floats between 0 and 1."""
    return inside(name, values, 0.0, 1.0, "(a fraction)", "a percentage? divide it by 100")


def above_zero(name: str, values: Any, unit: str, slip: str = "") -> Any:
    """The values as floats above 0."""
    array = np.asarray(values, dtype=float)
    bad = (array <= 0) | np.isinf(array)
    if bad.any():
        hint = f"; {slip}" if slip else ""
        raise ValueError(f"{name} must be above 0 {unit}, got {array[bad].flat[0]:g}{hint}")
    return array


def kelvin(name: str, values: Any, low: float = 173.15, high: float = 1273.15) -> Any:
    """The values as floats in kelvin, between limits no molding job ever leaves.

    The lower limit lies above most workshop temperatures in °C, so that a forgotten
    conversion is refused rather than computed.
    """
    return inside(name, values, low, high, "K", "a temperature in °C? add 273.15")


def power_law_index(n: Any) -> Any:
    """The index of a power law as floats above 0 and up to 1.5; 1 is Newtonian."""
    return inside("n", above_zero("n", n, "(power-law index)"), 0.0, 1.5, "(power-law index)")
