"""What weeks do to a molded part: crystals above the glass transition, a tighter glass below."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, inside

__all__ = ["ageing_decades", "crystal_stiffening", "crystallized"]

#: How far above Tg the given time holds, and from where on more mobility changes no more. [K]
_REFERENCE, _FASTEST = 40.0, 80.0
#: A glass this far below its transition is too cold to tighten (assumed). [K]
_FROZEN = 100.0
#: The first reading of a new part's stiffness. [s]
_FIRST = 3600.0
_SEEN = Range(0.0, 0.25, "(crystal gained)", "van Soest 1996: from 5 to 30 %")


def crystallized(above: Any, time: Any, tau: Any) -> Any:
    r"""Share of the crystals to come that have formed by a time.

    .. math:: 1 - \exp\left[-\frac{t}{\tau} \frac{\min(T - T_g,\,80)}{40}\right],\quad T > T_g

    Parameters
    ----------
    above : float or array, shape (...)
        Temperature less glass transition. [K]
    time : float or array, shape (...)
        Since molding. [s]
    tau : float or array, shape (...)
        Time constant 40 K above the transition. [s]

    Returns
    -------
    float or array, shape (...)
        0 in a glass, toward 1 in a soft part. [-]

    Raises
    ------
    ValueError
        A negative time, a time constant not above 0.

    Notes
    -----
    The form is assumed: chains move the faster the farther above the transition, and not at all
    below. Two weeks in damp air took potato starch nearly all the way; with less water and weeks it
    is seen to be slower.

    References
    ----------
    J. J. G. van Soest and others, Carbohydr. Polym. 29 (1996) 225.

    Examples
    --------
    >>> crystallized([-10.0, 20.0, 40.0], 14 * 86400.0, 14 * 86400.0).round(2).tolist()
    [0.0, 0.39, 0.63]
    """
    time = inside("time", time, 0.0, np.inf, "s")
    mobility = np.clip(np.asarray(above, float), 0.0, _FASTEST) / _REFERENCE
    return (-np.expm1(-mobility * time / above_zero("tau", tau, "s")))[()]


def crystal_stiffening(gained: Any, growth: Any, *, check: bool = True) -> Any:
    r"""How many times stiffer a soft part gets as crystals form in it.

    .. math:: \exp(g \, \Delta X)

    Parameters
    ----------
    gained : float or array, shape (...)
        Crystalline share of the starch gained since molding. [-]
    growth : float or array, shape (...)
        ln of the stiffness per crystal; 7.8 from 10 to 70 MPa over 25 % of crystals. [-]
    check : bool, optional
        Warn beyond the published 25 %. [-]

    Returns
    -------
    float or array, shape (...)
        Factor on the rubbery modulus, 1 or more. [-]

    Raises
    ------
    ValueError
        A share outside 0 to 1, a negative growth.

    Notes
    -----
    For the rubbery plateau. A glass is stiff already and hardly changes.

    References
    ----------
    J. J. G. van Soest and others, Carbohydr. Polym. 29 (1996) 225.

    Examples
    --------
    >>> print(f"{crystal_stiffening(0.25, 7.784):.1f}")
    7.0
    """
    gained = fraction("gained", gained)
    if check:
        _SEEN.check("crystal_stiffening", "gained", gained)
    return np.exp(inside("growth", growth, 0.0, np.inf, "(per share)") * gained)[()]


def ageing_decades(above: Any, time: Any) -> Any:
    r"""Decades of time that a glass has tightened (physical ageing).

    .. math:: \log_{10}(t / 1\,\mathrm{h}),\quad T_g - 100 < T < T_g

    Parameters
    ----------
    above : float or array, shape (...)
        Temperature less glass transition. [K]
    time : float or array, shape (...)
        Since the part became a glass. [s]

    Returns
    -------
    float or array, shape (...)
        0 above the transition and in the first hour; fading out far below it. [-]

    Raises
    ------
    ValueError
        A negative time.

    Notes
    -----
    A glass tightens with the logarithm of time and grows more brittle by it; warmed above its
    transition it forgets. The fading, from full at 50 K below to none at 100 K, is assumed.

    References
    ----------
    L. C. E. Struik, Physical Aging in Amorphous Polymers and Other Materials (1978) (from memory).

    Examples
    --------
    >>> ageing_decades([-30.0, 5.0, -120.0], 1000 * 3600.0).round(1).tolist()
    [3.0, 0.0, 0.0]
    """
    above = np.asarray(above, float)
    time = inside("time", time, 0.0, np.inf, "s")
    active = np.clip((above + _FROZEN) / (0.5 * _FROZEN), 0.0, 1.0)
    decades = np.log10(np.maximum(time, _FIRST) / _FIRST)
    return np.where(np.isnan(above), np.nan, np.where(above < 0, active, 0.0) * decades)[()]
