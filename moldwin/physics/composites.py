"""Fiber in a softer matrix: how much of the volume, how stiff, how strong."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside

__all__ = [
    "carried_share",
    "critical_length",
    "fiber_strength",
    "halpin_tsai",
    "random_in_plane",
    "volume_share",
]


def volume_share(mass_share: Any, fiber_density: Any, matrix_density: Any) -> Any:
    r"""Volume share of fiber from its mass share, without pores.

    .. math:: \phi = \frac{m/\rho_f}{m/\rho_f + (1-m)/\rho_m}

    Parameters
    ----------
    mass_share : float or array, shape (...)
        Fiber over the whole, as it lies in the part. [kg/kg]
    fiber_density, matrix_density : float or array, shape (...)
        Of the fiber's wall and of what surrounds it. [kg/m3]

    Returns
    -------
    float or array, shape (...)
        Volume share. [m3/m3]

    Raises
    ------
    ValueError
        A share outside 0 to 1, a density not above 0.

    Notes
    -----
    Volumes add. A hollow fiber that the melt does not fill takes more room than this.

    References
    ----------
    None: volumes add.

    Examples
    --------
    >>> print(f"{volume_share(0.2, 1500.0, 1400.0):.3f}")
    0.189
    """
    mass = fraction("mass_share", mass_share)
    fiber = mass / above_zero("fiber_density", fiber_density, "kg/m3")
    matrix = (1 - mass) / above_zero("matrix_density", matrix_density, "kg/m3")
    return (fiber / (fiber + matrix))[()]


def halpin_tsai(fiber_modulus: Any, matrix_modulus: Any, phi: Any, zeta: Any) -> Any:
    r"""Modulus of aligned fiber in a matrix, in one direction (Halpin-Tsai).

    .. math:: \frac{E}{E_m} = \frac{1 + \zeta \eta \phi}{1 - \eta \phi},\qquad
              \eta = \frac{E_f/E_m - 1}{E_f/E_m + \zeta}

    Parameters
    ----------
    fiber_modulus, matrix_modulus : float or array, shape (...)
        Of either. [Pa]
    phi : float or array, shape (...)
        Volume share of fiber. [m3/m3]
    zeta : float or array, shape (...)
        Shape: twice length over diameter along the fiber, 2 across it. [-]

    Returns
    -------
    float or array, shape (...)
        Modulus. [Pa]

    Raises
    ------
    ValueError
        A modulus not above 0, a share outside 0 to 1, a negative shape factor.

    Notes
    -----
    Perfect bond, straight fibers, no touching: a good guide up to about 0.4 by volume. Very long
    fiber gives the mean of the stiffnesses by volume, a shape factor of 0 that of the compliances.

    References
    ----------
    J. C. Halpin, J. L. Kardos, Polym. Eng. Sci. 16 (1976) 344 (from memory).

    Examples
    --------
    >>> print(f"{halpin_tsai(40e9, 1e9, 0.2, 40.0) / 1e9:.2f} GPa")
    5.43 GPa
    """
    fiber = above_zero("fiber_modulus", fiber_modulus, "Pa")
    matrix = above_zero("matrix_modulus", matrix_modulus, "Pa")
    phi = fraction("phi", phi)
    zeta = inside("zeta", zeta, 0.0, np.inf, "(shape factor)")
    ratio = fiber / matrix
    # written without eta, so that an endless fiber (zeta very large) loses no digits
    across = ratio + zeta - (ratio - 1) * phi
    return (matrix * (ratio + zeta + zeta * (ratio - 1) * phi) / across)[()]


def random_in_plane(along: Any, across: Any) -> Any:
    r"""Modulus of a sheet whose fibers lie in every direction of its plane.

    .. math:: E = \tfrac{3}{8} E_1 + \tfrac{5}{8} E_2

    Parameters
    ----------
    along, across : float or array, shape (...)
        Modulus of the same with aligned fiber, along it and across. [Pa]

    Returns
    -------
    float or array, shape (...)
        Modulus in any direction of the plane. [Pa]

    Raises
    ------
    ValueError
        A modulus not above 0.

    Notes
    -----
    For thin walls. Where the melt has combed the fiber along its flow the part is stiffer that way
    and softer across.

    References
    ----------
    S. W. Tsai, N. J. Pagano, in: Composite Materials Workshop (1968) (from memory).

    Examples
    --------
    >>> print(f"{random_in_plane(8e9, 2e9) / 1e9:.2f} GPa")
    4.25 GPa
    """
    along, across = above_zero("along", along, "Pa"), above_zero("across", across, "Pa")
    return (0.375 * along + 0.625 * across)[()]


def critical_length(fiber_strength: Any, diameter: Any, shear: Any) -> Any:
    r"""Shortest fiber that can be loaded until it breaks, before it pulls out.

    .. math:: l_c = \frac{\sigma_f d}{2 \tau}

    Parameters
    ----------
    fiber_strength : float or array, shape (...)
        Strength of the fiber. [Pa]
    diameter : float or array, shape (...)
        Of the fiber. [m]
    shear : float or array, shape (...)
        Shear stress that fiber and matrix hold between them. [Pa]

    Returns
    -------
    float or array, shape (...)
        Length. [m]

    Raises
    ------
    ValueError
        A value not above 0.

    Notes
    -----
    The same shear all along: a matrix that yields, or a bond that slips.

    References
    ----------
    A. Kelly, W. R. Tyson, J. Mech. Phys. Solids 13 (1965) 329 (from memory).

    Examples
    --------
    >>> print(f"{critical_length(600e6, 20e-6, 4e6) * 1e3:.1f} mm")
    1.5 mm
    """
    strength = above_zero("fiber_strength", fiber_strength, "Pa")
    diameter = above_zero("diameter", diameter, "m", "in mm? divide it by 1000")
    return (strength * diameter / (2 * above_zero("shear", shear, "Pa")))[()]


def carried_share(length: Any, critical: Any) -> Any:
    r"""Share of its strength that a fiber of one length lends to the part (Kelly-Tyson).

    .. math:: \frac{l}{2 l_c}\ (l < l_c), \qquad 1 - \frac{l_c}{2 l}\ (l \ge l_c)

    Parameters
    ----------
    length, critical : float or array, shape (...)
        Of the fiber, and its critical length. [m]

    Returns
    -------
    float or array, shape (...)
        0 for dust, 1/2 at the critical length, 1 for endless fiber. [-]

    Raises
    ------
    ValueError
        A length not above 0.

    Notes
    -----
    All fibers of one length; a mixture of lengths is the mean of this over their volumes.

    References
    ----------
    A. Kelly, W. R. Tyson, J. Mech. Phys. Solids 13 (1965) 329 (from memory).

    Examples
    --------
    >>> carried_share([0.5e-3, 1e-3, 4e-3], 1e-3).tolist()
    [0.25, 0.5, 0.875]
    """
    ratio = above_zero("length", length, "m") / above_zero("critical", critical, "m")
    return np.where(ratio < 1, ratio / 2, 1 - 1 / (2 * ratio))[()]


def fiber_strength(
    phi: Any, fiber_strength: Any, carried: Any, orientation: Any, matrix_strength: Any
) -> Any:
    r"""Strength of a part with short fiber: what fibers carry, and the rest of the matrix.

    .. math:: \sigma = \eta_0\, \phi\, \sigma_f\, c + (1 - \phi)\, \sigma_m

    Parameters
    ----------
    phi : float or array, shape (...)
        Volume share of fiber. [m3/m3]
    fiber_strength, matrix_strength : float or array, shape (...)
        Of fiber and of matrix. [Pa]
    carried : float or array, shape (...)
        Share of its strength a fiber lends, see `carried_share`. [-]
    orientation : float or array, shape (...)
        1 along aligned fiber, 3/8 at random in a plane, 1/5 in space. [-]

    Returns
    -------
    float or array, shape (...)
        Strength. [Pa]

    Raises
    ------
    ValueError
        A share outside 0 to 1, a strength not above 0.

    Notes
    -----
    The matrix is taken to be at its own strength when the fiber lets go, which flatters a matrix
    that stretches more than its fiber.

    References
    ----------
    A. Kelly, W. R. Tyson, J. Mech. Phys. Solids 13 (1965) 329; H. Krenchel, Fibre Reinforcement
    (1964) for the orientation (both from memory).

    Examples
    --------
    >>> print(f"{fiber_strength(0.2, 600e6, 0.5, 0.375, 10e6) / 1e6:.1f} MPa")
    30.5 MPa
    """
    phi = fraction("phi", phi)
    fiber = above_zero("fiber_strength", fiber_strength, "Pa") * fraction("carried", carried)
    matrix = above_zero("matrix_strength", matrix_strength, "Pa")
    return (fraction("orientation", orientation) * phi * fiber + (1 - phi) * matrix)[()]
