"""Melting of starch granules with water as the only diluent (Flory)."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import fraction

__all__ = ["granule_melting_point"]

_GAS_CONSTANT = 8.314462618
#: Molar volume of one anhydroglucose unit over that of water: 162 g/mol at 1.5 g/cm³, 18 at 1.0.
_VOLUME_RATIO = 6.0
_CHI = 0.5


def granule_melting_point(f_water: Any, dry_melting_point: Any, heat_of_fusion: Any) -> Any:
    r"""Temperature at which starch crystals melt beside water.

    .. math:: \frac{1}{T_m} = \frac{1}{T_m^0} + \frac{R}{\Delta H_u}\frac{V_u}{V_1}(f - \chi f^2)

    Parameters
    ----------
    f_water : float or array, shape (...)
        Volume fraction of water; glycerol does not count. [m³/m³]
    dry_melting_point : float or array, shape (...)
        Melting point of dry crystals. [K]
    heat_of_fusion : float or array, shape (...)
        Heat of fusion per mole of anhydroglucose. [J/mol]

    Returns
    -------
    float or array, shape (...)
        Melting point. [K]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or a melting point or heat not above 0.

    Notes
    -----
    No shear: a screw breaks granules 40 K earlier. The interaction parameter is 0.5 (assumed).

    References
    ----------
    P. J. Flory, Principles of Polymer Chemistry (1953), ch. XIII (from memory).

    Examples
    --------
    >>> print(f"{granule_melting_point(0.143, 465.0, 67500.0) - 273.15:.0f} °C")
    172 °C
    """
    f = fraction("f_water", f_water)
    dry_melting_point, heat_of_fusion = (
        np.asarray(a, dtype=float) for a in (dry_melting_point, heat_of_fusion)
    )
    if np.any(dry_melting_point <= 0) or np.any(heat_of_fusion <= 0):
        raise ValueError("dry_melting_point (K) and heat_of_fusion (J/mol) must be above 0")
    depression = _GAS_CONSTANT / heat_of_fusion * _VOLUME_RATIO * (f - _CHI * f**2)
    return (1.0 / (1.0 / dry_melting_point + depression))[()]
