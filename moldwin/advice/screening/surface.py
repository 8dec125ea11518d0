"""A smooth surface through what was worked out at some places, for reading it at many others."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import special

__all__ = ["Surface", "chances_of", "scores_of", "spread_out"]

#: Places read at once, always so many: what a place gives does not depend on its company.
_AT_ONCE = 16
#: Products of matrices with fewer multiplications than these are not split between threads: then
#: what a place gives does not depend on their number either, and needs a third of the time.
_SINGLE = 2**18
#: Thin plates may pass this far from what they are laid through: shares of a few hundred samples
#: go in steps, and places differ in more than what moves an answer most.
_STIFFNESS = 1e-2
#: A direction of which the places know less than this share of the widest is no direction.
_FLAT = 1e-6
#: The steepest direction counts fully, none less than this.
_LEAST_WEIGHT = 1e-3
#: A parabola is laid below the plates where places are so many times as many as its terms.
_PLENTY = 2
#: Gradients are averaged over so many of the places.
_SLOPES_AT = 256


def scores_of(shares: Any, count: int) -> Any:
    """Shares of samples as normal scores, in which they rise more evenly than in themselves.

    Parameters
    ----------
    shares : float or array, shape (...)
        Share of samples, 0 to 1. [-]
    count : int
        How many samples there are: none and all of them are half a sample from the end. [-]

    Returns
    -------
    float or array, shape (...)
        [-]

    Examples
    --------
    >>> scores_of(np.array([0.0, 0.5, 1.0]), 256).round(2)
    array([-2.89,  0.  ,  2.89])
    """
    return special.ndtri((np.asarray(shares, dtype=float) * count + 0.5) / (count + 1.0))[()]


def chances_of(scores: Any, count: int) -> Any:
    """The way back from `scores_of`, and no share below 0 or above 1.

    Parameters
    ----------
    scores : float or array, shape (...)
        [-]
    count : int
        How many samples there are. [-]

    Returns
    -------
    float or array, shape (...)
        Share of samples. [-]

    Examples
    --------
    >>> chances_of(scores_of(0.3, 256), 256).round(12)
    np.float64(0.3)
    """
    return np.clip((special.ndtr(scores) * (count + 1.0) - 0.5) / count, 0.0, 1.0)[()]


def spread_out(places: Any, count: int, first: int = 0) -> Any:
    """Some of the places, each as far as can be from those before it.

    Parameters
    ----------
    places : array, shape (n, d)
        Scaled alike in every direction. [-]
    count : int
        How many. [-]
    first : int
        Where to start. [-]

    Returns
    -------
    array of int, shape (count or fewer,)
        Indices; the first of them stay the same when more are asked for. Places that are there
        twice are taken once. [-]

    References
    ----------
    T. F. Gonzalez, Theor. Comput. Sci. 38 (1985) 293 (from memory).

    Examples
    --------
    >>> spread_out(np.array([[0.0], [0.1], [1.0], [0.5]]), 3).tolist()
    [0, 2, 3]
    """
    places = np.asarray(places, dtype=float)
    chosen = [first]
    nearest = ((places - places[first]) ** 2).sum(axis=1)
    while len(chosen) < min(count, len(places)):
        farthest = int(nearest.argmax())
        if nearest[farthest] <= 0.0:
            break
        chosen.append(farthest)
        nearest = np.minimum(nearest, ((places - places[farthest]) ** 2).sum(axis=1))
    return np.array(chosen)


class Surface:
    """Thin plates through values at some places, the directions weighted by what moves the values.

    Parameters
    ----------
    places : array, shape (n, d)
        Where the values were worked out. [any]
    values : array, shape (n, m)
        Smooth in the places; NaN where there is none. [any]

    Raises
    ------
    ValueError
        Places or values that are no tables of as many rows; infinite ones.

    Notes
    -----
    `scipy.interpolate.RBFInterpolator` says the same of the same places, and a test holds this
    beside it; read a few places at a time it gives other last digits for another number of threads.

    Recipes have many numbers, yet what they do to a chance runs along few directions. These are
    found from the gradients of a parabola through the values ("active subspace"), and places are
    stretched along each by how steep it is. Values that have the same gaps share their weights; one
    that never changes is kept as it is. Too few places for a plane give NaN.

    References
    ----------
    P. G. Constantine, E. Dow, Q. Wang, SIAM J. Sci. Comput. 36 (2014) A1500 (from memory).
    J. Duchon, in Constructive Theory of Functions of Several Variables (1977) 85 (from memory).

    Examples
    --------
    >>> x = np.linspace(0.0, 1.0, 40)
    >>> places = np.column_stack([x, np.cos(37.0 * x)])
    >>> surface = Surface(places, np.sin(3.0 * places[:, :1]))
    >>> print(f"{surface.at(np.array([[0.5, 0.0]]))[0, 0]:.2f}, sin 1.5 = {np.sin(1.5):.2f}")
    1.00, sin 1.5 = 1.00
    """

    def __init__(self, places: Any, values: Any) -> None:
        places, values = np.asarray(places, dtype=float), np.asarray(values, dtype=float)
        if places.ndim != 2 or values.ndim != 2 or len(places) != len(values):
            raise ValueError(
                f"places (n, d) and values (n, m) need as many rows, got {places.shape} and"
                f" {values.shape}"
            )
        if not np.isfinite(places).all() or np.isinf(values).any():
            raise ValueError("places must be finite, values finite or NaN")
        self._fixed = np.full(values.shape[1], np.nan)
        self._parts: list[tuple[Any, _Plates]] = []
        gaps = np.isnan(values)
        for pattern in np.unique(gaps, axis=1).T:
            columns = np.flatnonzero((gaps == pattern[:, None]).all(axis=0))
            self._lay(places[~pattern], values[~pattern], columns)

    def _lay(self, places: Any, values: Any, columns: Any) -> None:
        if not len(places):
            return
        values = values[:, columns]
        still = np.ptp(values, axis=0) == 0.0
        self._fixed[columns[still]] = values[0, still]
        moving = columns[~still]
        if moving.size:
            laid = _plates(places, values[:, ~still])
            if laid is not None:
                self._parts.append((moving, laid))

    def at(self, places: Any) -> Any:
        """Values at places (n, d), shape (n, m). [as the values]

        They depend on the place alone, to the last bit, however many are read with it.
        """
        places = np.asarray(places, dtype=float)
        found = np.tile(self._fixed, (len(places), 1))
        for start in range(0, len(places), _AT_ONCE):
            some = places[start : start + _AT_ONCE]
            block = np.resize(some, (_AT_ONCE, places.shape[1]))
            for columns, laid in self._parts:
                found[start : start + len(some), columns] = laid(block)[: len(some)]
        return found


class _Plates:
    """Plates in stretched directions; values in units of their own spread."""

    def __init__(self, middle: Any, turn: Any, places: Any, values: Any) -> None:
        self._middle, self._turn = middle, turn
        self._nodes = np.ascontiguousarray(((places - middle) @ turn).T)
        self._mean, self._spread = values.mean(axis=0), values.std(axis=0)
        self._parabola = _bears_parabola(self._nodes.T)
        below = self._below(self._nodes)
        count, terms = below.shape
        whole = np.zeros((count + terms, count + terms))
        whole[:count, :count] = _thin(self._nodes, self._nodes) + _STIFFNESS * np.eye(count)
        whole[:count, count:], whole[count:, :count] = below, below.T
        level = np.zeros((count + terms, values.shape[1]))
        level[:count] = (values - self._mean) / self._spread
        weights = np.linalg.solve(whole, level)
        width = max(2, _SINGLE // (_AT_ONCE * (count + terms)))
        self._weights = [
            np.ascontiguousarray(weights[:, i : i + width])
            for i in range(0, weights.shape[1], width)
        ]

    def _below(self, nodes: Any) -> Any:
        """The plane or the parabola that the plates depart from, shape (n, terms)."""
        return (
            _terms(nodes.T)
            if self._parabola
            else np.column_stack([np.ones(nodes.shape[1]), nodes.T])
        )

    def __call__(self, places: Any) -> Any:
        at = np.ascontiguousarray(((places - self._middle) @ self._turn).T)
        parts = np.concatenate([_thin(at, self._nodes), self._below(at)], axis=1)
        found = np.concatenate([parts @ weights for weights in self._weights], axis=1)
        return found * self._spread + self._mean


def _thin(at: Any, nodes: Any) -> Any:
    """r² ln r between places (d, n) and nodes (d, m), shape (n, m)."""
    square = np.zeros((at.shape[1], nodes.shape[1]))
    for along, there in zip(at, nodes, strict=True):
        square += np.square(along[:, None] - there)
    # 0 where they coincide, and no logarithm of it
    return 0.5 * square * np.log(np.maximum(square, 1e-300))


def _plates(places: Any, values: Any) -> _Plates | None:
    """None where the places do not even span a plane."""
    middle, reach = places.mean(axis=0), np.ptp(places, axis=0)
    # what stands still stands for no direction, whatever its mean was rounded to
    reach = np.where(reach > _FLAT**2 * np.abs(middle), reach, np.inf)
    _, wide, ways = np.linalg.svd((places - middle) / reach, full_matrices=False)
    kept = wide > _FLAT * max(float(wide[0]), 1e-300)
    # every direction left as wide as the others: what counts is how steep the values are along it
    turn = (ways[kept].T / wide[kept]) * np.sqrt(len(places)) / reach[:, None]
    if len(places) < _PLENTY * (turn.shape[1] + 1):
        return None
    level = (values - values.mean(axis=0)) / values.std(axis=0)
    turn = turn @ _steepness((places - middle) @ turn, level)
    return _Plates(middle, turn, places, values)


def _terms(places: Any) -> Any:
    """1, x and every product of two, shape (n, terms)."""
    count = places.shape[1]
    first, second = np.triu_indices(count)
    return np.column_stack([np.ones(len(places)), places, places[:, first] * places[:, second]])


def _bears_parabola(places: Any) -> bool:
    terms = _terms(places)
    enough = len(places) >= _PLENTY * terms.shape[1]
    return enough and int(np.linalg.matrix_rank(terms)) == terms.shape[1]


def _steepness(places: Any, values: Any) -> Any:
    """Turns (d, d) places so that each direction is stretched by its root mean square slope."""
    count = places.shape[1]
    weights = np.linalg.lstsq(_terms(places), values, rcond=None)[0]
    first, second = np.triu_indices(count)
    bend = np.zeros((count, count, values.shape[1]))
    np.add.at(bend, (first, second), weights[1 + count :])
    bend = bend + bend.transpose(1, 0, 2)
    slopes = weights[1 : 1 + count] + np.einsum("nj,ijm->nim", places[:_SLOPES_AT], bend)
    power, ways = np.linalg.eigh(np.einsum("nim,njm->ij", slopes, slopes))
    share = np.sqrt(np.maximum(power, 0.0) / max(float(power[-1]), 1e-300))
    return ways * np.maximum(share, _LEAST_WEIGHT)
