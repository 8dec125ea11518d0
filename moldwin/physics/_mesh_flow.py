"""The longest way of the melt through a body, from its gate or from the worst place for one."""

from __future__ import annotations

from itertools import product
from math import gcd
from typing import Any, NamedTuple

import numpy as np

from moldwin.physics._mesh_columns import Columns, columns

__all__ = ["Flow", "flow", "longest_way"]

#: Cells along the longest side, and in the body, where the way is followed.
_CELLS_ALONG, _CELLS_IN = 160, 1e5
#: A way that reaches less than this share of the body tells nothing of it.
_REACHED = 0.98
#: A gate farther outside the box than this share of its longest side is a slip.
_OUTSIDE = 0.1


class Flow(NamedTuple):
    """Length of the way, its two ends (3,), and the share of the body that it reaches."""

    length: float
    gate: Any
    last: Any
    reached: float

    @property
    def followed(self) -> bool:
        """True where all but a sliver of the body is reached."""
        return self.reached >= _REACHED


def longest_way(corners: Any, volume: float, axis: int, gate: Any = None) -> Flow:
    """The way inside a surface (n, 9); where its cells do not hang together, the box's diagonal.

    ``ValueError`` where the gate is not at the part.
    """
    points = corners.reshape(-1, 3)
    low, high = points.min(axis=0), points.max(axis=0)
    extent = high - low
    at = None if gate is None else np.asarray(gate, dtype=float)
    if at is not None:
        off = np.linalg.norm(np.maximum(low - at, at - high).clip(0))
        if not off <= _OUTSIDE * extent.max():
            raise ValueError(f"the gate lies {1e3 * off:.3g} mm outside the part's box")
    side = max(extent.max() / _CELLS_ALONG, (volume / _CELLS_IN) ** (1 / 3))
    across = float(np.delete(extent, axis).max())
    found = flow(columns(corners, axis, max(1, round(across / side))), axis, at)
    if found.followed:
        return found
    return found._replace(length=float(np.linalg.norm(extent)))


def flow(body: Columns, axis: int, gate: Any = None) -> Flow:
    """The way inside the body to the place that is last to fill, by steps from cell to cell.

    A step goes to any of 98 neighbors, so that a way at an odd angle comes out at most 3 % long in
    a plane of cells, and 5 % in space.
    Without a gate the way is followed twice, and runs between two places as far apart as any.
    """
    full, low, sides = _cells(body, axis)
    places = np.argwhere(full)
    centers = low + (places + 0.5) * sides
    if gate is None:
        start = _steps(full, sides, places[0])
        first = places[_farthest(start, places)]
    else:
        first = places[int(((centers - gate) ** 2).sum(axis=1).argmin())]
    away = _steps(full, sides, first)
    last = places[_farthest(away, places)]
    reached = float(np.isfinite(away[tuple(places.T)]).mean())
    begin, end = (low + (place + 0.5) * sides for place in (first, last))
    return Flow(float(away[tuple(last)] + sides.mean()), begin, end, reached)


def _cells(body: Columns, axis: int) -> tuple[Any, Any, Any]:
    """Cells with material in them (i, j, k) with an empty rim, their lowest corner and sides."""
    bottom, top = float(body.start.min()), float(body.end.max())
    side = float(np.mean(body.sides))
    count = max(1, round((top - bottom) / side))
    height = (top - bottom) / count
    # A stretch fills the cells whose middle it passes, and at least the one its own middle is in.
    first = np.ceil((body.start - bottom) / height - 0.5).astype(int)
    last = np.floor((body.end - bottom) / height - 0.5).astype(int)
    middle = (((body.start + body.end) / 2 - bottom) / height).astype(int).clip(max=count - 1)
    first, last = np.minimum(first, middle), np.maximum(last, middle).clip(max=count - 1)
    wide = last - first + 1
    column = np.repeat(body.column, wide)
    level = (
        np.repeat(first, wide) + np.arange(len(column)) - np.repeat(np.cumsum(wide) - wide, wide)
    )
    full = np.zeros((*body.cells, count), dtype=bool)
    full[column // body.cells[1], column % body.cells[1], level] = True
    order = {0: (2, 0, 1), 1: (0, 2, 1), 2: (0, 1, 2)}[axis]
    sides = np.array([*body.sides, height])[list(order)]
    low = np.array([*body.low, bottom])[list(order)]
    return np.pad(full.transpose(order), 2), low - 2 * sides, sides


def _steps(full: Any, sides: Any, first: Any) -> Any:
    """Shortest way from one cell to every other inside the body; inf where there is none."""
    shape = full.shape
    inside, away = full.ravel(), np.full(full.size, np.inf)
    moves = _moves(shape, sides)
    front = np.array([np.ravel_multi_index(tuple(first), shape)])
    away[front] = 0.0
    while len(front):
        touched = []
        for offset, over, length in moves:
            to = front + offset
            new = away[front] + length
            better = inside[to] & (new < away[to])
            for middle in over:  # a long step must not jump a gap
                better &= inside[front + middle]
            to, new = to[better], new[better]
            np.minimum.at(away, to, new)
            touched.append(to)
        front = np.unique(np.concatenate(touched))
    return away.reshape(shape)


def _moves(shape: tuple[int, ...], sides: Any) -> list[tuple[int, tuple[int, ...], float]]:
    """Offset, offsets of the cells on the way, and length of every step."""
    strides = np.array([shape[1] * shape[2], shape[2], 1])
    found = []
    for step in product(range(-2, 3), repeat=3):
        if gcd(*step) != 1:
            continue
        over: tuple[int, ...] = ()
        if max(map(abs, step)) == 2:
            half = np.array(step) / 2
            over = tuple(
                int(part @ strides)
                for part in (np.floor(half).astype(int), np.ceil(half).astype(int))
            )
        length = float(np.linalg.norm(np.array(step) * sides))
        found.append((int(np.array(step) @ strides), over, length))
    return found


def _farthest(away: Any, places: Any) -> int:
    at = away[tuple(places.T)]
    return int(np.where(np.isfinite(at), at, -1.0).argmax())
