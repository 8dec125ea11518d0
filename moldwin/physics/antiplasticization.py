"""A little plasticizer in a dry glass: it stiffens and embrittles although it lowers Tg."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside

__all__ = ["embrittling", "stiffening"]

#: Drier than this it is at its full strength (Chang 2006, read from its abstract). [-]
_FULL_AW = 0.22
#: Brittleness goes on to so many times the share at which stiffness is over. [-]
_BRITTLE_REACH = 4.0 / 3.0
#: Makes the highest point of u (1-u)^2 and of u^2 (1-u) be 1.
_TOP = 27.0 / 4.0


def stiffening(loading: Any, end: Any, a_water: Any, end_aw: Any = 0.6) -> Any:
    r"""How much of its stiffening a plasticizer shows at one loading and water activity.

    .. math:: \tfrac{27}{4} u (1-u)^2 \, f(a_w),\qquad u = p / p_{end}

    Parameters
    ----------
    loading : float or array, shape (...)
        Plasticizer per dry polymer. [kg/kg]
    end : float or array, shape (...)
        Loading at which the effect is over, about 0.15 for glycerol in starch. [kg/kg]
    a_water : float or array, shape (...)
        Water activity: water plasticizes what glycerol would stiffen. [-]
    end_aw : float or array, shape (...), optional
        Water activity at which the effect is over. [-]

    Returns
    -------
    float or array, shape (...)
        0 to 1, the highest at a third of the end. [-]

    Raises
    ------
    ValueError
        A negative loading, an end not above 0, an activity outside 0 to 1.

    Notes
    -----
    The shape is assumed; it has to be seen at 2.5 % of glycerol in films no damper than an activity
    of 0.22, and gone at about 15 %. It acts in the glass only: that is the caller's to see to.

    References
    ----------
    Y. P. Chang, A. Abd Karim, C. C. Seow, Food Hydrocolloids (2006), abstract.

    Examples
    --------
    >>> stiffening([0.0, 0.025, 0.05, 0.15], 0.15, 0.2).round(2).tolist()
    [0.0, 0.78, 1.0, 0.0]
    """
    u = _reach(loading, end)
    return (_TOP * u * (1 - u) ** 2 * _dryness(a_water, end_aw))[()]


def embrittling(loading: Any, end: Any, a_water: Any, end_aw: Any = 0.6) -> Any:
    r"""How much of its embrittlement a plasticizer shows at one loading and water activity.

    .. math:: \tfrac{27}{4} u^2 (1-u) \, f(a_w),\qquad u = \tfrac{3}{4}\, p / p_{end}

    Parameters
    ----------
    loading : float or array, shape (...)
        Plasticizer per dry polymer. [kg/kg]
    end : float or array, shape (...)
        Loading at which the *stiffening* is over; this goes on for a third more. [kg/kg]
    a_water : float or array, shape (...)
        Water activity. [-]
    end_aw : float or array, shape (...), optional
        Water activity at which the effect is over. [-]

    Returns
    -------
    float or array, shape (...)
        0 to 1, the highest near 0.13 where the stiffening ends at 0.15. [-]

    Raises
    ------
    ValueError
        As in `stiffening`.

    Notes
    -----
    The shape is assumed; published are the least toughness at 10 to 15 % of glycerol in dry films,
    and a great change near 20 %.

    References
    ----------
    Y. P. Chang, A. Abd Karim, C. C. Seow, Food Hydrocolloids (2006), abstract.
    P. Myllärinen and others, Carbohydr. Polym. (2002), abstract.

    Examples
    --------
    >>> embrittling([0.0, 0.05, 0.13, 0.2], 0.15, 0.2).round(2).tolist()
    [0.0, 0.32, 1.0, 0.0]
    """
    u = _reach(loading, _BRITTLE_REACH * np.asarray(end, float))
    return (_TOP * u**2 * (1 - u) * _dryness(a_water, end_aw))[()]


def _reach(loading: Any, end: Any) -> Any:
    loading = inside("loading", loading, 0.0, np.inf, "kg/kg dry polymer")
    return np.minimum(loading / above_zero("end", end, "kg/kg dry polymer"), 1.0)


def _dryness(a_water: Any, end_aw: Any) -> Any:
    """1 in dry air, 0 from the end on."""
    aw = fraction("a_water", a_water)
    return np.clip((end_aw - aw) / (end_aw - _FULL_AW), 0.0, 1.0)
