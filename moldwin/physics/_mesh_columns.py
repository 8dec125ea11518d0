"""A solid cut into columns along one axis: its shadow, and where material is counted twice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

__all__ = ["Columns", "columns"]

#: Columns along the longer side of the shadow.
_FINEST = 256
#: Pairs of triangle and column looked at together.
_PAIRS = 2_000_000
#: Columns do not stand in the middle of their cells: there they would meet edges of plain parts.
_OFF = (0.5137, 0.4709)


class Columns(NamedTuple):
    """Stretches of material along the axis, each in its column.

    ``column``, ``start``, ``end`` have one entry a stretch; ``cells`` are the columns along the
    two other axes, ``sides`` their width, ``low`` where they begin. ``shadow`` is the area with
    anything under it, ``solid`` the volume by columns, ``doubled`` the volume that lies in more
    than one body, ``hollow`` that of places the surface counts less than once.
    """

    column: Any
    start: Any
    end: Any
    cells: tuple[int, int]
    sides: tuple[float, float]
    low: Any
    shadow: float
    solid: float
    doubled: float
    hollow: float


def columns(corners: Any, axis: int, finest: int = _FINEST) -> Columns:
    """Columns of a closed, outward surface with corners (n, 9); axis 0, 1 or 2."""
    across = [k for k in range(3) if k != axis]
    points = np.asarray(corners, dtype=float).reshape(-1, 3, 3)
    flat, along = points[:, :, across], points[:, :, axis]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    extent = np.maximum(high - low, 1e-12 * max(float((high - low).max()), 1e-300))
    cells = np.maximum(1, np.round(finest * extent / extent.max())).astype(int)
    sides = extent / cells
    found = list(_crossings((flat - low) / sides, along, cells))
    column, height, way = (np.concatenate(part) for part in zip(*found, strict=True))
    if axis == 1:  # x before z turns the other way round
        way = -way
    order = np.lexsort((way, height, column))
    column, height, way = column[order], height[order], way[order]
    # A ray through an edge may miss a face, and then its column tells nothing.
    balance = np.bincount(column, way, minlength=int(cells.prod()))
    whole = balance[column] == 0
    column, height, way = column[whole], height[whole], way[whole]
    inside = np.cumsum(way)[:-1]  # how many bodies one is in; whole columns add nothing
    same = column[1:] == column[:-1]
    length = np.where(same, np.diff(height), 0.0)
    cell = float(sides.prod())
    keep = same & (inside > 0) & (length > 0)
    return Columns(
        column=column[:-1][keep],
        start=height[:-1][keep],
        end=height[1:][keep],
        cells=(int(cells[0]), int(cells[1])),
        sides=(float(sides[0]), float(sides[1])),
        low=low,
        shadow=cell * len(np.unique(column[:-1][keep])),
        solid=cell * float(length[keep].sum()),
        doubled=cell * float((length * np.maximum(inside - 1, 0)).sum()),
        hollow=cell * float((length * np.maximum(-inside, 0)).sum()),
    )


def _crossings(flat: Any, along: Any, cells: Any) -> Iterator[tuple[Any, Any, Any]]:
    """Column, height and way (1 into the body, -1 out of it) of every crossing, in cell widths."""
    area = _turn(flat[:, 0], flat[:, 1], flat[:, 2])
    first = np.ceil(flat.min(axis=1) - _OFF).astype(int).clip(min=0)
    last = np.minimum(np.floor(flat.max(axis=1) - _OFF).astype(int), cells - 1)
    wide = np.maximum(last - first + 1, 0)
    pairs = wide.prod(axis=1)
    useful = np.flatnonzero((pairs > 0) & (area != 0))
    yield np.empty(0, int), np.empty(0), np.empty(0, int)
    if len(useful) == 0:
        return
    groups = np.cumsum(pairs[useful]) // _PAIRS
    for some in np.split(useful, np.flatnonzero(np.diff(groups)) + 1):
        triangle = np.repeat(some, pairs[some])
        step = np.arange(len(triangle)) - np.repeat(
            np.cumsum(pairs[some]) - pairs[some], pairs[some]
        )
        i = first[triangle, 0] + step // wide[triangle, 1]
        j = first[triangle, 1] + step % wide[triangle, 1]
        at = np.stack([i, j], axis=1) + _OFF
        a, b, c = (flat[triangle, k] for k in range(3))
        weights = np.stack([_turn(b, c, at), _turn(c, a, at), _turn(a, b, at)], axis=1)
        weights /= area[triangle][:, None]
        hit = (weights >= 0).all(axis=1)
        triangle, weights = triangle[hit], weights[hit]
        height = (weights * along[triangle]).sum(axis=1)
        way = np.where(area[triangle] > 0, -1, 1)  # a face that looks up is left behind
        yield (i * cells[1] + j)[hit], height, way


def _turn(a: Any, b: Any, c: Any) -> Any:
    """Twice the signed area of triangles in the plane."""
    return (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
