"""Nodes inside a body, crowded toward its surface, and the slab, cylinder or sphere round them.

A body is known by its dimension d: the area at the depth of radius r grows as r^(d-1). Slab,
cylinder and sphere are 1, 2 and 3; between and beyond them lie the stand-ins for short cylinders.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

__all__: list[str] = []


#: Rows of the heart and the surface, in the order in which a grid keeps its nodes.
HEART, SURFACE = 0, 1


@dataclass(frozen=True)
class Grid:
    """Nodes of a body of half-thickness 1, kept from both ends inward: heart, surface, next ones.

    In that order each pair of rows can be eliminated at once; the middle node comes last.
    ``node`` is the number of each row's node counted from the heart, ``radius`` where it lies,
    and ``volume`` its share of the body. Neighbors are linked by area over distance, per volume of
    the body: potentials divided by ``unit``, in equations multiplied by it, are linked by exactly
    1, which spares the elimination a third of its work. ``links`` is the sum of a node's links, so
    multiplied twice. ``volume``, ``links`` and ``unit`` are columns.
    """

    dimension: float
    node: Any
    radius: Any
    volume: Any
    links: Any
    unit: Any

    def rows(self, nodes: Any) -> Any:
        """Rows in which nodes counted from the heart are kept."""
        return np.argsort(self.node)[nodes]


@lru_cache(maxsize=64)
def graded(dimension: float, cells: int, steepness: float) -> Grid:
    """A grid of an even number of cells whose size shrinks by exp(steepness) toward the surface.

    The spacing is a smooth function of the node's number, so that halving every cell quarters
    the error, as the extrapolation to cells of no size needs.
    """
    number = np.arange(cells + 1) / cells
    radius = 1.0 - np.expm1(steepness * (1.0 - number)) / np.expm1(steepness)
    edge = (radius[1:] + radius[:-1]) / 2
    volume = np.diff(np.concatenate([[0.0], edge, [1.0]]) ** dimension)
    link = dimension * edge ** (dimension - 1) / np.diff(radius)
    links = np.append(link, 0.0) + np.append(0.0, link)
    half = np.arange(cells // 2)
    node = np.append(np.stack([half, cells - half], axis=1).ravel(), cells // 2)
    unit = _units(link)
    columns = (a[node, None] for a in (volume, links * unit**2, unit))
    return Grid(dimension, node, radius[node], *columns)


def _units(link: Any) -> Any:
    """Numbers u at the nodes with u link u' = 1 between neighbors."""
    unit = np.ones(len(link) + 1)
    for i, between in enumerate(link):
        unit[i + 1] = 1.0 / (unit[i] * between)
    # One of them is free: the one that makes neighbors most alike.
    even = np.sqrt(np.exp(np.log(unit[1::2]).mean() - np.log(unit[::2]).mean()))
    unit[::2] *= even
    unit[1::2] /= even
    return unit


def steepness(biot: float) -> float:
    """How steep a grid must be for the largest Biot number it serves: thin skins need thin cells.

    Chosen by trial: weaker leaves the first moments wrong, steeper the late ones.
    """
    return float(np.clip(0.66 * np.log1p(biot), 2.0, 8.0))


def short_cylinder(aspect: float) -> tuple[float, float]:
    """Dimension of the body that stands in for a cylinder, and its half-thickness in radii.

    The two numbers are chosen so that surface over volume and the slowest rate of diffusion are
    those of the cylinder: right at first, right at last. Discs approach 1, rods 2, and stubby ones
    pass 3, since their corners are more open than any sphere.
    """
    from scipy import special

    over_volume = 2.0 + 1.0 / aspect
    rate = np.hypot(2.404825557695773, np.pi / 2 / aspect)
    low, high = 1.0, 5.0
    for _ in range(50):
        dimension = (low + high) / 2
        # The slowest mode of a body of dimension d ends at the first zero of J of order d/2 - 1.
        inside = special.jv(dimension / 2 - 1, rate * dimension / over_volume) > 0
        low, high = (dimension, high) if inside else (low, dimension)
    return low, low / over_volume
