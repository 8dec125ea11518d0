"""Water activity of the melt: the mixing law that takes over above the glass transition."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import fraction, inside

__all__ = ["flory_huggins_activity", "volume_fractions"]

_CHI1 = Range(0.9, 1.4, "-", "assumed band for starch and water")


def volume_fractions(w_water: Any, w_glycerol: Any = 0.0) -> tuple[Any, Any]:
    """Volume fractions of water and glycerol in a blend, from mass fractions.

    Parameters
    ----------
    w_water : float or array, shape (...)
        Mass fraction of water. [kg/kg]
    w_glycerol : float or array, shape (...)
        Mass fraction of glycerol; the rest is dry polymer. [kg/kg]

    Returns
    -------
    tuple of two floats or arrays, shape (...)
        Volume fraction of water and of glycerol. [m³/m³]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or the two above 1 together.

    Notes
    -----
    Densities 1.0 (water), 1.26 (glycerol) and 1.5 g/cm³ (dry polysaccharide), no change of
    volume on mixing: the convention ``flory_huggins_activity`` is used with.

    References
    ----------
    Handbook densities, rounded (from memory).

    Examples
    --------
    >>> print("{:.3f} {:.3f}".format(*volume_fractions(0.10, 0.20)))
    0.138 0.219
    """
    w_water, w_glycerol = fraction("w_water", w_water), fraction("w_glycerol", w_glycerol)
    polymer = 1 - inside("w_water + w_glycerol", w_water + w_glycerol, 0, 1 + 1e-9, "kg/kg")
    volume = w_water + w_glycerol / 1.26 + np.maximum(polymer, 0.0) / 1.5
    return (w_water / volume)[()], (w_glycerol / 1.26 / volume)[()]


def flory_huggins_activity(f_water: Any, f_glycerol: Any, chi1: Any, *, check: bool = True) -> Any:
    """Water activity of a melt of polymer, glycerol and water.

    Parameters
    ----------
    f_water : float or array, shape (...)
        Volume fraction of water. [m³/m³]
    f_glycerol : float or array, shape (...)
        Volume fraction of glycerol. [m³/m³]
    chi1 : float or array, shape (...)
        Interaction of water with nearly dry polymer. [-]
    check : bool, optional
        Warn when ``chi1`` lies outside 0.9..1.4. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or the two above 1 together.

    Notes
    -----
    Holds above the glass transition; below it the isotherm does. The interaction falls from
    ``chi1`` when dry to 0.5 in pure water, with the square of the other share: a constant 0.5
    makes dry melts look far too safe. 0.25 is the ratio of the molar volumes of water and
    glycerol. ``chi1`` 0.9 to 1.4 is assumed. Take the volume fractions from masses with
    ``volume_fractions`` (densities 1.0, 1.26 and 1.5 g/cm³).

    References
    ----------
    Form after R. G. M. van der Sman, M. B. J. Meinders, Soft Matter 7 (2011) 429 (from memory).

    Examples
    --------
    >>> print(f"{flory_huggins_activity(*volume_fractions(0.10, 0.20), 1.15):.2f}")
    0.64
    """
    f_water, f_glycerol = fraction("f_water", f_water), fraction("f_glycerol", f_glycerol)
    inside("f_water + f_glycerol", f_water + f_glycerol, 0, 1 + 1e-9, "m³/m³")
    chi1 = np.asarray(chi1, dtype=float)
    if check:
        _CHI1.check("flory_huggins_activity", "chi1", chi1)
    rest = (1 - f_water) ** 2
    chi = 0.5 + (chi1 - 0.5) * rest
    # f exp(...) rather than exp(ln f + ...): a dry melt then has activity 0 without a warning.
    return (f_water * np.exp(1 - f_water - 0.25 * f_glycerol + chi * rest))[()]
