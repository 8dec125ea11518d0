"""A wet sheet in air: what the air takes from it, and how water moves in it as it shrinks."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, inside, kelvin
from moldwin.physics.diffusion import dense_starch_diffusivity, vapor_diffusivity
from moldwin.physics.vapor import water_saturation_pressure

__all__ = [
    "convective_heat_transfer",
    "evaporation_flux",
    "gel_diffusivity",
    "shrinking_diffusivity",
    "surface_temperature",
    "volume_left",
]

_WATER_GAS_CONSTANT = 461.526  # J/kg/K
_AIR_GAS_CONSTANT = 287.05  # J/kg/K
_AIR_CP = 1006.0  # J/kg/K
#: Thermal diffusivity of air at 0 °C and one atmosphere, growing as vapor's does. [m2/s]
_AIR_DIFFUSIVITY, _AIR_GROWTH = 1.9e-5, 1.81
_STANDARD_PRESSURE = 101325.0
_AIR_T = Range(273.15, 363.15, "K", "latent heat of water by a straight line, from memory")
#: Moisture up to which the law of dense starch was measured, dry basis. [kg/kg]
_DENSE_UP_TO = 0.25
#: Self-diffusion of water: value at 25 °C and its activation (from memory). [m2/s, K]
_WATER_25, _WATER_ACTIVATION = 2.3e-9, 2250.0
#: Steps of Newton's method: the fourth is already below a microkelvin.
_ROUNDS = 6


def surface_temperature(
    t_air: Any, a_air: Any, a_surface: Any, film: Any, heat_transfer: Any, *, check: bool = True
) -> Any:
    r"""Temperature of an evaporating surface: the heat that comes in is the heat that leaves.

    .. math:: h\,(T_{air} - T_s) = L(T_s)\; \frac{k}{R_w T_{air}} \left[a_s\,p_{sat}(T_s)
              - a_{air}\,p_{sat}(T_{air})\right]

    Parameters
    ----------
    t_air : float or array, shape (...)
        Temperature of the air. [K]
    a_air : float or array, shape (...)
        Its relative humidity. [-]
    a_surface : float or array, shape (...)
        Water activity of the surface, 1 for a wet one. [-]
    film : float or array, shape (...)
        Transfer coefficient of vapor. [m/s]
    heat_transfer : float or array, shape (...)
        Of heat to the surface, by air, radiation and through the plate. [W/m2/K]
    check : bool, optional
        Warn outside 0 to 90 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Surface temperature, above the air's where it takes up water. [K]

    Raises
    ------
    ValueError
        A temperature in °C, a fraction outside 0..1, a coefficient not above 0.

    Notes
    -----
    Found by Newton's method, to 1e-6 K. With the heat of `convective_heat_transfer` alone this is
    the wet-bulb temperature. Steady: the heat stored in the sheet itself is left out.

    References
    ----------
    W. K. Lewis, Trans. ASME 44 (1922) 325 (from memory).

    Examples
    --------
    A wet sheet in a room of 21 °C and 50 %:

    >>> print(f"{surface_temperature(294.15, 0.5, 1.0, 0.005, 11.0) - 273.15:.1f} °C")
    16.1 °C
    """
    t_air, a_air, a_surface, film, heat = _surface(t_air, a_air, a_surface, film, heat_transfer)
    if check:
        _AIR_T.check("surface_temperature", "t_air", t_air)
    in_air, passes = a_air * _vapor(t_air), film / (_WATER_GAS_CONSTANT * t_air)
    t = t_air + 0.0 * (a_air + a_surface + film + heat)
    for _ in range(_ROUNDS):
        vapor, latent = a_surface * _vapor(t), _latent_heat(t)
        excess = latent * passes * (vapor - in_air) - heat * (t_air - t)
        # vapor pressure rises by the law of Clausius and Clapeyron
        slope = latent * passes * vapor * latent / (_WATER_GAS_CONSTANT * t**2) + heat
        t = t - excess / slope
    return t[()]


def evaporation_flux(
    t_air: Any, a_air: Any, a_surface: Any, film: Any, heat_transfer: Any, *, check: bool = True
) -> Any:
    """Water that leaves a surface which its own evaporation cools.

    Parameters
    ----------
    t_air : float or array, shape (...)
        Temperature of the air. [K]
    a_air : float or array, shape (...)
        Its relative humidity. [-]
    a_surface : float or array, shape (...)
        Water activity of the surface, 1 for a wet one. [-]
    film : float or array, shape (...)
        Transfer coefficient of vapor. [m/s]
    heat_transfer : float or array, shape (...)
        Of heat to the surface. [W/m2/K]
    check : bool, optional
        Warn outside 0 to 90 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Flux, below 0 where water is taken up. [kg/m2/s]

    Raises
    ------
    ValueError
        As in `surface_temperature`.

    Notes
    -----
    The drift of vapor through vapor is left out: 1 to 3 % at room temperature.

    References
    ----------
    W. K. Lewis, Trans. ASME 44 (1922) 325 (from memory).

    Examples
    --------
    Still air of a room takes about a tenth of a millimeter an hour:

    >>> print(f"{evaporation_flux(294.15, 0.5, 1.0, 0.005, 11.0) * 3.6e6:.0f} g/m2/h")
    78 g/m2/h
    """
    t = surface_temperature(t_air, a_air, a_surface, film, heat_transfer, check=check)
    t_air, a_air, a_surface, film, _ = _surface(t_air, a_air, a_surface, film, heat_transfer)
    passes = film / (_WATER_GAS_CONSTANT * t_air)
    return (passes * (a_surface * _vapor(t) - a_air * _vapor(t_air)))[()]


def convective_heat_transfer(film: Any, t: Any, pressure: Any = _STANDARD_PRESSURE) -> Any:
    r"""Heat that air brings to a surface, from the vapor it takes away.

    .. math:: h = k\, \rho\, c_p\, (\alpha / D)^{2/3}

    Parameters
    ----------
    film : float or array, shape (...)
        Transfer coefficient of vapor. [m/s]
    t : float or array, shape (...)
        Temperature of the air. [K]
    pressure : float or array, shape (...), optional
        Of the air. [Pa]

    Returns
    -------
    float or array, shape (...)
        Transfer coefficient of heat, without radiation. [W/m2/K]

    Raises
    ------
    ValueError
        A temperature in °C, a coefficient or pressure not above 0.

    Notes
    -----
    Same flow for both (Chilton and Colburn). Properties of dry air, from memory.

    References
    ----------
    T. H. Chilton, A. P. Colburn, Ind. Eng. Chem. 26 (1934) 1183 (from memory).

    Examples
    --------
    >>> print(f"{convective_heat_transfer(0.005, 294.15):.1f} W/m2/K")
    5.5 W/m2/K
    """
    film, t = above_zero("film", film, "m/s"), kelvin("t", t)
    pressure = above_zero("pressure", pressure, "Pa")
    alpha = _AIR_DIFFUSIVITY * (t / 273.15) ** _AIR_GROWTH * _STANDARD_PRESSURE / pressure
    lewis = alpha / vapor_diffusivity(t, pressure, check=False)
    return (film * pressure / (_AIR_GAS_CONSTANT * t) * _AIR_CP * lewis ** (2 / 3))[()]


def volume_left(x_from: Any, x_to: Any, density: Any, water_density: Any = 998.0) -> Any:
    r"""Volume after drying over volume before, of a gel without pores.

    .. math:: \frac{1 + x_2\,\rho/\rho_w}{1 + x_1\,\rho/\rho_w}

    Parameters
    ----------
    x_from, x_to : float or array, shape (...)
        Water before and after, dry basis. [kg/kg]
    density : float or array, shape (...)
        Of the dry solids, plasticizer included. [kg/m3]
    water_density : float or array, shape (...), optional
        Of the water that leaves. [kg/m3]

    Returns
    -------
    float or array, shape (...)
        Ratio; also that of the thicknesses of a sheet stuck to its plate. [-]

    Raises
    ------
    ValueError
        A negative moisture, a density not above 0.

    Notes
    -----
    Volumes add. A skin that turns to glass early leaves pores behind and shrinks less. A free body
    shrinks alike in all directions: see `moldwin.physics.shrinkage.linear_from_volume`.

    References
    ----------
    None: volumes add.

    Examples
    --------
    A gel of 80 % water, dried to a tenth:

    >>> print(f"{volume_left(4.0, 1 / 9, 1450.0):.2f}")
    0.17
    """
    x_from, x_to = (
        inside(name, x, 0.0, np.inf, "kg/kg dry basis")
        for name, x in (("x_from", x_from), ("x_to", x_to))
    )
    ratio = above_zero("density", density, "kg/m3") / above_zero(
        "water_density", water_density, "kg/m3"
    )
    return ((1 + x_to * ratio) / (1 + x_from * ratio))[()]


def gel_diffusivity(
    x: Any,
    t: Any,
    factor: Any = 1.0,
    free_factor: Any = 1.0,
    density: Any = 1500.0,
    *,
    check: bool = True,
) -> Any:
    r"""Diffusivity of water from a wet gel down to the dense solid it dries to.

    .. math:: \ln D = (1-s)\ln(f D_{dense}) + s \ln(f_w D_{water}),\qquad
              s = \frac{\varphi - \varphi_{0.25}}{1 - \varphi_{0.25}}

    Parameters
    ----------
    x : float or array, shape (...)
        Water, dry basis. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    factor : float or array, shape (...), optional
        What the dense material differs by from pasta. [-]
    free_factor : float or array, shape (...), optional
        The same for water itself. [-]
    density : float or array, shape (...), optional
        Of the dry solids. [kg/m3]
    check : bool, optional
        Warn outside the range of the measurements. [-]

    Returns
    -------
    float or array, shape (...)
        Diffusivity, with respect to a frame at rest. [m2/s]

    Raises
    ------
    ValueError
        A negative moisture, a temperature in °C, a factor or density not above 0.

    Notes
    -----
    Up to 0.25 kg/kg this is ``dense_starch_diffusivity``, the law that pellets are conditioned
    by; above it runs straight in the logarithm over the volume share of water to water's own
    self-diffusion (assumed: nothing is published for these gels). Drying kelp blades
    (1e-11 to 5e-10 m2/s) and starch gels (3e-11 to 3e-9) lie about it.

    References
    ----------
    V. T. Karathanos, G. K. Vagenas, G. D. Saravacos, Biotechnol. Prog. 7 (1991) 178.
    I. Tolstorebrov et al., Processes 12 (2024) 373.

    Examples
    --------
    A gel of 80 % water passes it some eighty times faster than the leather it turns into:

    >>> print(f"{gel_diffusivity(4.0, 313.15) / gel_diffusivity(0.25, 313.15):.0f}")
    81
    """
    x, t = inside("x", x, 0.0, np.inf, "kg/kg dry basis"), kelvin("t", t)
    factor = above_zero("factor", factor, "(a factor)")
    free = above_zero("free_factor", free_factor, "(a factor)")
    ratio = above_zero("density", density, "kg/m3") / 998.0
    dense = factor * dense_starch_diffusivity(np.minimum(x, _DENSE_UP_TO), t, check=check)
    water = free * _WATER_25 * np.exp(_WATER_ACTIVATION * (1 / 298.15 - 1 / t))
    least = _DENSE_UP_TO * ratio / (1 + _DENSE_UP_TO * ratio)
    share = np.maximum((x * ratio / (1 + x * ratio) - least) / (1 - least), 0.0)
    return (dense ** (1 - share) * water**share)[()]


def shrinking_diffusivity(d: Any, x: Any, density: Any, water_density: Any = 998.0) -> Any:
    r"""Diffusivity in a frame that shrinks with the solids.

    .. math:: D' = D \,/\, (1 + x\,\rho/\rho_w)^2

    Parameters
    ----------
    d : float or array, shape (...)
        Diffusivity at rest. [m2/s]
    x : float or array, shape (...)
        Water there, dry basis. [kg/kg]
    density : float or array, shape (...)
        Of the dry solids. [kg/m3]
    water_density : float or array, shape (...), optional
        Of water. [kg/m3]

    Returns
    -------
    float or array, shape (...)
        Diffusivity over depths counted in dry thickness. [m2/s]

    Raises
    ------
    ValueError
        A negative moisture, a diffusivity or density not above 0.

    Notes
    -----
    Exact for a sheet that shrinks in thickness only: depth is counted by the solids above it, and
    the sheet then has the thickness of its dry solids all the time.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 10 (from memory).

    Examples
    --------
    >>> print(f"{shrinking_diffusivity(7e-10, 4.0, 1500.0):.1e} m2/s")
    1.4e-11 m2/s
    """
    d, x = above_zero("d", d, "m2/s"), inside("x", x, 0.0, np.inf, "kg/kg dry basis")
    ratio = above_zero("density", density, "kg/m3") / above_zero(
        "water_density", water_density, "kg/m3"
    )
    return (d / (1 + x * ratio) ** 2)[()]


def _surface(t_air: Any, a_air: Any, a_surface: Any, film: Any, heat: Any) -> tuple[Any, ...]:
    return (
        kelvin("t_air", t_air),
        fraction("a_air", a_air),
        fraction("a_surface", a_surface),
        above_zero("film", film, "m/s"),
        above_zero("heat_transfer", heat, "W/m2/K"),
    )


def _vapor(t: Any) -> Any:
    """Saturation pressure, its own range left to the caller's. [Pa]"""
    return water_saturation_pressure(t, check=False)


def _latent_heat(t: Any) -> Any:
    """Heat of evaporation, a straight line from memory, good to 0.3 % from 0 to 90 °C. [J/kg]"""
    return 2.501e6 - 2.381e3 * (t - 273.15)
