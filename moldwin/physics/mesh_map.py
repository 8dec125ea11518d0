"""A part as light through it would show it: how much material lies along one axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._mesh_columns import columns
from moldwin.physics.mesh import MeshPart

__all__ = ["ThicknessMap", "thickness_map"]


@dataclass(frozen=True)
class ThicknessMap:
    """How much material lies along one axis, seen along it.

    Parameters
    ----------
    depth : array, shape (m, n)
        Of material in each cell, along the two other axes in their order. [m]
    box : tuple of float
        Lowest and highest edge along the first of them, then along the second. [m]

    Examples
    --------
    >>> ThicknessMap(np.zeros((2, 3)), (0.0, 0.02, 0.0, 0.03)).depth.shape
    (2, 3)
    """

    depth: Any
    box: tuple[float, float, float, float]


def thickness_map(part: MeshPart, axis: int) -> ThicknessMap:
    """The part in its mold as light through it would show it.

    Parameters
    ----------
    part : MeshPart
        As from `mesh_part`. [SI]
    axis : int
        Along which it is looked through: 0, 1, 2 for x, y, z. [-]

    Returns
    -------
    ThicknessMap
        [SI]

    Notes
    -----
    In columns, 256 along the longer side; good for a picture, not for a measure.

    Examples
    --------
    >>> from moldwin.physics.mesh import mesh_part
    >>> thickness_map(mesh_part("no-such-file.stl", "mm"), 2)
    Traceback (most recent call last):
    ...
    moldwin.physics.mesh_file.MeshError: there is no such file
    """
    found = columns(part.corners, axis)
    depth = np.bincount(
        found.column, found.end - found.start, minlength=found.cells[0] * found.cells[1]
    )
    high = found.low + np.array(found.sides) * found.cells
    return ThicknessMap(depth.reshape(found.cells), (found.low[0], high[0], found.low[1], high[1]))
