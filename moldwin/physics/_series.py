"""Transient diffusion in slab, cylinder and sphere: the one series behind water and heat.

Fourier numbers are on the half-thickness or radius. The body starts at 1 and its surroundings are
at 0; the surface either follows them at once (Biot infinite) or through a resistance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

__all__: list[str] = []

DIMENSION = {"slab": 1, "cylinder": 2, "sphere": 3}
_COUNT = 20
#: Values summed at once.
_BLOCK = 8192
# Below these the long series needs many terms. The mean then has a short-time form; the center
# has not felt the surface yet (off by less than 1e-12).
_SHORT = {"mean": 0.02, "center": 0.008}
#: Zeros of J0 and J1 there, as scipy.special gives them (a test compares): a charge warmed from its
#: wall needs no more, and the library takes longer to load than a whole answer to compute.
_J0_ROOTS = (
    2.4048255576957724,
    5.520078110286311,
    8.653727912911013,
    11.791534439014281,
    14.930917708487787,
    18.071063967910924,
    21.21163662987926,
    24.352471530749302,
    27.493479132040253,
    30.634606468431976,
    33.77582021357357,
    36.917098353664045,
    40.05842576462824,
    43.19979171317673,
    46.341188371661815,
    49.482609897397815,
    52.624051841115,
    55.76551075501998,
    58.90698392608094,
    62.048469190227166,
)
_J1_THERE = (
    0.5191474972894669,
    -0.34026480655836827,
    0.271452299928382,
    -0.23245983136472478,
    0.20654643307799597,
    -0.18772880304043946,
    0.17326589422922983,
    -0.16170155068925002,
    0.15218121377059457,
    -0.14416597768637315,
    0.13729694340850299,
    -0.13132462666866793,
    0.12606949712727342,
    -0.12139862477175016,
    0.11721119889066538,
    -0.11342919261642984,
    0.10999114304627802,
    -0.10684788825471286,
    0.1039595728693621,
    -0.1012934989339433,
)


@dataclass(frozen=True)
class Modes:
    """Decay rates and amplitudes of the series, slowest first, shape (..., 20)."""

    dimension: int
    biot: Any
    rate: Any
    mean: Any
    center: Any

    def amplitude(self, where: str) -> Any:
        return self.mean if where == "mean" else self.center


def roots(dimension: int, biot: Any, count: int) -> Any:
    """First roots of beta F1(beta) = Bi F0(beta), shape (..., count), by safeguarded Newton.

    (F0, F1) are (cos, sin), (J0, J1) and the spherical (j0, j1): the textbook's
    beta tan beta = Bi, beta J1 = Bi J0 and beta cot beta + Bi - 1 = 0 in one form without poles.
    """
    biot = np.asarray(biot, float)[..., None]
    low, high = _brackets(dimension, count)
    insulated = np.isinf(biot)
    if insulated.all():
        return np.broadcast_to(high, (*biot.shape[:-1], count)).copy()
    # The equation divided by 1 + Bi stays finite at both ends.
    finite = np.where(insulated, 1.0, biot)
    conduct = np.where(insulated, 1.0, finite / (1 + finite))
    resist = np.where(insulated, 0.0, 1 / (1 + finite))
    low, high = (np.broadcast_to(a, (*biot.shape[:-1], count)).copy() for a in (low, high))
    beta = low + (high - low) * np.where(insulated, 1.0, finite / (finite + high))
    first = np.sqrt(dimension * conduct / (resist + dimension * conduct / high[..., :1] ** 2))
    beta[..., :1] = first
    sign = (-1.0) ** np.arange(count)  # makes every branch rise through its root
    for _ in range(60):
        f0, f1 = _waves(dimension, beta)
        value = sign * (resist * beta * f1 - conduct * f0)
        slope = sign * (resist * (beta * f0 + (2 - dimension) * f1) + conduct * f1)
        low, high = np.where(value < 0, beta, low), np.where(value > 0, beta, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = beta - value / slope
        trusted = (newton >= low) & (newton <= high)
        new = np.where(trusted, newton, (low + high) / 2)
        moved = np.abs(new - beta)
        beta = new
        if not np.any(moved > 4e-15 * beta):
            break
    return np.where(np.isnan(biot), np.nan, beta)


def modes(dimension: int, biot: Any) -> Modes:
    """The series for one shape and Biot number (scalar or array)."""
    if np.ndim(biot) == 0 and np.isinf(biot):
        return _modes_without_resistance(dimension)
    return _modes(dimension, biot)


def survival(parts: Sequence[tuple[Modes, Any]], fourier: Any, where: str) -> tuple[Any, Any]:
    """What is left of the start, and its slope: product over ``parts`` of (modes, scale).

    A finite cylinder or a bar is a product of two shapes, each with its own Fourier number
    ``scale * fourier``.
    """
    left, slope_of_log = 1.0, 0.0
    for part, scale in parts:
        theta, slope = _one(part, np.asarray(fourier, float) * scale, where)
        left = left * theta
        with np.errstate(divide="ignore", invalid="ignore"):
            slope_of_log = slope_of_log + np.where(theta > 0, slope / theta, 0.0) * scale
    return left, left * slope_of_log


def remaining(part: Modes, fourier: Any, where: str) -> Any:
    """What is left of the start, without its slope: `survival` for one part, made for many values.

    With one Biot number for all, blocks that fit into the processor's cache are summed term by
    term; the long series of values is then an order of magnitude faster than one big table.
    """
    if np.ndim(part.biot) or where != "mean":
        return survival([(part, 1.0)], fourier, where)[0]
    fourier = np.asarray(fourier, float)
    flat, out = fourier.ravel(), np.empty(fourier.size)
    count = 1 + int(np.sum(part.rate * _SHORT["mean"] < 26))
    terms = list(zip(part.mean[:count], part.rate[:count], strict=True))
    for begin in range(0, flat.size, _BLOCK):
        block = slice(begin, begin + _BLOCK)
        out[block] = _left_of_block(part, terms, flat[block])
    return out.reshape(fourier.shape)


def time_to(parts: Sequence[tuple[Modes, Any]], left: Any, where: str) -> Any:
    """Fourier number at which ``left`` remains: 0 from ``left`` = 1 up, infinite from 0 down.

    Newton on the logarithm. The mean is a sum of positive exponentials, so its logarithm is convex
    and steps from the short side never overshoot; the center's is concave, and steps from the long
    side never do. Both starts below lie on the right side by construction.
    """
    left = np.asarray(left, float)
    solvable = (left > 0) & (left < 1)
    goal = np.where(solvable, left, 0.5)
    rate = sum(part.rate[..., 0] * scale for part, scale in parts)
    amplitude: Any = 1.0
    for part, _ in parts:
        amplitude = amplitude * part.amplitude(where)[..., 0]
    fourier = np.log(amplitude / goal) / rate
    if where == "mean":
        fourier = np.maximum(fourier, _soonest(parts, goal))
    else:
        smallest = max(np.max(np.asarray(scale)) for _, scale in parts)
        fourier = np.maximum(fourier, _SHORT["center"] / smallest)
    for _ in range(60):
        theta, slope = survival(parts, fourier, where)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.where(slope < 0, np.log(theta / goal) * theta / -slope, 0.0)
        fourier = np.maximum(fourier + step, fourier / 8)
        if not np.any(np.abs(step) > 1e-13 * fourier):
            break
    answer = np.where(solvable, fourier, np.where(left >= 1, 0.0, np.inf))
    return np.where(np.isnan(left), np.nan, answer)


def _waves(dimension: int, x: Any) -> tuple[Any, Any]:
    if dimension == 1:
        return np.cos(x), np.sin(x)
    if dimension == 3 and np.min(x, initial=np.inf) > 1:  # nearer 0 the difference cancels
        return np.sin(x) / x, np.sin(x) / x**2 - np.cos(x) / x
    from scipy import special

    if dimension == 2:
        return special.j0(x), special.j1(x)
    return special.spherical_jn(0, x), special.spherical_jn(1, x)


@lru_cache(maxsize=64)
def _brackets(dimension: int, count: int) -> tuple[Any, Any]:
    """Roots without flow at the surface and without resistance: every root lies between."""
    k = np.arange(count)
    if dimension == 1:
        return k * np.pi, (k + 0.5) * np.pi
    if dimension == 2:
        from scipy import special

        low = np.concatenate([[0.0], special.jn_zeros(1, count)])[:count]
        return low, special.jn_zeros(0, count)
    # Zeros of the spherical j1 lie from k pi + 1.35 to k pi + pi/2; 1.3 is safely below.
    return k * np.pi + np.where(k > 0, 1.3, 0.0), (k + 1) * np.pi


@lru_cache(maxsize=8)
def _modes_without_resistance(dimension: int) -> Modes:
    if dimension == 2:
        beta, j1 = np.array(_J0_ROOTS), np.array(_J1_THERE)
        return Modes(2, np.float64(np.inf), beta**2, 4 / beta**2, 2 / (beta * j1))
    return _modes(dimension, np.inf)


def _modes(dimension: int, biot: Any) -> Modes:
    biot = np.asarray(biot, float)
    beta = roots(dimension, biot, _COUNT)
    rate = beta**2
    resist = np.where(np.isinf(biot), 0.0, 1 / biot)[..., None]
    mean = 2 * dimension / (rate * (1 + (2 - dimension) * resist + rate * resist**2))
    _, f1 = _waves(dimension, beta)
    return Modes(dimension, biot, rate, mean, mean * beta / (dimension * f1))


def _left_of_block(part: Modes, terms: Any, fourier: Any) -> Any:
    """Late values by the series, early ones by the short-time form; one axis."""
    late, term = np.zeros_like(fourier), np.empty_like(fourier)
    for amplitude, rate in terms:
        np.multiply(fourier, -rate, out=term)
        np.exp(term, out=term)
        term *= amplitude
        late += term
    early = fourier < _SHORT["mean"]
    if not early.any():
        return late
    if np.isinf(part.biot):
        root = np.sqrt(np.where(early, fourier, 0.0))
        c = _curvature(part.dimension)
        gamma = [math.gamma((j + 3) / 2) for j in range(c.size)]
        uptake = part.dimension * root * np.polyval((c / gamma)[::-1], root)
        return np.where(early, 1 - uptake, late)
    at = fourier[early]
    late[early] = _early(part.dimension, at, np.full(at.shape, part.biot))[0]
    return late


def _one(part: Modes, fourier: Any, where: str) -> tuple[Any, Any]:
    """Survival and slope of one shape."""
    fourier, biot = np.broadcast_arrays(fourier, part.biot)
    switch = _SHORT[where]
    late = np.maximum(fourier, switch)
    soonest = np.fmin.reduce(late, axis=None, initial=np.inf)  # fmin leaves NaN out
    count = 1 + int(np.sum(part.rate * soonest < 36, axis=-1).max(initial=0))
    rate, amplitude = part.rate[..., :count], part.amplitude(where)[..., :count]
    terms = amplitude * np.exp(-rate * late[..., None])
    theta, slope = terms.sum(-1), -(terms * rate).sum(-1)
    early = fourier < switch
    if early.any():
        theta, slope = np.asarray(theta), np.asarray(slope)
        if where == "mean":
            theta[early], slope[early] = _early(part.dimension, fourier[early], biot[early])
        else:
            theta[early], slope[early] = 1.0, 0.0
    return theta, slope


def _soonest(parts: Sequence[tuple[Modes, Any]], goal: Any) -> Any:
    """A Fourier number that is surely too small: every face flat, or at full flow throughout."""
    faces = sum(part.dimension * np.sqrt(scale) for part, scale in parts)
    flow = sum(part.dimension * part.biot * scale for part, scale in parts)
    return np.maximum(np.pi * ((1 - goal) / (2 * faces)) ** 2, (1 - goal) / flow)


@lru_cache(maxsize=8)
def _curvature(dimension: int) -> Any:
    """Coefficients c of the surface's answer sum(c_j q^(1-j)) to a fast change, q² = s.

    Slab q, sphere q - 1. Cylinder q I1/I0, whose ratio obeys r' = 1 - r/q - r²: its
    asymptotic series follows term by term.
    """
    if dimension == 1:
        return np.array([1.0])
    if dimension == 3:
        return np.array([1.0, -1.0])
    c = [1.0]
    for m in range(1, 13):
        squares = sum(c[i] * c[m - i] for i in range(1, m))
        c.append(((m - 2) * c[m - 1] - squares) / 2)
    return np.array(c)


def _early(dimension: int, fourier: Any, biot: Any) -> tuple[Any, Any]:
    """Mean left and slope before the far side matters; arrays of one axis."""
    theta, slope = np.ones_like(fourier), np.full_like(fourier, -np.inf)
    slope[fourier == 0] = -dimension * biot[fourier == 0]
    fast = np.isinf(biot) & (fourier > 0)
    if fast.any():
        theta[fast], slope[fast] = _early_without_resistance(dimension, fourier[fast])
    slow = ~np.isinf(biot) & (fourier > 0)
    if slow.any():
        theta[slow], slope[slow] = _early_with_resistance(dimension, fourier[slow], biot[slow])
    return theta, slope


def _early_without_resistance(dimension: int, fourier: Any) -> tuple[Any, Any]:
    c = _curvature(dimension)
    j = np.arange(c.size)
    powers = fourier[:, None] ** ((j + 1) / 2)
    gamma = np.array([math.gamma(half / 2) for half in range(1, c.size + 3)])
    uptake = dimension * (c / gamma[2:] * powers).sum(-1)
    speed = dimension * (c / gamma[:-2] * powers).sum(-1) / fourier
    return 1 - uptake, -speed


@lru_cache(maxsize=1)
def contour() -> tuple[Any, Any]:
    """Nodes and weights that invert a Laplace transform to about 1e-13.

    Talbot's contour with the constants of Trefethen, Weideman & Schmelzer, BIT 46 (2006) 653.
    """
    n = 24
    angle = np.arange(1, n, 2) * np.pi / n
    z = n * (0.5017 * angle / np.tan(0.6407 * angle) - 0.6122 + 0.2645j * angle)
    dz = n * (
        0.5017 / np.tan(0.6407 * angle)
        - 0.5017 * 0.6407 * angle / np.sin(0.6407 * angle) ** 2
        + 0.2645j
    )
    return z, 2 * np.exp(z) * dz / (1j * n)


def _early_with_resistance(dimension: int, fourier: Any, biot: Any) -> tuple[Any, Any]:
    z, weight = contour()
    s = z / fourier[:, None]
    q = np.sqrt(s)
    surface = q * np.polyval(_curvature(dimension)[::-1], 1 / q)
    with np.errstate(invalid="ignore"):  # a NaN Biot number is to come out as NaN, quietly
        flow = dimension * surface / (1 + surface / biot[:, None]) / s * weight
    speed = flow.real.sum(-1) / fourier
    uptake = (flow / s).real.sum(-1) / fourier
    return 1 - uptake, -speed
