"""How far a part fills when the pressure is too low, and what a short part says of the pressure."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import fraction, inside, power_law_index

__all__ = ["filled_share", "pressure_margin", "pressure_margin_slope"]

#: Less in front of the part than this is nothing, in lengths of the part.
_NO_NOZZLE = 1e-12


def pressure_margin(share: Any, n: Any, before: Any = 0.0) -> Any:
    r"""Pressure at hand over that for a full part, from how far the melt came.

    .. math:: \ln\frac{p}{p_{full}} = n \ln
              \frac{(x + \nu)^{(1+n)/n} - \nu^{(1+n)/n}}{(1 + \nu)^{(1+n)/n} - \nu^{(1+n)/n}}

    Parameters
    ----------
    share : float or array, shape (...)
        Filled share of the part's length, above 0. [-]
    n : float or array, shape (...)
        Power-law index. [-]
    before : float or array, shape (...)
        What the melt passes before the part (nozzle, gate), as so many lengths of the part that
        would need the same pressure. [-]

    Returns
    -------
    float or array, shape (...)
        Natural logarithm of the ratio: 0 for a part that is just full, below 0 for a short
        one. [-]

    Raises
    ------
    ValueError
        A share not in 0..1 or at 0, an index outside 0..1.5, a negative length.

    Notes
    -----
    Both parts are pushed for the same time at constant pressure. With the front at x the melt has
    passed nu + x lengths, p = c (nu + x) v^n, so (nu + x)^(1/n) dx = (p/c)^(1/n) dt; the integral
    to the same time gives the ratio. Without a nozzle it is (1 + n) ln x. One temperature and one
    cross-section all along; a melt that freezes on its way stops earlier.

    References
    ----------
    R. B. Bird, R. C. Armstrong, O. Hassager, Dynamics of Polymeric Liquids 1 (1987), ch. 4 (the
    pressure drop that is integrated).

    Examples
    --------
    >>> print(f"{pressure_margin(0.5, 0.4):.3f}")
    -0.970
    >>> print(f"{pressure_margin(0.5, 0.4, 100.0):.3f}")  # nearly all lost in the nozzle
    -0.280
    """
    share, n, before = _checked(share, n, before)
    power = (1.0 + n) / n
    return (n * (_ln_passed(share, power, before) - _ln_passed(1.0, power, before)))[()]


def pressure_margin_slope(share: Any, n: Any, before: Any = 0.0) -> Any:
    """How fast `pressure_margin` rises with the filled share.

    Parameters
    ----------
    share : float or array, shape (...)
        Filled share of the part's length, above 0. [-]
    n : float or array, shape (...)
        Power-law index. [-]
    before : float or array, shape (...)
        As in `pressure_margin`. [-]

    Returns
    -------
    float or array, shape (...)
        Rise of the logarithm per part length. [-]

    Raises
    ------
    ValueError
        As `pressure_margin`.

    Notes
    -----
    The derivative in closed form; without a nozzle (1 + n)/x.

    Examples
    --------
    >>> print(f"{pressure_margin_slope(0.5, 0.4):.2f}")
    2.80
    """
    share, n, before = _checked(share, n, before)
    power = (1.0 + n) / n
    ln_rate = np.log(power / before) + (power - 1.0) * np.log1p(share / before)
    return (n * np.exp(ln_rate - _ln_passed(share, power, before)))[()]


def filled_share(margin: Any, n: Any, before: Any = 0.0) -> Any:
    """How far the part fills at a pressure; the inverse of `pressure_margin`.

    Parameters
    ----------
    margin : float or array, shape (...)
        Natural logarithm of the pressure at hand over that for a full part. [-]
    n : float or array, shape (...)
        Power-law index. [-]
    before : float or array, shape (...)
        As in `pressure_margin`. [-]

    Returns
    -------
    float or array, shape (...)
        Filled share of the part's length, 1 where the pressure suffices. [-]

    Raises
    ------
    ValueError
        An index outside 0..1.5, a negative length.

    Notes
    -----
    As `pressure_margin`: pushed for the same time, at one temperature, without freezing.

    Examples
    --------
    >>> print(f"{filled_share(-0.97, 0.4):.2f} {filled_share(0.3, 0.4):.2f}")
    0.50 1.00
    """
    _, n, before = _checked(1.0, n, before)
    power = (1.0 + n) / n
    # an infinite need (solids that jam) fills nothing
    reached = np.minimum(np.asarray(margin, dtype=float), 0.0) / n
    with np.errstate(invalid="ignore"):  # NaN in gives NaN out, quietly
        way = np.logaddexp(0.0, reached + _ln_passed(1.0, power, before)) / power
    return np.minimum(before * np.expm1(way), 1.0)[()]


def _ln_passed(share: Any, power: Any, before: Any) -> Any:
    """ln of (x + nu)^a - nu^a over nu^a: nothing cancels and nothing overflows."""
    grown = power * np.log1p(share / before)
    return grown + np.log(-np.expm1(-grown))


def _checked(share: Any, n: Any, before: Any) -> tuple[Any, Any, Any]:
    share = fraction("share", share)
    if np.any(share == 0.0):
        raise ValueError("share must be above 0: where nothing came, no pressure can be told")
    before = inside("before", before, 0.0, np.inf, "(lengths of the part)")
    return share, power_law_index(n), np.maximum(before, _NO_NOZZLE)
