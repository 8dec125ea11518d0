"""How long a charge takes to heat through and a part to cool."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, inside, kelvin
from moldwin.physics._series import modes, time_to

__all__ = [
    "LOSS_COEFFICIENT",
    "cooling_time",
    "filling_heat_loss",
    "left_at_ejection",
    "tube_heat_loss",
]

_COMPARED = Range(0.0, 4.0, "-", "compared with the whole Graetz problem")
#: 3/5 of 1.849 times the cube root of 4.
LOSS_COEFFICIENT = 0.6 * 1.849 * 4.0 ** (1.0 / 3.0)
#: Taken for no time at all, so that its cube root can be divided by. [-]
_AT_ONCE = 1e-30
_SHAPES = {"plate": 1, "cylinder": 2, "bar": 1}


def cooling_time(
    shape: str, size: Any, diffusivity: Any, t_melt: Any, t_mold: Any, t_eject: Any, where: str
) -> Any:
    r"""Time until a part in its mold has cooled to the temperature at which it may leave.

    Parameters
    ----------
    shape : str
        ``"plate"`` (cooled from both faces), ``"cylinder"`` (long) or ``"bar"`` (long,
        rectangular). [-]
    size : float or array, shape (...), or (..., 2) for a bar
        Thickness of the plate, diameter of the cylinder, thickness and width of the bar. [m]
    diffusivity : float or array, shape (...)
        Thermal diffusivity of the part. [m2/s]
    t_melt, t_mold, t_eject : float or array, shape (...)
        Temperature at the start, of the wall, and to be reached. [K]
    where : str
        ``"mean"`` over the cross-section, or ``"center"``. [-]

    Returns
    -------
    float or array, shape (...)
        Time; 0 where the melt is no hotter than it may leave, infinite where the mold is not
        cold enough ever to get there. [s]

    Raises
    ------
    ValueError
        An unknown shape or place, a size or diffusivity not above 0, a temperature in °C.

    Notes
    -----
    The wall follows the mold at once (no gap, no film) and the diffusivity is constant. The whole
    series is used: the familiar one term is wrong for a mold only just colder than the melt.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), ch. 3 and 7.

    Examples
    --------
    >>> print(f"{cooling_time('plate', 2e-3, 1e-7, 423.15, 303.15, 333.15, 'center'):.1f} s")
    6.6 s
    """
    dimension = _known("shape", shape, _SHAPES)
    _known("where", where, {"mean": 0, "center": 0})
    size, alpha = above_zero("size", size, "m"), above_zero("diffusivity", diffusivity, "m2/s")
    series = modes(dimension, np.inf)
    parts: list[Any] = [(series, 1.0)]
    if shape == "bar":
        if size.ndim == 0 or size.shape[-1] != 2:
            raise ValueError("the size of a bar is thickness and width on the last axis")
        thickness, width = size[..., 0], size[..., 1]
        parts.append((series, (thickness / width) ** 2))
        size = thickness
    left = left_at_ejection(t_melt, t_mold, t_eject)
    return (time_to(parts, left, where) * (size / 2) ** 2 / alpha)[()]


def left_at_ejection(t_melt: Any, t_mold: Any, t_eject: Any) -> Any:
    """What a part may still have to lose when it leaves its mold, over all there is to lose.

    Parameters
    ----------
    t_melt, t_mold, t_eject : float or array, shape (...)
        Temperature at the start, of the mold, and to be reached. [K]

    Returns
    -------
    float or array, shape (...)
        1 where the melt is no hotter than it may leave, 0 or less where the mold is not cold
        enough ever to get there. [-]

    Raises
    ------
    ValueError
        A temperature in °C.

    Notes
    -----
    Cool enough already wins over never.

    Examples
    --------
    >>> print(f"{left_at_ejection(423.15, 303.15, 333.15):.2f}")
    0.25
    """
    t_melt, t_mold, t_eject = (
        kelvin(name, t)
        for name, t in (("t_melt", t_melt), ("t_mold", t_mold), ("t_eject", t_eject))
    )
    drop = t_melt - t_mold
    with np.errstate(divide="ignore", invalid="ignore"):
        left = np.where(t_eject >= t_melt, 1.0, np.where(drop > 0, (t_eject - t_mold) / drop, 0.0))
    return np.where(np.isnan(drop + t_eject), np.nan, left)[()]


def filling_heat_loss(fourier: Any, biot: Any = np.inf, *, check: bool = True) -> Any:
    r"""Share of its heat that melt has lost to the walls of a slot it is filling.

    .. math:: \varepsilon_0 = \frac35 \cdot 1.849 \cdot 4^{1/3} \, \mathrm{Fo}^{2/3}, \quad
              \varepsilon_c = \frac{\varepsilon_0}{1 + \varepsilon_0 / (\mathrm{Fo\,Bi})}, \quad
              \bar\varepsilon = \frac{\varepsilon_c}{\sqrt{1 + \varepsilon_c^2}}

    Parameters
    ----------
    fourier : float or array, shape (...)
        Diffusivity times filling time over thickness squared. [-]
    biot : float or array, shape (...), optional
        Contact at either wall times thickness over conductivity; perfect if left out. [-]
    check : bool, optional
        Warn above Fourier 4, up to which the form was compared with the whole problem. [-]

    Returns
    -------
    float or array, shape (...)
        Loss averaged over the filled length, over melt minus mold temperature. [-]

    Raises
    ------
    ValueError
        A negative Fourier or Biot number.

    Notes
    -----
    Lévêque's heat transfer to developed flow between plates, Nu = 1.849 Gz^(1/3), averaged over
    melt that has been under way for all times up to the filling time. Melt that stood still would
    lose 1.4 to 1.8 times as much: here the hot middle moves faster than the cold sides. Once the
    cooled layers meet, the loss bends over toward 1: the root is within about .02 of the whole
    Graetz problem solved numerically. The contact's resistance is added to that of the melt.

    References
    ----------
    R. K. Shah, A. L. London, Laminar Flow Forced Convection in Ducts (1978) (coefficient from
    memory).

    Examples
    --------
    >>> print(f"{filling_heat_loss(0.05):.2f} {filling_heat_loss(0.05, 20.0):.2f}")
    0.23 0.19
    """
    fourier = inside("fourier", fourier, 0.0, np.inf, "-")
    if check:
        _COMPARED.check("filling_heat_loss", "Fourier number", fourier)
    with np.errstate(divide="ignore"):  # where nothing touches nothing is lost
        contact = LOSS_COEFFICIENT / inside("biot", biot, 0.0, np.inf, "-")
    # both parts over Fo^(2/3), so that no time at all and perfect contact give no 0/0
    slowed = np.maximum(np.cbrt(fourier) + contact, np.finfo(float).tiny)
    thin = LOSS_COEFFICIENT * fourier / slowed
    return (thin / np.sqrt(1.0 + thin**2))[()]


def tube_heat_loss(fourier: Any, biot: Any = np.inf) -> Any:
    r"""Share of its heat that melt has lost to the wall when it leaves a round tube.

    .. math:: \varepsilon = 1 - \exp\left[-4\,\mathrm{Fo}
              \left(\frac{1}{\mathrm{Nu}} + \frac{1}{\mathrm{Bi}}\right)^{-1}\right], \quad
              \mathrm{Nu}^3 = 3.66^3 + 0.7^3 + (1.615\,\mathrm{Fo}^{-1/3} - 0.7)^3

    Parameters
    ----------
    fourier : float or array, shape (...)
        Diffusivity times the time in the tube over diameter squared. [-]
    biot : float or array, shape (...), optional
        Contact at the wall times diameter over conductivity; perfect if left out. [-]

    Returns
    -------
    float or array, shape (...)
        Loss at the end of the tube, over entrance minus wall temperature. [-]

    Raises
    ------
    ValueError
        A negative Fourier or Biot number.

    Notes
    -----
    Developed flow of one viscosity, at a steady rate, in a wall of one temperature: within .002 of
    the whole Graetz problem solved numerically, and within .015 of it from Biot 8 up. A
    shear-thinning melt moves faster near the wall: at an index of .4 it loses a tenth more.

    References
    ----------
    VDI Heat Atlas, 2nd ed. (2010), G1, mean Nusselt number (from memory).

    Examples
    --------
    >>> print(f"{tube_heat_loss(0.05):.2f} {tube_heat_loss(0.05, 20.0):.2f}")
    0.60 0.53
    """
    fourier = inside("fourier", fourier, 0.0, np.inf, "-")
    biot = inside("biot", biot, 0.0, np.inf, "-")
    inlet = 1.615 / np.cbrt(np.maximum(fourier, _AT_ONCE)) - 0.7
    nusselt = np.cbrt(3.66**3 + 0.7**3 + inlet**3)
    with np.errstate(divide="ignore"):  # where nothing touches nothing is lost
        resistance = 1.0 / nusselt + 1.0 / biot
    return -np.expm1(-4.0 * fourier / resistance)[()]


def _known(name: str, given: str, allowed: dict[str, int]) -> int:
    if given not in allowed:
        raise ValueError(f"{name} must be one of {', '.join(allowed)}, got {given!r}")
    return allowed[given]
