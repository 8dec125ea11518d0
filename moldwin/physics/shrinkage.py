"""How much smaller a body becomes as it cools and dries."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside, kelvin

__all__ = ["cooling_shrinkage", "drying_shrinkage", "linear_from_volume"]


def linear_from_volume(ratio: Any) -> Any:
    """Linear shrinkage of a free body from what is left of its volume.

    Parameters
    ----------
    ratio : float or array, shape (...)
        Volume after over volume before. [-]

    Returns
    -------
    float or array, shape (...)
        Share lost of every length; negative where the body grew. [-]

    Raises
    ------
    ValueError
        A ratio not above 0.

    Notes
    -----
    The same in all directions. A sheet held by its plate loses thickness only, until it lets go.

    Examples
    --------
    >>> print(f"{linear_from_volume(0.125):.3f}")
    0.500
    """
    return (1 - above_zero("ratio", ratio, "(volume after over before)") ** (1 / 3))[()]


def drying_shrinkage(w_from: Any, w_to: Any, density: Any, water_density: Any = 997.0) -> Any:
    r"""Linear shrinkage of a body without pores that loses water.

    .. math:: 1 - \left(1 - \frac{\rho}{\rho_w} \frac{w_1 - w_2}{1 - w_2}\right)^{1/3}

    Parameters
    ----------
    w_from, w_to : float or array, shape (...)
        Water before and after, wet basis. [kg/kg]
    density : float or array, shape (...)
        Of the body before. [kg/m3]
    water_density : float or array, shape (...), optional
        Of the water that leaves. [kg/m3]

    Returns
    -------
    float or array, shape (...)
        Share lost of every length, about a third of the volume lost; negative where it takes up
        water. [-]

    Raises
    ------
    ValueError
        A fraction outside 0 to under 1, a density not above 0, more volume lost than there is.

    Notes
    -----
    The body gives up the volume of its water: true while it is soft. A glassy one keeps part of it
    as pores and stress and shrinks less, so this is the larger end.

    Examples
    --------
    >>> print(f"{100 * drying_shrinkage(0.12, 0.08, 1400.0):.2f} %")
    2.08 %
    """
    high = float(np.nextafter(1.0, 0.0))
    w_from, w_to = (
        inside(name, w, 0.0, high, "kg/kg, wet basis", "a percentage? divide it by 100")
        for name, w in (("w_from", w_from), ("w_to", w_to))
    )
    rho = above_zero("density", density, "kg/m3")
    water_rho = above_zero("water_density", water_density, "kg/m3")
    # Mass lost over mass before is (w1 - w2)/(1 - w2): the dry part stays.
    return linear_from_volume(1 - rho / water_rho * (w_from - w_to) / (1 - w_to))


def cooling_shrinkage(t_from: Any, t_to: Any, expansion: Any) -> Any:
    r"""Linear shrinkage from cooling at constant pressure.

    .. math:: 1 - e^{-\beta (T_1 - T_2) / 3}

    Parameters
    ----------
    t_from, t_to : float or array, shape (...)
        Temperature before and after. [K]
    expansion : float or array, shape (...)
        Volume expansion, 4e-4 to 6e-4 for a starch melt (from memory). [1/K]

    Returns
    -------
    float or array, shape (...)
        Share lost of every length; negative on heating. [-]

    Raises
    ------
    ValueError
        A temperature in °C, an expansion outside 0 to .01.

    Notes
    -----
    Without packing pressure, which makes up for part of it. The expansion of the mixed parts alone
    gives less than half of what melts show.

    Examples
    --------
    >>> print(f"{100 * cooling_shrinkage(403.15, 294.15, 5e-4):.1f} %")
    1.8 %
    """
    beta = inside("expansion", expansion, 0.0, 0.01, "1/K")
    return (-np.expm1(-beta * (kelvin("t_from", t_from) - kelvin("t_to", t_to)) / 3))[()]
