"""A part as a mesh: what its surface encloses, whether it closes, and what molding asks of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.physics._mesh_columns import columns
from moldwin.physics._mesh_edges import body_volumes, holes, places, welded, without_twins
from moldwin.physics._mesh_flow import longest_way
from moldwin.physics._mesh_totals import signed_volume, totals
from moldwin.physics._mesh_walls import walls
from moldwin.physics.mesh_file import MeshError, read_triangles

__all__ = ["UNITS", "MeshPart", "MeshSize", "measure", "mesh_part", "mesh_volume"]

_NO_VOLUME = "encloses no volume: it is a sheet, or its halves cancel"

#: Meters in each unit a mesh may be drawn in.
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}

#: Below this many triangles the verdict of the hash is held against the edges themselves.
_EXACT = 100_000
#: Above this many only totals are formed: walls and ways would take minutes and gigabytes.
_MOST_FOR_A_PART = 3_000_000
#: Corners that miss each other by no more than this share of the longest side leave no hole.
_SEAM = 1e-4
#: A surface that is not closed is taken where its lids leave this little doubt.
_DOUBT = 0.05
#: Share of the volume in more than one body that is more than the columns' own error.
_DOUBLED = 0.005


@dataclass(frozen=True)
class MeshSize:
    """What a surface encloses.

    Parameters
    ----------
    volume : float
        Enclosed; of a surface that is not closed, with flat lids over its holes. Where corners
        miss each other by a ten-thousandth of the longest side no hole is seen. [m3]
    volume_low, volume_high : float
        The same where it is closed; else how far lids that bulge would change it, 0 and infinite
        where there are too many triangles to look at the holes. [m3]
    area : float
        Of the surface. [m2]
    closed : bool
        Every edge is walked once each way: nothing missing, nothing turned. [-]
    inside_out : bool
        The surface looks inward; the volume is counted outward all the same. [-]
    triangles : int
        How many. [-]
    low, high : tuple of float
        Corners of the box around it. [m]
    open_edges, turned_edges : int
        Edges with a triangle missing, and between triangles that are turned against each other.
        [-]
    file_unit : str or None
        The unit that the file itself names. [-]

    Examples
    --------
    >>> size = MeshSize(1e-6, 1e-6, 1e-6, 6e-4, True, False, 12, (0, 0, 0), (0.01, 0.01, 0.01))
    >>> size.extent
    (0.01, 0.01, 0.01)
    """

    volume: float
    volume_low: float
    volume_high: float
    area: float
    closed: bool
    inside_out: bool
    triangles: int
    low: tuple[float, ...]
    high: tuple[float, ...]
    open_edges: int = 0
    turned_edges: int = 0
    file_unit: str | None = None

    @property
    def extent(self) -> tuple[float, ...]:
        """Sides of the box around it. [m]"""
        return tuple(high - low for low, high in zip(self.low, self.high, strict=True))


@dataclass(frozen=True)
class MeshPart:
    """What molding asks of a part that is given as a mesh.

    Parameters
    ----------
    size : MeshSize
        Volume, area, box. [SI]
    volume : float
        Of the material; where bodies overlap, what they share is counted once. [m3]
    doubled_share : float
        Share of the volume that lies in more than one body, 0 where it is within the error. [-]
    bodies, voids : int
        Pieces that do not hang together, and hollows inside. [-]
    projected_area : float
        Shadow along the axis of the clamp. [m2]
    wall, thickest : float
        Half of the surface has no more than this behind it; the largest ball that fits in. [m]
    thick_spot : tuple of float
        Where that ball lies. [m]
    flow_length : float
        Longest way of the melt. [m]
    gate, last : tuple of float
        Where it starts and ends. [m]
    followed : bool
        False where the walls are too thin for the way to be followed: then the length is the box's
        diagonal. [-]
    corners : array, shape (n, 9)
        The surface, looking outward. [m]
    twins : int
        Triangles that were there more than once and left open edges; they are counted once. [-]

    Examples
    --------
    >>> from moldwin.physics.mesh import mesh_part  # from a file
    """

    size: MeshSize
    volume: float
    doubled_share: float
    bodies: int
    voids: int
    projected_area: float
    wall: float
    thickest: float
    thick_spot: tuple[float, ...]
    flow_length: float
    gate: tuple[float, ...]
    last: tuple[float, ...]
    followed: bool
    corners: Any
    twins: int = 0


def measure(
    path: str | Path, unit: str, *, tick: Callable[[int, int], None] | None = None
) -> MeshSize:
    """Volume, area and closedness of a mesh file.

    Parameters
    ----------
    path : str or pathlib.Path
        STL, binary or text; 3MF, OBJ or PLY where the library for them is installed. [-]
    unit : str
        Unit it is drawn in: ``"mm"``, ``"cm"``, ``"m"`` or ``"in"``. [-]
    tick : callable, optional
        Told how many triangles of how many are done. [-]

    Returns
    -------
    MeshSize
        [SI]

    Raises
    ------
    ValueError
        An unknown unit; as `MeshError`, a file that cannot be used, or corners that are no numbers.

    Notes
    -----
    By the divergence theorem, exact for the triangles there are. Closed means that the directed
    edges cancel: found by a sum of hashes, confirmed edge by edge below a hundred thousand
    triangles. Two corners are the same place only if all their bits are.

    Examples
    --------
    >>> measure("no-such-file.stl", "mm")
    Traceback (most recent call last):
    ...
    moldwin.physics.mesh_file.MeshError: there is no such file
    """
    scale = _scale(unit)
    corners, file_unit = read_triangles(path)
    return _size(corners, scale, file_unit, tick)


def mesh_volume(path: str | Path, unit: str) -> float:
    """Volume of a mesh file and nothing else.

    Parameters
    ----------
    path : str or pathlib.Path
        As for `measure`. [-]
    unit : str
        Unit it is drawn in. [-]

    Returns
    -------
    float
        Volume between the triangles, negative where they look inward; whether they close is not
        looked at. [m3]

    Raises
    ------
    ValueError
        An unknown unit, or a file that cannot be used.

    Notes
    -----
    Three times as fast as `measure`. Of an open surface it means nothing.

    Examples
    --------
    >>> mesh_volume("part.stl", "furlong")
    Traceback (most recent call last):
    ...
    ValueError: unknown unit 'furlong'; known: mm, cm, m, in
    """
    scale = _scale(unit)
    corners, _ = read_triangles(path)
    try:
        return signed_volume(corners) * scale**3
    except ValueError as error:
        raise MeshError(str(error)) from None


def mesh_part(
    path: str | Path,
    unit: str,
    *,
    axis: int = 2,
    gate: Sequence[float] | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> MeshPart:
    """A part from a mesh file: its volume, shadow, walls and the melt's way.

    Parameters
    ----------
    path : str or pathlib.Path
        As for `measure`. [-]
    unit : str
        Unit it is drawn in. [-]
    axis : int, optional
        Along which the clamp holds: 0, 1, 2 for x, y, z. [-]
    gate : sequence of float, shape (3,), optional
        Where the melt comes in; left out, the worst place there is. [m]
    tick : callable, optional
        Told how many steps of how many are done. [-]

    Returns
    -------
    MeshPart
        [SI]

    Raises
    ------
    ValueError
        As `measure`; too many triangles, a surface without volume or too open to trust it, or a
        gate far from the part.

    Notes
    -----
    The shadow, and what bodies share, are counted in columns, 256 along the longer side. Walls are
    sampled by rays and balls at some hundred places, good to about 3 %; only where three walls
    meet in one corner the ball comes out up to 8 % small. The way is followed from cell to cell
    and comes out 0 to 5 % long, in a flat part 0 to 3 %. A round bar is no thicker here than a
    plate as thick as its diameter, though it cools in less than half the time.

    Examples
    --------
    >>> mesh_part("no-such-file.stl", "mm")
    Traceback (most recent call last):
    ...
    moldwin.physics.mesh_file.MeshError: there is no such file
    """
    scale = _scale(unit)
    done = _Steps(tick)
    corners, file_unit = read_triangles(path)
    done.step()
    size = _size(corners, scale, file_unit, None)
    done.step()
    if size.triangles > _MOST_FOR_A_PART:
        raise MeshError(
            f"has {size.triangles / 1e6:.1f} million triangles, for walls and flow at most "
            f"{_MOST_FOR_A_PART / 1e6:.0f} million are looked at; simplify it"
        )
    twins = 0
    if not size.closed:
        kept = without_twins(corners, places(corners))
        twins = len(corners) - len(kept)
        if twins:
            corners, size = kept, _size(kept, scale, file_unit, None)
    if not size.volume > 1e-6 * size.area * max(size.extent):
        raise MeshError(_NO_VOLUME)
    if not size.closed and size.volume_high - size.volume_low > 2.0 * _DOUBT * size.volume:
        raise MeshError(
            f"is too open for its volume to be trusted ({1e6 * size.volume_low:.3g} to "
            f"{1e6 * size.volume_high:.3g} cm3, {size.open_edges} open and {size.turned_edges} "
            "turned edges); mend it in the program that drew it"
        )
    meters = np.array(corners, dtype=float) * scale
    if size.inside_out:
        meters = meters.reshape(-1, 3, 3)[:, ::-1].reshape(-1, 9)
    parts = body_volumes(meters, places(meters))
    done.step()
    fine = columns(meters, axis)
    done.step()
    if fine.solid <= 0.0:
        raise MeshError(_NO_VOLUME)
    doubled = fine.doubled / fine.solid
    doubled = doubled if doubled > _DOUBLED else 0.0
    thick = walls(meters)
    done.step()
    way = longest_way(meters, size.volume, axis, gate)
    done.step()
    return MeshPart(
        size=size,
        volume=size.volume / (1.0 + doubled),
        doubled_share=doubled,
        bodies=int(np.count_nonzero(parts > 0.0)),
        voids=int(np.count_nonzero(parts < 0.0)),
        projected_area=fine.shadow,
        wall=thick.wall,
        thickest=max(thick.thickest, thick.wall),
        thick_spot=tuple(thick.thick_spot.tolist()),
        flow_length=way.length,
        gate=tuple(way.gate.tolist()),
        last=tuple(way.last.tolist()),
        followed=way.followed,
        corners=meters,
        twins=twins,
    )


class _Steps:
    """Tells whoever waits which of the steps of a part is done."""

    _ALL = 6

    def __init__(self, tick: Callable[[int, int], None] | None) -> None:
        self._tick, self._done = tick, 0

    def step(self) -> None:
        self._done += 1
        if self._tick is not None:
            self._tick(self._done, self._ALL)


def _scale(unit: str) -> float:
    if unit not in UNITS:
        raise ValueError(f"unknown unit {unit!r}; known: {', '.join(UNITS)}")
    return UNITS[unit]


def _size(
    corners: Any, scale: float, file_unit: str | None, tick: Callable[[int, int], None] | None
) -> MeshSize:
    try:
        found = totals(corners, tick)
    except ValueError as error:
        raise MeshError(str(error)) from None
    volume, spread, unclosed = found.volume, 0.0, (0, 0)
    if found.edges != 0 and len(corners) > _MOST_FOR_A_PART:
        spread = np.inf  # to look at every edge would take gigabytes
    elif found.edges != 0 or len(corners) <= _EXACT:
        place = places(corners)
        gaps = holes(corners, place)
        unclosed = (gaps.open, gaps.turned)
        if unclosed != (0, 0):
            reach = _SEAM * float((found.high - found.low).max())
            gaps = holes(corners, welded(corners, place, reach)) if reach > 0.0 else gaps
            spread = gaps.spread + reach * found.area
        volume += gaps.volume
    closed = found.edges == 0 and unclosed == (0, 0)
    size = abs(volume)
    low, high = ((ends * scale).tolist() for ends in (found.low, found.high))
    return MeshSize(
        volume=size * scale**3,
        volume_low=max(size - spread, 0.0) * scale**3,
        volume_high=(size + spread) * scale**3,
        area=found.area * scale**2,
        closed=closed,
        inside_out=volume < 0.0,
        triangles=len(corners),
        low=tuple(low),
        high=tuple(high),
        open_edges=unclosed[0],
        turned_edges=unclosed[1],
        file_unit=file_unit,
    )
