"""An open charge above the onset of its steam: the heat that its water takes as it boils off."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside, kelvin

__all__ = ["boiling_shortfall", "evaporation_stretch", "layered_moisture"]

#: Heat of evaporation at 120 °C or so, with a little for the binding of the water. [J/kg]
_HEAT_OF_EVAPORATION = 2.2e6


def evaporation_stretch(
    w_loaded: Any, w_even: Any, t_onset: Any, t_wall: Any, heat_capacity: Any
) -> Any:
    r"""How many times more heat the charge takes from its steam's onset to the wall's temperature.

    .. math:: 1 + \frac{L \, (w_0 - w_e)/(1 - w_e)}{c_p \, (T_w - T_{on})}

    Parameters
    ----------
    w_loaded : float or array, shape (...)
        Water as loaded, wet basis. [kg/kg]
    w_even : float or array, shape (...)
        Water that is left once all of it is as hot as the wall, wet basis. [kg/kg]
    t_onset : float or array, shape (...)
        Where the steam of the loaded charge passes the air's pressure. [K]
    t_wall : float or array, shape (...)
        Barrel wall. [K]
    heat_capacity : float or array, shape (...)
        Of the charge. [J/kg/K]

    Returns
    -------
    float or array, shape (...)
        Factor on the heat, 1 where nothing boils. [-]

    Raises
    ------
    ValueError
        A fraction outside 0..1, a temperature in °C, a heat capacity not above 0.

    Notes
    -----
    The mean over the way: more of the water leaves just above the onset than later. Typical for
    starch and glycerol: 4 to 5, so that an open charge stays near its onset for a long time.

    Examples
    --------
    >>> print(f"{evaporation_stretch(0.10, 0.043, 386.0, 403.15, 2000.0):.1f}")
    4.8
    """
    w_loaded, w_even = fraction("w_loaded", w_loaded), fraction("w_even", w_even)
    rise = kelvin("t_wall", t_wall) - kelvin("t_onset", t_onset)
    lost = np.maximum(w_loaded - w_even, 0.0) / np.maximum(1.0 - w_even, 1e-12)
    heat = above_zero("heat_capacity", heat_capacity, "J/kg/K") * np.maximum(rise, 1e-3)
    return np.where(rise > 0.0, 1.0 + _HEAT_OF_EVAPORATION * lost / heat, 1.0)[()]


def boiling_shortfall(left: Any, at_onset: Any, stretch: Any) -> Any:
    r"""Temperature still missing in a charge whose water boils off from some temperature on.

    .. math:: s' = s_{on} \, (s / s_{on})^{1/S} \quad \text{for } s < s_{on}

    Parameters
    ----------
    left : float or array, shape (...)
        s: what would be missing without boiling, over wall minus start. [-]
    at_onset : float or array, shape (...)
        What is missing where boiling begins, over wall minus start; 0 or less where the wall does
        not get so hot. [-]
    stretch : float or array, shape (...)
        S: how many times more heat the rest of the way takes. [-]

    Returns
    -------
    float or array, shape (...)
        What is missing with boiling, never less than ``left``. [-]

    Raises
    ------
    ValueError
        A share left outside 0..1, or a stretch below 1.

    Notes
    -----
    What is missing falls as an exponential; from the onset on its time constant is S times as long.
    The mean of a cylinder obeys it within 3 K of a finite-volume solution (a test holds it). The
    axis gets its heat through layers that boil too: with S squared it is met within 7 K.

    Examples
    --------
    >>> print(f"{boiling_shortfall(0.04, 0.16, 4.0):.3f}")
    0.113
    """
    left = inside("left", left, 0.0, 1.0, "(share of wall minus start)")
    stretch = inside("stretch", stretch, 1.0, np.inf, "(how many times more heat)")
    begun = np.maximum(at_onset, 1e-12)
    ratio = np.minimum(left / begun, 1.0)
    return np.where(left < begun, begun * ratio ** (1.0 / stretch), left)[()]


def layered_moisture(missing: Any, w_loaded: Any, w_middle: Any, w_even: Any) -> Any:
    """Mean water of a charge whose layers have boiled off to where each of them is warm.

    Parameters
    ----------
    missing : sequence of float or array, each of shape (...)
        For layers of equal mass: temperature still missing over what is missing at the onset, 1 or
        more where a layer does not boil yet. [-]
    w_loaded : float or array, shape (...)
        Water as loaded, held at the onset, wet basis. [kg/kg]
    w_middle, w_even : float or array, shape (...)
        Water in equilibrium with the air's pressure halfway between the onset and the wall's
        temperature, and at the wall's: each less than the one before. [kg/kg]

    Returns
    -------
    float or array, shape (...)
        Water, wet basis. [kg/kg]

    Raises
    ------
    ValueError
        A fraction outside 0..1.

    Notes
    -----
    Each layer holds what is in equilibrium at its own temperature, read from the hyperbola through
    the three given points. Steam finds its way out between the pellets; water inside them boils
    (they foam), so that heat and not diffusion sets the pace (assumed).

    Examples
    --------
    >>> print(f"{layered_moisture([1.2, 0.5, 0.0], 0.10, 0.06, 0.043):.4f}")
    0.0677
    """
    w_loaded, w_middle, w_even = (
        fraction(name, w)
        for name, w in (("w_loaded", w_loaded), ("w_middle", w_middle), ("w_even", w_even))
    )
    # (w_even + b y) / (1 + c y): rising throughout, as no parabola would
    c = (2.0 * w_middle - w_even - w_loaded) / np.maximum(w_loaded - w_middle, 1e-12)
    c = np.maximum(c, -1.0 + 1e-9)
    b = w_loaded * (1.0 + c) - w_even
    total: Any = 0.0
    for layer in missing:
        share = np.minimum(layer, 1.0)
        total = total + (w_even + b * share) / (1.0 + c * share)
    return (total / len(missing))[()]
