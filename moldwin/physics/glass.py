"""Glass transition of mixtures: the rule the tool uses, and four others to hold beside it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction

__all__ = [
    "fox",
    "gordon_taylor",
    "kwei",
    "linear_heat_capacity",
    "logarithmic_heat_capacity",
]


def gordon_taylor(w: Any, tg: Any, k: Any, *, fitted: Range | None = None) -> Any:
    r"""Glass transition of a mixture that stays one phase (Gordon-Taylor, n components).

    .. math:: T_g = \frac{\sum_i k_i w_i T_{g,i}}{\sum_i k_i w_i}

    Parameters
    ----------
    w : float or array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    tg : float or array, shape (..., n)
        Glass transition of each pure component. [K]
    k : float or array, shape (..., n)
        Weight of each component, 1 for the polymer; fitted together with ``tg``. [-]
    fitted : Range, optional
        Range of the diluents' share behind ``k``; leaving it warns ``OutOfRangeWarning``. [kg/kg]

    Returns
    -------
    float or array, shape (...)
        Glass transition of the mixture. [K]

    Raises
    ------
    ValueError
        A fraction outside 0..1, fractions that do not sum to 1, or a temperature or weight
        not above 0.

    Notes
    -----
    Holds for one amorphous phase without ice: starch above about 27 % water freezes out ice on
    cooling and stays near -5 °C whatever is computed here. Granular starch reads about 40 K
    higher than the amorphous starch meant here. ``k`` is a fit: use it only with the end values
    and the convention (onset, midpoint) it came with, never in another rule of this file, and
    never divide two of them to get a third: k is not transitive.

    References
    ----------
    M. Gordon, J. S. Taylor, J. Appl. Chem. 2 (1952) 493, doi:10.1002/jctb.5010020901
    (DOI from memory).

    Examples
    --------
    >>> print(f"{gordon_taylor([0.9, 0.1], [523.15, 138.15], [1.0, 5.2]) - 273.15:.2f} °C")
    109.01 °C
    """
    w, tg = _mixture(w, tg)
    k = above_zero("k", k, "(relative to the polymer)")
    if fitted is not None:
        fitted.check("gordon_taylor", "diluent share", 1 - w[..., 0])
    weight = k * w
    return ((weight * tg).sum(-1) / weight.sum(-1))[()]


def linear_heat_capacity(w: Any, tg: Any, dcp: Any) -> Any:
    """Glass transition from heat-capacity steps, linear form.

    Parameters
    ----------
    w : float or array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    tg : float or array, shape (..., n)
        Glass transition of each pure component. [K]
    dcp : float or array, shape (..., n)
        Heat-capacity step of each pure component at its transition; any one unit. [J/g/K]

    Returns
    -------
    float or array, shape (...)
        Glass transition of the mixture. [K]

    Raises
    ------
    ValueError
        As for ``gordon_taylor``.

    Notes
    -----
    The same as Gordon-Taylor with k the ratio of the steps, and valid where that is. Often
    called Couchman-Karasz, as is the logarithmic form below: the two differ by some 50 K for
    starch and water, so steps never move between them.

    References
    ----------
    P. R. Couchman, F. E. Karasz, Macromolecules 11 (1978) 117 (from memory).

    Examples
    --------
    >>> tg = linear_heat_capacity([0.7, 0.2, 0.1], [500.0, 190.0, 136.0], [0.40, 0.97, 1.90])
    >>> print(f"{tg:.3f} K")
    305.271 K
    """
    return gordon_taylor(w, tg, above_zero("dcp", dcp, "J/g/K"))


def logarithmic_heat_capacity(w: Any, tg: Any, dcp: Any) -> Any:
    """Glass transition from heat-capacity steps, logarithmic form.

    Parameters
    ----------
    w : float or array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    tg : float or array, shape (..., n)
        Glass transition of each pure component, in kelvin. [K]
    dcp : float or array, shape (..., n)
        Heat-capacity step of each pure component at its transition; any one unit. [J/g/K]

    Returns
    -------
    float or array, shape (...)
        Glass transition of the mixture. [K]

    Raises
    ------
    ValueError
        As for ``gordon_taylor``.

    Notes
    -----
    The entropy argument with steps that do not change with temperature. For starch and water
    (5 to 20 % of it) it lands 47 to 62 K below the linear form with the same steps: a
    cross-check, never a source of parameters for the other. Needs kelvin.

    References
    ----------
    P. R. Couchman, F. E. Karasz, Macromolecules 11 (1978) 117 (from memory).

    Examples
    --------
    >>> tg = logarithmic_heat_capacity([0.7, 0.2, 0.1], [500.0, 190.0, 136.0], [0.40, 0.97, 1.90])
    >>> print(f"{tg:.3f} K")
    259.658 K
    """
    w, tg = _mixture(w, tg)
    weight = above_zero("dcp", dcp, "J/g/K") * w
    return np.exp((weight * np.log(tg)).sum(-1) / weight.sum(-1))[()]


def fox(w: Any, tg: Any) -> Any:
    """Glass transition without any fitted weight (Fox).

    Parameters
    ----------
    w : float or array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    tg : float or array, shape (..., n)
        Glass transition of each pure component, in kelvin. [K]

    Returns
    -------
    float or array, shape (...)
        Glass transition of the mixture. [K]

    Raises
    ------
    ValueError
        A fraction outside 0..1, fractions that do not sum to 1, or a temperature not above 0.

    Notes
    -----
    Gordon-Taylor with k the ratio of the transitions, which is a fair guess for components
    that mix without fuss; starch and water do not. A cross-check only. Needs kelvin.

    References
    ----------
    T. G. Fox, Bull. Am. Phys. Soc. 1 (1956) 123 (from memory).

    Examples
    --------
    >>> print(f"{fox([0.7, 0.2, 0.1], [500.0, 190.0, 136.0]):.3f} K")
    313.684 K
    """
    w, tg = _mixture(w, tg)
    return (1 / (w / tg).sum(-1))[()]


def kwei(w: Any, tg: Any, k: Any, q: Any) -> Any:
    """Glass transition of two components that attract or shun each other (Kwei).

    Parameters
    ----------
    w : float or array, shape (..., 2)
        Mass fraction of polymer and diluent; they sum to 1. [kg/kg]
    tg : float or array, shape (..., 2)
        Glass transition of each pure component. [K]
    k : float or array, shape (..., 2)
        Weight of each component, 1 for the polymer; fitted together with ``q``. [-]
    q : float or array, shape (...)
        Strength of the interaction; 0 gives Gordon-Taylor. [K]

    Returns
    -------
    float or array, shape (...)
        Glass transition of the mixture. [K]

    Raises
    ------
    ValueError
        As for ``gordon_taylor``, or another number of components than two.

    Notes
    -----
    Two components only. Use it with a published or fitted ``q`` together with the ``k`` of the
    same fit: the two trade off against each other.

    References
    ----------
    T. K. Kwei, J. Polym. Sci. Polym. Lett. Ed. 22 (1984) 307 (from memory).

    Examples
    --------
    >>> print(f"{kwei([0.9, 0.1], [523.15, 138.15], [1.0, 5.2], -50.0) - 273.15:.2f} °C")
    104.51 °C
    """
    w, tg = _mixture(w, tg)
    if w.shape[-1] != 2:
        raise ValueError(f"kwei mixes two components, got {w.shape[-1]}")
    q = np.asarray(q, dtype=float)
    return (gordon_taylor(w, tg, k) + q * w[..., 0] * w[..., 1])[()]


def _mixture(w: Any, tg: Any) -> tuple[Any, Any]:
    """Fractions and transitions as arrays, refused where no mixture has them."""
    w = fraction("w", w)
    if w.ndim == 0:
        raise ValueError(f"w needs one fraction a component on its last axis, got {w:g}")
    total = w.sum(-1)
    off = np.abs(total - 1) > 1e-3  # printed tables round their fractions
    if off.any():
        raise ValueError(
            f"the fractions w must sum to 1, got {np.asarray(total)[off].flat[0]:g}; "
            "is a component missing, or an inert filler left in the total?"
        )
    return w, above_zero("tg", tg, "K", "a temperature in °C? add 273.15")
