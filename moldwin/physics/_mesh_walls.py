"""How thick a solid is at many places of its surface: rays through it, and balls that fit in it."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

__all__ = ["Walls", "walls"]

#: Places where the thickness is found, and places a ball may touch.
_PROBES, _TOUCHES = 800, 4_000
#: Triangles a cell of the search grid holds on average, and the most cells.
_PER_CELL, _MOST_CELLS = 2.0, 2_000_000
#: Balls looked at together, how often each, and the ways the rays go from its middle.
_ROUND, _TIMES = 100, 3
_WAYS = np.array([w for w in np.ndindex(3, 3, 3) if w != (1, 1, 1)], dtype=float) - 1.0
_ROUND_ABOUT = _WAYS / np.linalg.norm(_WAYS, axis=1)[:, None]
_SEED = 1
_BLOCK = 256


class Walls(NamedTuple):
    """Thickness at places of the surface, and what a part is judged by.

    ``across`` is the way straight through, ``ball`` the diameter of the largest ball that touches
    there, both (p,); NaN where a ray found no way out. ``center`` (p, 3) is that ball's.
    """

    across: Any
    ball: Any
    center: Any

    @property
    def wall(self) -> float:
        """Half of the surface has no more than this behind it."""
        return float(np.nanmedian(self.across))

    @property
    def thickest(self) -> float:
        """Diameter of the largest ball found in the body."""
        return float(np.nanmax(self.ball))

    @property
    def thick_spot(self) -> Any:
        """Its center, (3,)."""
        return self.center[int(np.nanargmax(self.ball))]


def walls(corners: Any) -> Walls:
    """Thickness of a closed, outward surface with corners (n, 9)."""
    points = np.asarray(corners, dtype=float).reshape(-1, 3, 3)
    double = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    area = np.linalg.norm(double, axis=1)
    real = area > 0
    points, normal = points[real], double[real] / area[real][:, None]
    rng = np.random.default_rng(_SEED)
    at, face = _spread(points, area[real], _PROBES, rng)
    touch, _ = _spread(points, area[real], _TOUCHES, rng)
    inward = -normal[face]
    cells = _Cells(points)
    across = _rays(points, cells, at, inward)
    radius = np.fmin(_balls(at, inward, touch), across / 2)
    radius[np.isnan(across)] = 0.0  # behind a fin without thickness there is only air
    _fit_largest(points, cells, at, inward, radius)
    return Walls(across, 2 * radius, at + radius[:, None] * inward)


def _spread(points: Any, area: Any, count: int, rng: Any) -> tuple[Any, Any]:
    """Places evenly over the area, (count, 3), and the triangle each is on."""
    reach = np.cumsum(area)
    steps = (np.arange(count) + rng.random(count)) / count * reach[-1]
    face = np.searchsorted(reach, steps).clip(max=len(area) - 1)
    root, other = np.sqrt(rng.random(count)), rng.random(count)
    weights = np.stack([1 - root, root * (1 - other), root * other], axis=1)
    return np.einsum("ij,ijk->ik", weights, points[face]), face


def _balls(at: Any, inward: Any, touch: Any) -> Any:
    """Radius of the largest ball inside that touches each place, by the places it may touch."""
    found = np.full(len(at), np.inf)
    for start in range(0, len(at), _BLOCK):
        some = slice(start, start + _BLOCK)
        # A ball through p along d also meets q at a radius of |q - p|^2 / (2 d (q - p)).
        ahead = inward[some] @ touch.T - np.einsum("ij,ij->i", inward[some], at[some])[:, None]
        apart = (
            (touch**2).sum(axis=1) - 2 * at[some] @ touch.T + (at[some] ** 2).sum(axis=1)[:, None]
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            radius = np.where(ahead > 1e-9 * np.sqrt(apart.max()), apart / (2 * ahead), np.inf)
        found[some] = radius.min(axis=1)
    return found


class _Cells:
    """Which triangles reach into which cell of a grid over the body."""

    def __init__(self, points: Any) -> None:
        low, high = points.min(axis=(0, 1)), points.max(axis=(0, 1))
        extent = np.maximum(high - low, 1e-9 * float((high - low).max()))
        wanted = np.clip(len(points) / _PER_CELL, 64, _MOST_CELLS)
        side = float((extent.prod() / wanted) ** (1 / 3))
        self.counts = np.clip(np.ceil(extent / side), 1, 256).astype(int)
        self.low, self.side = low, extent / self.counts
        first, last = (self.cell_of(end) for end in (points.min(axis=1), points.max(axis=1)))
        wide = last - first + 1
        pairs = wide.prod(axis=1)
        triangle = np.repeat(np.arange(len(points)), pairs)
        step = np.arange(len(triangle)) - np.repeat(np.cumsum(pairs) - pairs, pairs)
        wide, first = wide[triangle], first[triangle]
        i = first[:, 0] + step // (wide[:, 1] * wide[:, 2])
        j = first[:, 1] + step // wide[:, 2] % wide[:, 1]
        k = first[:, 2] + step % wide[:, 2]
        cell = self.number(np.stack([i, j, k], axis=1))
        self.triangle = triangle[np.argsort(cell, kind="stable")]
        self.begin = np.concatenate(
            [[0], np.cumsum(np.bincount(cell, minlength=int(self.counts.prod())))]
        )

    def cell_of(self, at: Any) -> Any:
        """Cell of each place, (p, 3)."""
        return np.clip(((at - self.low) / self.side).astype(int), 0, self.counts - 1)

    def number(self, cell: Any) -> Any:
        """One number for a cell (p, 3)."""
        return (cell[:, 0] * self.counts[1] + cell[:, 1]) * self.counts[2] + cell[:, 2]


def _fit_largest(points: Any, cells: _Cells, at: Any, inward: Any, radius: Any) -> None:
    """Shrink the largest balls until they fit, in place: touches are too far apart at an edge.

    From a ball's middle rays go all round; where one meets the surface the ball may touch. Balls
    smaller than the largest that fits need no second look.
    """
    order = np.argsort(-np.nan_to_num(radius))
    fits = 0.0
    for start in range(0, len(order), _ROUND):
        some = order[start : start + _ROUND]
        if not radius[some[0]] > fits * (1 + 1e-9):
            return
        for _ in range(_TIMES):
            middle = at[some] + radius[some, None] * inward[some]
            ray = np.repeat(np.arange(len(some)), len(_ROUND_ABOUT))
            ahead = np.tile(_ROUND_ABOUT, (len(some), 1))
            way = _rays(points, cells, middle[ray], ahead)
            met = middle[ray] + way[:, None] * ahead - at[some][ray]
            with np.errstate(divide="ignore", invalid="ignore"):
                limit = (met**2).sum(axis=1) / (2 * (met * inward[some][ray]).sum(axis=1))
            limit = np.where(limit > 0, limit, np.inf).reshape(len(some), -1).min(axis=1)
            radius[some] = np.minimum(radius[some], limit)
        fits = max(fits, float(np.nan_to_num(radius[some]).max()))


def _rays(points: Any, cells: _Cells, at: Any, ahead: Any) -> Any:
    """Way from each place along its direction to the surface; NaN where it meets none."""
    found = np.full(len(at), np.nan)
    start = 1e-6 * float(np.ptp(points.reshape(-1, 3), axis=0).max())
    cell = cells.cell_of(at)
    step = np.where(ahead > 0, 1, -1)
    with np.errstate(divide="ignore", invalid="ignore"):
        edge = cells.low + (cell + (ahead > 0)) * cells.side
        leave = np.where(ahead != 0, (edge - at) / ahead, np.inf)
        pace = np.where(ahead != 0, cells.side / np.abs(ahead), np.inf)
    ray = np.arange(len(at))
    while len(ray):
        hit = _nearest(points, cells, cell[ray], at[ray], ahead[ray], start)
        axis = leave[ray].argmin(axis=1)
        end = leave[ray, axis]
        done = hit <= end * (1 + 1e-9)
        found[ray[done]] = hit[done]
        cell[ray, axis] += step[ray, axis]
        leave[ray, axis] += pace[ray, axis]
        inside = (cell[ray, axis] >= 0) & (cell[ray, axis] < cells.counts[axis])
        ray = ray[~done & inside]
    return found


def _nearest(points: Any, cells: _Cells, cell: Any, at: Any, ahead: Any, start: float) -> Any:
    """Way to the nearest triangle of each ray's cell, inf where there is none (Moller-Trumbore)."""
    number = cells.number(cell)
    count = cells.begin[number + 1] - cells.begin[number]
    ray = np.repeat(np.arange(len(at)), count)
    step = np.arange(len(ray)) - np.repeat(np.cumsum(count) - count, count)
    a, b, c = np.moveaxis(points[cells.triangle[cells.begin[number][ray] + step]], 1, 0)
    one, two = b - a, c - a
    across = np.cross(ahead[ray], two)
    with np.errstate(divide="ignore", invalid="ignore"):
        inverse = 1.0 / np.einsum("ij,ij->i", one, across)
        away = at[ray] - a
        u = np.einsum("ij,ij->i", away, across) * inverse
        turned = np.cross(away, one)
        v = np.einsum("ij,ij->i", ahead[ray], turned) * inverse
        way = np.einsum("ij,ij->i", two, turned) * inverse
        slack = 1e-9
        hit = (u >= -slack) & (v >= -slack) & (u + v <= 1 + slack) & (way > start)
    nearest = np.full(len(at), np.inf)
    np.minimum.at(nearest, ray[hit], way[hit])
    return nearest
