"""How strong a molded part is, from how stiff it is."""

from __future__ import annotations

from typing import Any

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero

__all__ = ["strength_of_modulus"]

#: ln(7/3) over ln(70/10): strength 3 to 7 MPa while the modulus goes from 10 to 70 MPa.
_POWER = 0.4354
_AT = 10e6
_SEEN = Range(10e6, 70e6, "Pa", "van Soest 1996")


def strength_of_modulus(modulus: Any, at_10_mpa: Any = 3e6, *, check: bool = True) -> Any:
    r"""Tensile strength that goes with a modulus.

    .. math:: \sigma = \sigma_{10} \left(\frac{E}{10\,\mathrm{MPa}}\right)^{0.435}

    Parameters
    ----------
    modulus : float or array, shape (...)
        Of the part. [Pa]
    at_10_mpa : float or array, shape (...), optional
        Strength of a part with a modulus of 10 MPa. [Pa]
    check : bool, optional
        Warn outside 10 to 70 MPa. [-]

    Returns
    -------
    float or array, shape (...)
        Strength. [Pa]

    Raises
    ------
    ValueError
        A value not above 0.

    Notes
    -----
    Fixed by two published points of soft potato starch. Carried on to a glass of 1 to 2 GPa it
    gives 22 to 30 MPa, where dry ribbons broke at 25 to 40; a brittle part with a notch or a bubble
    breaks at any load below that. Parts of seaweed were four times weaker than this.

    References
    ----------
    J. J. G. van Soest and others, Carbohydr. Polym. 29 (1996) 225.

    Examples
    --------
    >>> print(f"{strength_of_modulus(70e6) / 1e6:.1f} MPa")
    7.0 MPa
    """
    ratio = above_zero("modulus", modulus, "Pa", "in MPa? multiply it by 1e6") / _AT
    if check:
        _SEEN.check("strength_of_modulus", "modulus", modulus)
    return (above_zero("at_10_mpa", at_10_mpa, "Pa") * ratio**_POWER)[()]
