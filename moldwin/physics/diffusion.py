"""Water moving through pellets and through the air above them."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics import _series
from moldwin.physics._checks import above_zero, inside, kelvin
from moldwin.physics.vapor import water_saturation_pressure

__all__ = [
    "dense_starch_diffusivity",
    "fourier_at",
    "roots",
    "still_air_conductance",
    "unaccomplished",
    "unaccomplished_cylinder",
    "vapor_diffusivity",
]

_WATER_GAS_CONSTANT = 461.526  # J/kg/K
_PASTA_T = Range(313.15, 393.15, "K", "Litchfield & Okos 1992, range from memory")
_PASTA_X = Range(0.0, 0.27, "kg/kg", "Litchfield & Okos 1992, range from memory")
_VAPOR_T = Range(253.15, 373.15, "K", "Massman 1998, range from memory")


def roots(shape: str, biot: Any, count: int) -> Any:
    r"""First roots of the surface condition of a body with resistance at its surface.

    .. math:: \beta\tan\beta = Bi,\qquad \beta J_1(\beta) = Bi\,J_0(\beta),\qquad
              \beta\cot\beta + Bi - 1 = 0

    Parameters
    ----------
    shape : str
        ``"slab"``, ``"cylinder"`` or ``"sphere"``. [-]
    biot : float or array, shape (...)
        Biot number on half-thickness or radius; infinite is a surface without resistance. [-]
    count : int
        How many. [-]

    Returns
    -------
    array, shape (..., count)
        Roots, smallest first. [-]

    Raises
    ------
    ValueError
        An unknown shape, a Biot number not above 0, a count below 1.

    Notes
    -----
    Good to 1e-12 for Biot numbers above 1e-8.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 4 to 6.

    Examples
    --------
    >>> roots("slab", 1.0, 2).round(4)
    array([0.8603, 3.4256])
    """
    if count < 1:
        raise ValueError(f"count must be at least 1, got {count}")
    return _series.roots(_dimension(shape), _biot("biot", biot), count)


def unaccomplished(shape: str, fourier: Any, biot: Any = np.inf, where: str = "mean") -> Any:
    """Share of the change still to come, in a body whose surroundings changed at once.

    Parameters
    ----------
    shape : str
        ``"slab"`` (both faces), ``"cylinder"`` (long) or ``"sphere"``. [-]
    fourier : float or array, shape (...)
        D t / l², l the half-thickness or radius. [-]
    biot : float or array, shape (...), optional
        Biot number on the same length. [-]
    where : str, optional
        ``"mean"`` over the body, or ``"center"``. [-]

    Returns
    -------
    float or array, shape (...)
        1 at the start, 0 at the end. [-]

    Raises
    ------
    ValueError
        An unknown shape or place, a negative Fourier number, a Biot number not above 0.

    Notes
    -----
    Constant diffusivity. Right to 1e-9 at every Fourier number: below .02 a short-time form
    replaces the long series, which would need hundreds of terms there.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 4 to 6.

    Examples
    --------
    Half of a slab's uptake is done at D t / thickness² = .0492:

    >>> print(f"{unaccomplished('slab', 4 * 0.049183):.4f}")
    0.5000
    """
    part = _series.modes(_dimension(shape), _biot("biot", biot))
    return _series.remaining(part, _fourier(fourier), _where(where))[()]


def unaccomplished_cylinder(
    fourier_radius: Any,
    fourier_half_length: Any,
    biot_radius: Any = np.inf,
    biot_length: Any = np.inf,
) -> Any:
    """Share of the change still to come in a short cylinder: its mean over the body.

    Parameters
    ----------
    fourier_radius, fourier_half_length : float or array, shape (...)
        D t over the square of radius and of half the length. [-]
    biot_radius, biot_length : float or array, shape (...), optional
        Biot number on the radius, and on half the length. [-]

    Returns
    -------
    float or array, shape (...)
        1 at the start, 0 at the end. [-]

    Raises
    ------
    ValueError
        A negative Fourier number, a Biot number not above 0.

    Notes
    -----
    Exact: the product of long cylinder and slab.

    References
    ----------
    A. B. Newman, Ind. Eng. Chem. 28 (1936) 545.

    Examples
    --------
    >>> print(f"{unaccomplished_cylinder(0.1, 0.1):.4f}")
    0.2535
    """
    around = unaccomplished("cylinder", fourier_radius, biot_radius)
    along = unaccomplished("slab", fourier_half_length, biot_length)
    return (np.asarray(around) * along)[()]


def fourier_at(shape: str, left: Any, biot: Any = np.inf, aspect: Any = None) -> Any:
    """Fourier number at which a share of the change is still to come.

    Parameters
    ----------
    shape : str
        ``"slab"``, ``"cylinder"``, ``"sphere"`` or ``"finite-cylinder"``. [-]
    left : float or array, shape (...)
        Mean share still to come: .5, .1, .01 for 50, 90, 99 % done. [-]
    biot : float or array, shape (...), optional
        Biot number on half-thickness or radius. [-]
    aspect : float or array, shape (...), optional
        Half-length over radius; for the finite cylinder only. [-]

    Returns
    -------
    float or array, shape (...)
        D t / l², l the half-thickness or radius; 0 for ``left`` = 1, infinite for 0. [-]

    Raises
    ------
    ValueError
        A share outside 0..1, a Biot number not above 0, an aspect missing or not called for.

    Notes
    -----
    Inverse of `unaccomplished` and `unaccomplished_cylinder`, to rounding. The ends of a finite
    cylinder have the same resistance as its side.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 4 to 6.

    Examples
    --------
    >>> (fourier_at("slab", [0.5, 0.1, 0.01]) / 4).round(6)
    array([0.049183, 0.212021, 0.445322])
    """
    left, biot = inside("left", left, 0.0, 1.0, "(share still to come)"), _biot("biot", biot)
    if (shape == "finite-cylinder") != (aspect is not None):
        raise ValueError('aspect belongs to the shape "finite-cylinder", which needs it')
    if shape != "finite-cylinder":
        parts: list[Any] = [(_series.modes(_dimension(shape), biot), 1.0)]
    else:
        aspect = above_zero("aspect", aspect, "(half-length over radius)")
        parts = [
            (_series.modes(2, biot), 1.0),
            (_series.modes(1, (biot * aspect)[()]), aspect**-2.0),
        ]
    return _series.time_to(parts, left, "mean")[()]


def dense_starch_diffusivity(x: Any, t: Any, *, check: bool = True) -> Any:
    r"""Diffusivity of water in dense starch, as measured on drying pasta.

    .. math:: D = 2.392\times10^{-7} e^{-3156.3/T}
              \left[1 - e^{-7.9082\times10^{14} x^{15.706}} + x^{0.68589}\right]

    Parameters
    ----------
    x : float or array, shape (...)
        Water, dry basis. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn outside the range of the measurements. [-]

    Returns
    -------
    float or array, shape (...)
        Diffusivity. [m2/s]

    Raises
    ------
    ValueError
        A negative moisture, a temperature in °C.

    Notes
    -----
    The nearest published thing to a dense starch pellet; none is published for plasticized starch,
    which may differ by a factor 10 either way (assumed). Room temperature is an extrapolation.

    References
    ----------
    J. B. Litchfield, M. R. Okos, J. Food Eng. 17 (1992) 117 (constants read from a public code
    file; journal from memory).

    Examples
    --------
    >>> print(f"{dense_starch_diffusivity(0.10, 333.15):.1e} m2/s")
    6.4e-12 m2/s
    """
    x, t = inside("x", x, 0.0, np.inf, "kg/kg dry basis"), kelvin("t", t)
    if check:
        _PASTA_X.check("dense_starch_diffusivity", "x", x)
        _PASTA_T.check("dense_starch_diffusivity", "t", t)
    shape = -np.expm1(-7.9082e14 * x**15.706) + x**0.68589
    return (2.392e-7 * np.exp(-3156.3 / t) * shape)[()]


def vapor_diffusivity(t: Any, pressure: Any = 101325.0, *, check: bool = True) -> Any:
    r"""Diffusivity of water vapor in air.

    .. math:: D = 0.2178\times10^{-4} (T/273.15)^{1.81} (101325/p)

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature. [K]
    pressure : float or array, shape (...), optional
        Air pressure. [Pa]
    check : bool, optional
        Warn outside -20 to 100 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Diffusivity. [m2/s]

    Raises
    ------
    ValueError
        A temperature in °C, a pressure not above 0.

    Notes
    -----
    About 7 % uncertain (from memory); still air only.

    References
    ----------
    W. J. Massman, Atmos. Environ. 32 (1998) 1111.

    Examples
    --------
    >>> print(f"{vapor_diffusivity(298.15):.2e} m2/s")
    2.55e-05 m2/s
    """
    t, pressure = kelvin("t", t), above_zero("pressure", pressure, "Pa")
    if check:
        _VAPOR_T.check("vapor_diffusivity", "t", t)
    return (0.2178e-4 * (t / 273.15) ** 1.81 * 101325.0 / pressure)[()]


def still_air_conductance(
    area: Any, gap: Any, t: Any, pressure: Any = 101325.0, *, check: bool = True
) -> Any:
    r"""Water passing a layer of still air, per unit difference of water activity.

    .. math:: \frac{A}{g} D_{air} \frac{p_{sat}(T)}{R_w T}

    Parameters
    ----------
    area : float or array, shape (...)
        Of the slurry or bed, the smaller of the two. [m2]
    gap : float or array, shape (...)
        Height of the air between them. [m]
    t : float or array, shape (...)
        Temperature. [K]
    pressure : float or array, shape (...), optional
        Air pressure. [Pa]
    check : bool, optional
        Warn outside -20 to 100 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Conductance. [kg/s]

    Raises
    ------
    ValueError
        An area or gap not above 0, a temperature in °C or above the critical point of water.

    Notes
    -----
    One temperature throughout. Moist air is lighter than dry: above a slurry it may convect and
    pass up to 2.2 times as much (assumed). The drift of vapor through vapor (1 to 3 % at room
    temperature) is left out.

    References
    ----------
    W. J. Massman, Atmos. Environ. 32 (1998) 1111.

    Examples
    --------
    >>> print(f"{still_air_conductance(60e-4, 0.05, 298.15) * 86400e3:.1f} g/day")
    6.1 g/day
    """
    area, gap = above_zero("area", area, "m2"), above_zero("gap", gap, "m")
    air = vapor_diffusivity(t, pressure, check=False)
    if check:
        _VAPOR_T.check("still_air_conductance", "t", t)
    vapor = water_saturation_pressure(t, check=False) / (_WATER_GAS_CONSTANT * np.asarray(t, float))
    return (area / gap * air * vapor)[()]


def _dimension(shape: str) -> int:
    if shape not in _series.DIMENSION:
        raise ValueError(f"shape must be one of {', '.join(_series.DIMENSION)}, got {shape!r}")
    return _series.DIMENSION[shape]


def _where(where: str) -> str:
    if where not in ("mean", "center"):
        raise ValueError(f"where must be mean or center, got {where!r}")
    return where


def _fourier(fourier: Any) -> Any:
    return inside("fourier", fourier, 0.0, np.inf, "(Fourier number)")


def _biot(name: str, biot: Any) -> Any:
    """Biot numbers above 0; unlike other inputs they may be infinite."""
    biot = np.asarray(biot, float)
    if np.any(biot <= 0):
        raise ValueError(f"{name} must be above 0, got {biot.min():g}; 0 would be a sealed surface")
    return biot[()]
