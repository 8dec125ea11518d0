"""A charge round a spreader: an annulus warmed from its outer wall."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import inside
from moldwin.physics.soaking import SlowMode

__all__ = ["annulus_mode"]

_HALVINGS = 50
_STEPS = 7


def annulus_mode(core: Any, biot: Any) -> SlowMode:
    r"""Slowest mode of a long annulus warmed through a resistance at its outer wall.

    .. math:: \phi(r) = J_0(\beta r) Y_1(\beta c) - Y_0(\beta r) J_1(\beta c), \qquad
              -\phi'(1) = \mathrm{Bi}\, \phi(1)

    Parameters
    ----------
    core : float or array, shape (...)
        c: radius of the spreader over that of the barrel. [-]
    biot : float or array, shape (...)
        Heat transfer coefficient times outer radius over conductivity; infinite is no resistance.
        [-]

    Returns
    -------
    SlowMode
        Root, and what is lacking at the spreader (the coldest place), on average, at the wall. [-]

    Raises
    ------
    ValueError
        A core outside 0 to under 1, or a Biot number not above 0.

    Notes
    -----
    No heat passes between charge and spreader: it is not heated, and takes none either. A spreader
    warmed through its fins shortens the wait, one that comes in cold lengthens it.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (1959), ch. 7 and 13 (from memory).

    Examples
    --------
    A thin layer is a plate heated from one side, root pi/2 over its thickness:

    >>> print(f"{annulus_mode(0.9, np.inf).root * 0.1:.2f} {np.pi / 2:.2f}")
    1.60 1.57
    """
    core = inside("core", core, 1e-6, 1.0 - 1e-6, "(radius of the spreader over the barrel's)")
    biot = np.asarray(biot, dtype=float)
    if np.any(biot <= 0):
        raise ValueError(f"biot must be above 0, got {np.min(biot):g}")
    resistance = 1.0 / biot
    perfect = _without_resistance(core)
    # right for a perfect wall, and for one that is all the resistance there is
    beta = 1.0 / np.sqrt(1.0 / perfect**2 + 0.5 * (1.0 - core**2) * resistance)
    before, value_before = 0.99 * beta, _at_wall(0.99 * beta, core, resistance)
    for _ in range(_STEPS):  # secant
        value = _at_wall(beta, core, resistance)
        slope = (value - value_before) / np.where(beta == before, 1.0, beta - before)
        step = np.where(slope == 0.0, 0.0, value / np.where(slope == 0.0, 1.0, slope))
        before, value_before = beta, value
        beta = beta - step
    phi, flux = _mode(beta, core)
    squares = 0.5 * (phi**2 + (flux / beta) ** 2 - core**2)
    center = flux / beta**2 / squares
    mean = center * 2.0 / (1.0 - core**2) * flux / beta**2
    return SlowMode(beta[()], center[()], mean[()], (center * phi)[()])


def _mode(beta: Any, core: Any) -> tuple[Any, Any]:
    """The mode at the wall and minus its slope there, scaled to 1 at the spreader."""
    from scipy import special  # only where there is a spreader: loading it takes long

    inner = beta * core
    j1, y1 = special.j1(inner), special.y1(inner)
    # J0 Y1 - Y0 J1 at the spreader itself is the Wronskian, -2 / (pi z)
    scale = -0.5 * np.pi * inner
    phi = scale * (special.j0(beta) * y1 - special.y0(beta) * j1)
    return phi, scale * beta * (special.j1(beta) * y1 - special.y1(beta) * j1)


def _at_wall(beta: Any, core: Any, resistance: Any) -> Any:
    """Zero at a root; finite with and without resistance."""
    phi, flux = _mode(beta, core)
    return phi - resistance * flux


def _without_resistance(core: Any) -> Any:
    """Root for a wall that the skin follows at once: the first zero of the mode at the wall."""
    low, high = np.full(np.shape(core), 1e-3), np.pi / (1.0 - core)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        positive = _mode(middle, core)[0] > 0.0
        low, high = np.where(positive, middle, low), np.where(positive, high, middle)
    return 0.5 * (low + high)
