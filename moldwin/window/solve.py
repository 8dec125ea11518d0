"""Where a margin crosses zero, for all samples at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from moldwin.base.memory import keep_memory

__all__ = ["solve_edges"]

#: Samples worked on at once: enough to forget the cost of a call, few enough to stay in cache.
_BLOCK = 65_536
#: A bracket must be as narrow as halving alone would have made it this many steps earlier.
_GRACE = 12
#: A new place keeps this share of the tolerance to the ends of its bracket: then the last two
#: places lie on either side of the crossing and prove it.
_APART = 0.45
#: The margin of an end that stays is lowered to this share of itself at the most.
_LEAST = 0.1


def solve_edges(
    margin: Callable[..., Any],
    low: Any,
    high: Any,
    *,
    args: Sequence[Any] = (),
    tolerance: float = 1e-8,
    straight: Any = None,
    side: str | None = None,
) -> Any:
    """Where each sample's margin crosses zero between two ends.

    Parameters
    ----------
    margin : callable
        Takes places and then ``args``, gives one margin a place. Without ``args`` it gets all
        samples in their shape every time; with them a flat choice of samples, each with its
        numbers, so that the ones already found cost nothing more. [any]
    low, high : float or array, shape (...)
        Ends, ``low`` below ``high``. [K, or as the places]
    args : sequence of float or array, shape (...)
        Further numbers of each sample that ``margin`` needs. [any]
    tolerance : float
        Largest distance from the crossing, above 0. [as ``low``]
    straight : float or array, shape (...), optional
        Pole of the variable 1/(t - pole) in which the margin is nearly straight: 0 for an Arrhenius
        law, Tg - 51.6 K for a Williams-Landel-Ferry law. It saves steps and does not move the
        answer; where the pole lies between the ends it is not used. [as ``low``]
    side : str, optional
        ``"low"`` for a margin that rises, ``"high"`` for one that falls: says where a crossing lies
        that is not between the ends. Left out, the two ends say so; equal ones count as
        ``"low"``. [-]

    Returns
    -------
    float or array, shape (...)
        Crossing, at most ``tolerance`` away and between the ends; -inf where it lies below
        ``low``, inf where above ``high``. NaN where a margin is NaN. [as ``low``]

    Raises
    ------
    ValueError
        Ends that are infinite or the wrong way round, a tolerance not above 0, an unknown side.

    Notes
    -----
    Every answer is caught between two places with margins of opposite sign. The next place is
    where the straight line through both crosses, the older one's margin lowered each time it stays
    (Anderson & Björck); halving takes over from brackets that shrink too slowly. Of several
    crossings one is found; of a jump across zero its place; of a stretch of zeros a place on it.

    References
    ----------
    N. Anderson, A. Björck, BIT 13 (1973) 253 (from memory).

    Examples
    --------
    >>> strength = np.array([12.0, 14.0, 30.0])
    >>> solve_edges(lambda t: strength - 5000.0 / t, 303.15, 573.15, straight=0.0).round(3)
    array([416.667, 357.143,    -inf])
    """
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    _check(low, high, tolerance, side)
    shape = np.broadcast_shapes(*(np.shape(x) for x in (low, high, straight, *args)))
    if not args:  # the margin may know of more samples than the ends do
        shape = np.broadcast_shapes(shape, np.shape(margin(np.broadcast_to(low, shape))))

    highest = max(np.max(np.abs(x), initial=0.0) for x in (low, high))
    tolerance = max(tolerance, 4.0 * float(np.spacing(highest)))

    def flat(numbers: Any) -> Any:
        return np.broadcast_to(np.asarray(numbers, dtype=float), shape).ravel()

    low, high = flat(low), flat(high)
    pole = None if straight is None else flat(straight)
    count = low.size
    if args:
        keep_memory()
        numbers, block = [flat(x) for x in args], _BLOCK
    else:
        margin, numbers, block = _for_some(margin, low, shape), [np.arange(count)], max(count, 1)
    found = np.empty(count)
    for start in range(0, count, block):
        part = slice(start, start + block)
        own = [x[part] for x in numbers]
        bent = None if pole is None else _outside(pole[part], low[part], high[part])
        found[part] = _solve(margin, own, low[part], high[part], bent, tolerance, side)
    return found.reshape(shape)[()]


def _check(low: Any, high: Any, tolerance: float, side: str | None) -> None:
    if np.any(np.isinf(low) | np.isinf(high) | (low >= high)):
        raise ValueError(f"low must be finite and below high, got {low!r} and {high!r}; swapped?")
    if not tolerance > 0:
        raise ValueError(f"tolerance must be above 0, got {tolerance!r}")
    if side not in (None, "low", "high"):
        raise ValueError(f"side must be 'low' or 'high', got {side!r}")


def _outside(pole: Any, low: Any, high: Any) -> Any:
    """The poles; in place of those within the ends one so far below that it bends nothing."""
    usable = (pole < low) | (pole > high)
    return np.where(usable, pole, low - 100.0 * (high - low))


def _for_some(margin: Callable[..., Any], low: Any, shape: tuple[int, ...]) -> Callable[..., Any]:
    """A margin that wants all samples every time, made to answer for some of them."""
    places = low.copy()

    def of_some(t: Any, index: Any) -> Any:
        places[index] = t
        return np.broadcast_to(margin(places.reshape(shape)), shape).ravel()[index]

    return of_some


def _solve(
    margin: Callable[..., Any],
    numbers: list[Any],
    low: Any,
    high: Any,
    pole: Any,
    tolerance: float,
    side: str | None,
) -> Any:
    """Crossings of one block; everything has shape (s,)."""
    at_low, at_high = margin(low, *numbers), margin(high, *numbers)
    found = _without_crossing(low, high, at_low, at_high, side)
    brackets = _Brackets(numbers, low, high, at_low, at_high, pole)
    brackets.keep(np.sign(at_low) * np.sign(at_high) < 0)
    while brackets.index.size:
        place = brackets.next_place(_APART * tolerance)
        brackets.narrow(place, margin(place, *brackets.numbers))
        left = brackets.width > tolerance
        if 2 * np.count_nonzero(left) < left.size:  # from here on only these are carried along
            found[brackets.index] = brackets.b
            brackets.keep(left)
    return found


def _without_crossing(low: Any, high: Any, at_low: Any, at_high: Any, side: str | None) -> Any:
    """What is answered where the margins at the ends already say all."""
    rises = at_high >= at_low if side is None else side == "low"
    found = np.where((at_low > 0) == rises, -np.inf, np.inf)
    found = np.where(at_high == 0, high, found)
    found = np.where(at_low == 0, low, found)
    return np.where(np.isnan(at_low) | np.isnan(at_high), np.nan, found)


class _Brackets:
    """Two ends round each crossing: ``b`` is the newer, ``a`` lies beyond the crossing.

    ``ga`` and ``gb`` are their margins times the distance from the pole: the straight line through
    these in t is the one through the margins in 1/(t - pole). ``ga`` is lowered each time ``a``
    stays.
    """

    def __init__(self, numbers: list[Any], a: Any, b: Any, at_a: Any, at_b: Any, pole: Any) -> None:
        self.index, self.numbers, self.steps = np.arange(len(a)), numbers, 0
        self.pole, self.whole = pole, b - a
        self.a, self.ga = a.copy(), self._straight(a, at_a)
        self.b, self.gb, self.at_b = b, self._straight(b, at_b), at_b
        self.width = self.whole

    def _straight(self, t: Any, margin: Any) -> Any:
        return margin if self.pole is None else margin * (t - self.pole)

    def keep(self, some: Any) -> None:
        """Forget the other samples."""
        if some.all():
            return
        chosen = np.flatnonzero(some)
        for name, values in vars(self).items():
            if isinstance(values, np.ndarray):
                setattr(self, name, values[chosen])
        self.numbers = [values[chosen] for values in self.numbers]

    def next_place(self, apart: float) -> Any:
        """Where the line through both ends crosses, a little beyond; or the middle."""
        with np.errstate(all="ignore"):  # what comes out of it is looked at below
            share = self.gb / (self.gb - self.ga)
            little = np.minimum(apart / self.width, 0.5)
        lined = share > 0  # an infinite margin gives no line: 0 or not a number
        if self.steps > _GRACE:
            lined &= self.width <= self.whole * 0.5 ** (self.steps - _GRACE)
        share = np.minimum(share + little, 1.0 - little)
        if not lined.all():
            share = np.where(lined, share, 0.5)
        return self.b + share * (self.a - self.b)

    def narrow(self, place: Any, margin: Any) -> None:
        """Take a place between the ends, and its margin, in place of one of them."""
        # by index: choosing by a mask without any order is slow
        turned = np.flatnonzero((margin > 0) != (self.at_b > 0))
        with np.errstate(all="ignore"):  # of no use, and not used, where it turned
            self.ga = self.ga * np.maximum(1.0 - margin / self.at_b, _LEAST)
        self.a[turned], self.ga[turned] = self.b[turned], self.gb[turned]
        unknown = np.isnan(margin)
        self.b = np.where(unknown, np.nan, place) if unknown.any() else place
        self.at_b, self.gb = margin, self._straight(place, margin)
        self.width = np.abs(self.a - self.b)
        self.steps += 1
