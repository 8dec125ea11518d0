"""One pass over the triangles of a mesh: volume, area, bounds, and whether its edges cancel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

__all__ = ["NOT_FINITE", "Totals", "corner_hashes", "signed_volume", "totals"]

#: Triangles worked on at once: what they take stays in the processor's own memory.
_CHUNK = 4096
#: After this many chunks whoever waits is told.
_TICK = 128

NOT_FINITE = "has a corner that is not a finite number: NaN, infinite or far too large"
#: No part is so large in any unit, and products of three such numbers can still be told.
_FARTHEST = 1e30

_U = np.uint64
#: Odd numbers without pattern (from well-known 64-bit mixing functions), one for each word.
_WORDS = tuple(
    _U(k)
    for k in (
        0x9E3779B97F4A7C15,
        0xC2B2AE3D27D4EB4F,
        0x165667B19E3779F9,
        0xD6E8FEB86659FD93,
        0xA0761D6478BD642F,
        0xE7037ED1A0B428DB,
    )
)
_MIX, _TURN = _U(0xFF51AFD7ED558CCD), _U(0xC4CEB9FE1A85EC53)
_SHIFTS = tuple(_U(k) for k in (32, 29))

_Tick = Callable[[int, int], None] | None


class Totals(NamedTuple):
    """Signed volume, area, lowest and highest corner, sum of edges."""

    volume: float
    area: float
    low: Any
    high: Any
    edges: int


def totals(corners: Any, tick: _Tick = None) -> Totals:
    """All of it for corners (n, 9), in their own unit.

    ``edges`` is 0 where every edge is walked once each way, as on a closed, well-turned surface.
    Each directed edge gets 64 bits by a hash that depends on its direction; what an edge adds, the
    same edge walked back takes away. Another sum than 0 proves an open edge; 0 by chance has odds
    of 1 in 2^64.

    Raises ``ValueError`` where a corner is not a finite number.
    """
    count = len(corners)
    volume = area = 0.0
    low, high = np.full(9, np.inf), np.full(9, -np.inf)
    edges = 0
    own = np.empty((9, _CHUNK), dtype=corners.dtype)
    wide = np.empty((9, _CHUNK))
    for start in range(0, count, _CHUNK):
        size = min(_CHUNK, count - start)
        piece, exact = own[:, :size], wide[:, :size]
        # adding nothing turns -0 into 0, which is the same place in other bits
        np.add(corners[start : start + size].T, corners.dtype.type(0), out=piece)
        np.minimum(low, piece.min(axis=1), out=low)
        np.maximum(high, piece.max(axis=1), out=high)
        edges += _edges_of(piece)
        exact[...] = piece
        with np.errstate(all="ignore"):  # told below, once
            part, covered = _volume_and_area(exact)
        volume += part
        area += covered
        if tick is not None and start // _CHUNK % _TICK == 0:
            tick(start, count)
    if not np.isfinite(volume + area):
        raise ValueError(NOT_FINITE)
    farthest = float(max(-low.min(), high.max()))
    if farthest > _FARTHEST:
        raise ValueError(f"a corner lies {farthest:.3g} units away, allowed: {_FARTHEST:g}")
    return Totals(
        volume / 6.0,
        area / 2.0,
        low.reshape(3, 3).min(axis=0),
        high.reshape(3, 3).max(axis=0),
        edges % 2**64,
    )


def signed_volume(corners: Any) -> float:
    """Volume alone of corners (n, 9); negative where the surface is inside out.

    Raises ``ValueError`` where a corner is not a finite number.
    """
    wide = np.empty((9, _CHUNK))
    volume = 0.0
    for start in range(0, len(corners), _CHUNK):
        size = min(_CHUNK, len(corners) - start)
        piece = wide[:, :size]
        piece[...] = corners[start : start + size].T
        with np.errstate(all="ignore"):
            volume += _sixfold(piece, _normal(piece))
    if not np.isfinite(volume):
        raise ValueError(NOT_FINITE)
    return volume / 6.0


def corner_hashes(points: Any) -> Any:
    """64 bits for each of points (n, 3) without negative zeros, from all bits of its place."""
    return _hash_of(np.ascontiguousarray(points.T), 0)


def _normal(piece: Any) -> tuple[Any, Any, Any]:
    """Twice the area of each triangle, as a vector."""
    ax, ay, az = piece[3:6] - piece[:3]
    bx, by, bz = piece[6:9] - piece[:3]
    return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx


def _sixfold(piece: Any, normal: tuple[Any, Any, Any]) -> float:
    """Six times the volume between the triangles and the origin.

    By edges, not by three corners: far from the origin that loses digits with the distance, not
    with its cube.
    """
    return float(sum(np.dot(along, area) for along, area in zip(piece[:3], normal, strict=True)))


def _volume_and_area(piece: Any) -> tuple[float, float]:
    """Six times the volume, twice the area."""
    x, y, z = _normal(piece)
    volume = _sixfold(piece, (x, y, z))
    x *= x
    y *= y
    z *= z
    x += y
    x += z
    return volume, float(np.sqrt(x, out=x).sum())


def _edges_of(piece: Any) -> int:
    """Sum over the directed edges of corners (9, k) without negative zeros."""
    hashes = [_hash_of(piece, corner) for corner in range(3)]
    turned = [h * _TURN for h in hashes]
    found = 0
    for a, b in ((0, 1), (1, 2), (2, 0)):
        there = _mixed(turned[a] ^ hashes[b])
        there -= _mixed(turned[b] ^ hashes[a])
        found += int(there.sum())
    return found


def _hash_of(piece: Any, corner: int) -> Any:
    """64 bits for one corner of each triangle of (9, k), from all bits of its coordinates."""
    halves = piece.itemsize // 4  # a double has two words of 32 bits
    words = [
        piece[row].view("<u4")[half::halves]
        for row in range(3 * corner, 3 * corner + 3)
        for half in range(halves)
    ]
    found = words[0] * _WORDS[0]
    for word, factor in zip(words[1:], _WORDS[1:], strict=False):
        found += word * factor
    return _mixed(found)


def _mixed(values: Any) -> Any:
    """Every bit of the result depends on every bit that came; in place."""
    values ^= values >> _SHIFTS[0]
    values *= _MIX
    values ^= values >> _SHIFTS[1]
    return values
