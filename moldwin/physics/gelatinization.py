"""Cooking starch: how hot and how wet it must be until its granules are gone."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, inside, kelvin

__all__ = ["peak_in_liquid", "share_by_heat", "share_by_water"]

#: Plasticizer of the liquid up to which a straight line is used (assumed). [kg/kg]
_LIQUID = Range(0.0, 0.5, "kg/kg of the liquid", "assumed: a straight line for cooking liquors")
#: How steeply the share of granules that go rises with water; see the notes there. [-]
_STEEPNESS = 2.5


def peak_in_liquid(peak: Any, w_plasticizer: Any, shift: Any, *, check: bool = True) -> Any:
    r"""Temperature at which starch gelatinizes fastest, in water with plasticizer in it.

    .. math:: T_p = T_{p,0} + s \, w

    Parameters
    ----------
    peak : float or array, shape (...)
        Peak in much plain water. [K]
    w_plasticizer : float or array, shape (...)
        Plasticizer and sugars over all liquid. [kg/kg]
    shift : float or array, shape (...)
        Rise per share of the liquid. [K]
    check : bool, optional
        Warn where the liquid holds more plasticizer than water. [-]

    Returns
    -------
    float or array, shape (...)
        Peak in that liquid. [K]

    Raises
    ------
    ValueError
        A temperature in °C, a share outside 0..1, a negative shift.

    Notes
    -----
    That glycerol, sugars and sugar alcohols raise it, and the more the more there is of them, is
    published; that the rise is a straight line is assumed. In the pot of a kitchen, where water is
    twenty times the glycerol, it comes to a degree or two.

    References
    ----------
    J. J. G. van Soest, R. C. Bezemer, D. de Wit, J. F. G. Vliegenthart, Ind. Crops Prod. 5 (1996)
    1 (abstract); M. C. Allan, M. Chamberlain, L. J. Mauer, Foods 9 (2020) 757 (abstract): the
    direction, not the slope.

    Examples
    --------
    >>> print(f"{peak_in_liquid(339.15, 0.05, 30.0) - 273.15:.1f} °C")
    67.5 °C
    """
    w = fraction("w_plasticizer", w_plasticizer)
    rise = inside("shift", shift, 0.0, 300.0, "K")
    if check:
        _LIQUID.check("peak_in_liquid", "plasticizer", w)
    return (kelvin("peak", peak) + rise * w)[()]


def share_by_heat(t: Any, onset: Any, end: Any) -> Any:
    r"""Share of the granules that a temperature melts, in much water.

    Parameters
    ----------
    t : float or array, shape (...)
        Of the gel. [K]
    onset, end : float or array, shape (...)
        Where the first and the last granules go. [K]

    Returns
    -------
    float or array, shape (...)
        0 up to the onset, 1 from the end on, a straight line between. [-]

    Raises
    ------
    ValueError
        A temperature in °C, an end below its onset.

    Notes
    -----
    Heat acts within a minute or two at the temperature; the time a kitchen takes is for warming a
    stiff gel through. The straight line is assumed.

    References
    ----------
    Terminal extent of gelatinization of wheat starch, J. Food Eng. 53 (2002) 39 (abstract): reached
    within 1 to 2 min.

    Examples
    --------
    >>> print(share_by_heat([330.0, 340.0, 350.0], 335.0, 345.0))
    [0.  0.5 1. ]
    """
    t, onset, end = (kelvin(n, v) for n, v in (("t", t), ("onset", onset), ("end", end)))
    if np.any(end < onset):
        raise ValueError("end must not lie below onset; are they swapped?")
    with np.errstate(invalid="ignore", divide="ignore"):
        between = (t - onset) / np.maximum(end - onset, 1e-9)
    return np.clip(between, 0.0, 1.0)[()]


def share_by_water(x_water: Any, whole: Any, none: Any) -> Any:
    r"""Share of the granules that the water at hand lets go, at up to the boiling point.

    .. math:: 1 - \left(\frac{x_w - x}{x_w - x_n}\right)^{2.5}

    Parameters
    ----------
    x_water : float or array, shape (...)
        Water per dry starch. [kg/kg]
    whole : float or array, shape (...)
        Water in which all granules go; 1.5 is published. [kg/kg]
    none : float or array, shape (...)
        Water below which none go; 0.43 is published for potato. [kg/kg]

    Returns
    -------
    float or array, shape (...)
        Share, 0 to 1. [-]

    Raises
    ------
    ValueError
        Negative water, or ``none`` not below ``whole``.

    Notes
    -----
    The exponent is ours: with it the curve passes 85 % at 1.0 kg/kg, as published between the two
    ends. Water that seaweed or fiber holds is not there for the starch.

    References
    ----------
    Model of the degree of gelatinization by water, sugar and salt, J. Food Sci. (1990), doi
    10.1111/j.1365-2621.1990.tb06805.x (abstract): 85 % at 1.0 g, whole at 1.5 g of water.
    J. W. Donovan, Biopolymers 18 (1979) 263 (abstract): a second, hotter melting below 1.5.

    Examples
    --------
    >>> print(f"{share_by_water(1.0, 1.5, 0.43):.2f}")
    0.85
    """
    x = inside("x_water", x_water, 0.0, np.inf, "kg/kg")
    whole, none = above_zero("whole", whole, "kg/kg"), inside("none", none, 0.0, np.inf, "kg/kg")
    if np.any(none >= whole):
        raise ValueError("none must lie below whole; are they swapped?")
    lacking = np.clip((whole - x) / (whole - none), 0.0, 1.0)
    return (1.0 - lacking**_STEEPNESS)[()]
