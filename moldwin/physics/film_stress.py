"""A sheet that its plate keeps from shrinking: its stress, when it tears or lets go, its curl."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside

__all__ = [
    "channel_crack_thickness",
    "curl_curvature",
    "edge_lift",
    "hindered_stress",
    "lets_go_thickness",
    "network_value",
    "skin_pull",
]

_POISSON = 0.45


def network_value(share: Any, share_wet: Any, wet: Any, share_dense: Any, dense: Any) -> Any:
    r"""A property of a swollen network between two known ends: a power of its volume share.

    .. math:: E = E_1 (\varphi/\varphi_1)^n,\qquad n = \ln(E_2/E_1) / \ln(\varphi_2/\varphi_1)

    Parameters
    ----------
    share : float or array, shape (...)
        Volume share of what does not flow. [-]
    share_wet, share_dense : float or array, shape (...)
        Where the two ends were measured. [-]
    wet, dense : float or array, shape (...)
        The property there. [any]

    Returns
    -------
    float or array, shape (...)
        The property; constant beyond the dense end. [any]

    Raises
    ------
    ValueError
        A share outside 0..1, a property not above 0, ends in the wrong order.

    Notes
    -----
    Modulus and tearing energy of gels are powers of the concentration; that one power serves from
    a kitchen gel to leather is assumed.

    References
    ----------
    P.-G. de Gennes, Scaling Concepts in Polymer Physics (1979), ch. 5 (from memory).

    Examples
    --------
    >>> print(f"{network_value(0.2, 0.1, 5e3, 0.8, 5e3 * 8**3):.0f} Pa")
    40000 Pa
    """
    share, low, high = (
        fraction(name, value)
        for name, value in (
            ("share", share),
            ("share_wet", share_wet),
            ("share_dense", share_dense),
        )
    )
    if np.any(low >= high) or np.any(low <= 0):
        raise ValueError("share_wet must be above 0 and below share_dense; are they swapped?")
    wet, dense = above_zero("wet", wet, "(any unit)"), above_zero("dense", dense, "(any unit)")
    power = np.log(dense / wet) / np.log(high / low)
    return (wet * (np.minimum(share, high) / low) ** power)[()]


def hindered_stress(strain: Any, modulus: Any, poisson: Any = _POISSON, *, kept: Any = 1.0) -> Any:
    r"""Stress in the plane of a sheet whose shrinkage its plate prevents, step by step.

    .. math:: \sigma = r \int \frac{E}{1-\nu}\,d\varepsilon

    Parameters
    ----------
    strain : array, shape (n, ...)
        Shrinkage prevented so far, linear, rising along the first axis. [-]
    modulus : array, shape (n, ...)
        Modulus on the way. [Pa]
    poisson : float or array, optional
        Poisson's ratio. [-]
    kept : float or array, shape (...), optional
        Share of it that relaxation leaves. [-]

    Returns
    -------
    array, shape (n, ...)
        Stress, 0 at the first step. [Pa]

    Raises
    ------
    ValueError
        A modulus not above 0, a share outside 0..1, a Poisson's ratio outside 0..0.5, a strain that
        falls.

    Notes
    -----
    Each step is carried by the stiffness of its own moisture: what shrank while soft stays without
    stress when it stiffens. Trapezoids.

    References
    ----------
    S. G. Croll, J. Appl. Polym. Sci. 23 (1979) 847 (from memory).

    Examples
    --------
    Two percent, as a glass of 2 GPa:

    >>> print(hindered_stress([0.0, 0.02], [2e9, 2e9], 0.5) / 1e6)
    [ 0. 80.]
    """
    strain = inside("strain", strain, 0.0, np.inf, "(a share)")
    modulus = above_zero("modulus", modulus, "Pa")
    if np.any(np.diff(strain, axis=0) < -1e-12):
        raise ValueError("strain must rise along its first axis")
    poisson = inside("poisson", poisson, 0.0, 0.5, "(Poisson's ratio)")
    steps = np.diff(strain, axis=0) * (modulus[1:] + modulus[:-1]) / 2
    total = np.concatenate([np.zeros((1, *steps.shape[1:])), np.cumsum(steps, axis=0)])
    return (fraction("kept", kept) / (1 - poisson) * total)[()]


def channel_crack_thickness(
    toughness: Any, modulus: Any, stress: Any, shape: Any = 1.976, poisson: Any = _POISSON
) -> Any:
    r"""Thickness above which a crack runs through a stretched sheet on its plate.

    .. math:: h_c = \frac{G_c\,E}{(1-\nu^2)\,Z\,\sigma^2}

    Parameters
    ----------
    toughness : float or array, shape (...)
        Energy a crack takes. [J/m2]
    modulus : float or array, shape (...)
        Of the sheet. [Pa]
    stress : float or array, shape (...)
        In its plane. [Pa]
    shape : float or array, shape (...), optional
        Z: 1.976 for a long channel and a plate as stiff as the sheet, 3.951 for a scratch. [-]
    poisson : float or array, optional
        Poisson's ratio. [-]

    Returns
    -------
    float or array, shape (...)
        Thickness; infinite without stress. [m]

    Raises
    ------
    ValueError
        A toughness, modulus or shape not above 0, a negative stress.

    Notes
    -----
    Linear elastic: the order of magnitude for leather, which yields at the tip of its cracks. On a
    rigid plate Z falls toward 1.2 (from memory).

    References
    ----------
    J. W. Hutchinson, Z. Suo, Adv. Appl. Mech. 29 (1992) 63 (from memory).

    Examples
    --------
    A glassy sheet of 2 GPa under 20 MPa:

    >>> print(f"{1e3 * channel_crack_thickness(500.0, 2e9, 2e7):.1f} mm")
    1.6 mm
    """
    toughness = above_zero("toughness", toughness, "J/m2")
    modulus, shape = above_zero("modulus", modulus, "Pa"), above_zero("shape", shape, "(a factor)")
    stress = inside("stress", stress, 0.0, np.inf, "Pa")
    poisson = inside("poisson", poisson, 0.0, 0.5, "(Poisson's ratio)")
    with np.errstate(divide="ignore"):
        return (toughness * modulus / ((1 - poisson**2) * shape * stress**2))[()]


def skin_pull(skin_modulus: Any, body_modulus: Any) -> Any:
    r"""How much more energy a crack in a stiff skin sets free than one in an even sheet.

    .. math:: \sqrt{E_{skin}/E_{body}}

    Parameters
    ----------
    skin_modulus : float or array, shape (...)
        Of the face that dries first. [Pa]
    body_modulus : float or array, shape (...)
        Of what lies below it, between skin and plate. [Pa]

    Returns
    -------
    float or array, shape (...)
        Factor on ``shape`` in `channel_crack_thickness`, 1 where the body is as stiff. [-]

    Raises
    ------
    ValueError
        A modulus not above 0.

    Notes
    -----
    A crack opens wider where what lies below gives way. The square root follows the exact numbers
    for a film on a deep body to about 30 % up to a ratio of 200 (from memory); at a plate that is
    near, it is the larger end.

    References
    ----------
    J. L. Beuth, Int. J. Solids Struct. 29 (1992) 1657 (from memory).

    Examples
    --------
    >>> print(skin_pull(4e6, 1e6))
    2.0
    """
    skin = above_zero("skin_modulus", skin_modulus, "Pa")
    body = above_zero("body_modulus", body_modulus, "Pa")
    return np.maximum(np.sqrt(skin / body), 1.0)[()]


def lets_go_thickness(adhesion: Any, modulus: Any, stress: Any, poisson: Any = _POISSON) -> Any:
    r"""Thickness above which a stretched sheet lets go of its plate, from the edges inward.

    .. math:: h = \frac{\Gamma\,E}{(1-\nu)\,\sigma^2}

    Parameters
    ----------
    adhesion : float or array, shape (...)
        Energy it takes to part sheet and plate. [J/m2]
    modulus : float or array, shape (...)
        Of the sheet. [Pa]
    stress : float or array, shape (...)
        In its plane, alike in all directions. [Pa]
    poisson : float or array, optional
        Poisson's ratio. [-]

    Returns
    -------
    float or array, shape (...)
        Thickness; infinite without stress. [m]

    Raises
    ------
    ValueError
        An adhesion or modulus not above 0, a negative stress.

    Notes
    -----
    All the elastic energy of the sheet is set free as it lets go.

    References
    ----------
    J. W. Hutchinson, Z. Suo, Adv. Appl. Mech. 29 (1992) 63 (from memory).

    Examples
    --------
    >>> print(f"{1e3 * lets_go_thickness(20.0, 1e8, 1e6):.1f} mm")
    3.6 mm
    """
    adhesion = above_zero("adhesion", adhesion, "J/m2")
    modulus = above_zero("modulus", modulus, "Pa")
    stress = inside("stress", stress, 0.0, np.inf, "Pa")
    poisson = inside("poisson", poisson, 0.0, 0.5, "(Poisson's ratio)")
    with np.errstate(divide="ignore"):
        return (adhesion * modulus / ((1 - poisson) * stress**2))[()]


def curl_curvature(strain_difference: Any, thickness: Any) -> Any:
    r"""Curvature of a free sheet one face of which has shrunk more than the other.

    .. math:: \kappa = \Delta\varepsilon / h

    Parameters
    ----------
    strain_difference : float or array, shape (...)
        Linear shrinkage of the drier face less that of the wetter. [-]
    thickness : float or array, shape (...)
        Of the sheet. [m]

    Returns
    -------
    float or array, shape (...)
        Curvature, toward the drier face. [1/m]

    Raises
    ------
    ValueError
        A thickness not above 0.

    Notes
    -----
    Straight profile across the thickness, one stiffness throughout.

    References
    ----------
    S. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233 (from memory).

    Examples
    --------
    >>> print(f"{curl_curvature(0.01, 1e-3):.0f} 1/m")
    10 1/m
    """
    thickness = above_zero("thickness", thickness, "m")
    return (np.asarray(strain_difference, dtype=float) / thickness)[()]


def edge_lift(curvature: Any, width: Any) -> Any:
    """How far the edges of a curled sheet stand above its middle.

    Parameters
    ----------
    curvature : float or array, shape (...)
        Of the sheet. [1/m]
    width : float or array, shape (...)
        Of the sheet, along the arc. [m]

    Returns
    -------
    float or array, shape (...)
        Height; as of a half roll where it curls further. [m]

    Raises
    ------
    ValueError
        A width not above 0.

    Notes
    -----
    An arc of a circle; its own weight would press it flatter.

    References
    ----------
    None: geometry.

    Examples
    --------
    >>> print(f"{1e3 * edge_lift(2.0, 0.1):.1f} mm")
    2.5 mm
    """
    width = above_zero("width", width, "m")
    bend = np.maximum(np.abs(np.asarray(curvature, dtype=float)), 1e-9)
    angle = np.minimum(bend * width / 2, np.pi / 2)
    return ((1 - np.cos(angle)) / bend)[()]
