"""Which corners are the same place, which edges are open, how many bodies there are."""

from __future__ import annotations

from itertools import product
from typing import Any, NamedTuple

import numpy as np

from moldwin.physics._mesh_totals import corner_hashes

__all__ = ["Holes", "body_volumes", "holes", "places", "welded", "without_twins"]


class Holes(NamedTuple):
    """What keeps a surface from being closed, and what closing it flat does to its volume.

    ``open`` edges belong to an odd number of triangles, ``turned`` ones are walked the same way
    twice. ``volume`` is what flat lids add; ``spread`` how far it may be off if a lid bulges by
    its radius.
    """

    open: int
    turned: int
    volume: float
    spread: float


def places(corners: Any) -> Any:
    """Number of its place for every corner of corners (n, 9), (n, 3).

    Corners have one number where all their bits are the same. Found by hash, then held against
    the coordinates themselves.
    """
    points = np.asarray(corners).reshape(-1, 3) + np.zeros(1, corners.dtype)  # -0 becomes 0
    _, first, number = np.unique(corner_hashes(points), return_index=True, return_inverse=True)
    if not np.array_equal(points[first[number]], points):  # two places with one hash
        number = np.unique(points, axis=0, return_inverse=True)[1]
    return number.reshape(-1, 3)


def holes(corners: Any, place: Any) -> Holes:
    """Open and turned edges of a surface, closed by a flat lid over each ring of them.

    Lids are seen from the origin, as the volume they belong to is.
    """
    points = np.asarray(corners, dtype=float).reshape(-1, 3)
    ends, excess, total = _unmatched(place)
    if len(ends) == 0:
        return Holes(0, 0, 0.0, 0.0)
    at = np.zeros((place.max() + 1, 3))
    at[place.ravel()] = points
    ring = _joined(ends, len(at))[ends[:, 0]]
    _, ring = np.unique(ring, return_inverse=True)
    middle = at[ends].sum(axis=1) / 2.0
    weight = np.bincount(ring, excess)
    center = np.stack([np.bincount(ring, excess * m) / weight for m in middle.T], axis=1)[ring]
    start, end = at[ends[:, 0]], at[ends[:, 1]]
    lids = excess * np.einsum("ij,ij->i", end, np.cross(start, center)) / 6.0
    double = np.linalg.norm(np.cross(start - center, end - center), axis=1)
    area: Any = np.bincount(ring, excess * double / 2.0)
    odd = int(np.count_nonzero(total % 2))
    return Holes(
        odd,
        len(ends) - odd,
        float(lids.sum()),
        float((area * np.sqrt(area / np.pi)).sum() / 3.0),
    )


def welded(corners: Any, place: Any, reach: float) -> Any:
    """Places (n, 3) where ends of unmatched edges that lie within ``reach`` are one place.

    Where that would draw together what is farther apart, the places stay as they are.
    """
    ends = np.unique(_unmatched(place)[0])
    at = np.zeros((place.max() + 1, 3))
    at[place.ravel()] = np.asarray(corners, dtype=float).reshape(-1, 3)
    loose = at[ends]
    number = np.arange(len(ends))
    pairs = []
    for shift in product((0.0, 0.5), repeat=3):  # two near points share a cell in one of eight
        cell = np.floor(loose / (4.0 * reach) + np.array(shift))
        _, first, own = np.unique(cell, axis=0, return_index=True, return_inverse=True)
        pairs.append(np.stack([number, first[own.ravel()]], axis=1))
    label = _joined(np.concatenate(pairs), len(ends))
    if np.abs(loose - loose[label]).max(initial=0.0) > 8.0 * reach:
        return place
    found = np.arange(len(at))
    found[ends] = ends[label]
    return found[place]


def without_twins(corners: Any, place: Any) -> Any:
    """The same triangles (m, 9), each that is there more than once, the same way round, once."""
    turn = (place.argmin(axis=1)[:, None] + np.arange(3)) % 3
    _, first = np.unique(np.take_along_axis(place, turn, axis=1), axis=0, return_index=True)
    return corners[np.sort(first)]


def body_volumes(corners: Any, place: Any) -> Any:
    """Signed volume of every piece that hangs together, the largest first, (b,)."""
    body = _joined(place, place.max() + 1)[place[:, 0]]
    _, body = np.unique(body, return_inverse=True)
    points = np.asarray(corners, dtype=float).reshape(-1, 3, 3) - np.asarray(corners[0][:3], float)
    parts = np.einsum("ij,ij->i", points[:, 0], np.cross(points[:, 1], points[:, 2]))
    found = np.bincount(body, parts) / 6.0
    return found[np.argsort(-np.abs(found), kind="stable")]


def _unmatched(place: Any) -> tuple[Any, Any, Any]:
    """Edges (k, 2) walked more often this way than back, by how much, and how often in all."""
    count = np.int64(place.max() + 1)
    start = place.ravel().astype(np.int64)
    end = np.roll(place, -1, axis=1).ravel().astype(np.int64)
    real = start != end
    ways, often = np.unique((start * count + end)[real], return_counts=True)
    back = ways % count * count + ways // count
    at = np.searchsorted(ways, back).clip(max=len(ways) - 1)
    returned = np.where(ways[at] == back, often[at], 0)
    more = often > returned
    ends = np.stack([ways[more] // count, ways[more] % count], axis=1)
    return ends, (often - returned)[more], (often + returned)[more]


def _joined(groups: Any, count: int) -> Any:
    """Lowest number among all that hang together, for each of ``count``; groups (k, m)."""
    label = np.arange(count)
    while True:
        roots = label[groups]
        lowest = roots.min(axis=1)
        if np.array_equal(roots, np.broadcast_to(lowest[:, None], roots.shape)):
            return label
        np.minimum.at(label, roots.ravel(), np.repeat(lowest, groups.shape[1]))
        while not np.array_equal(label, label[label]):
            label = label[label]
