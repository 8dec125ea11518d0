"""Meshes made in a test: closed forms, and ways to spoil them."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["BOX", "box", "text_stl", "torus", "torus_volume", "turned", "write_stl"]

_FACES = (
    (0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7), (0, 1, 5), (0, 5, 4),
    (1, 2, 6), (1, 6, 5), (2, 3, 7), (2, 7, 6), (3, 0, 4), (3, 4, 7),
)  # fmt: skip


def box(low: Any, high: Any) -> Any:
    """Twelve triangles, looking outward, (12, 9)."""
    (a, b, c), (d, e, f) = low, high
    corners = [(a, b, c), (d, b, c), (d, e, c), (a, e, c)]
    corners += [(x, y, f) for x, y, _ in corners]
    return np.array([[corners[i] for i in face] for face in _FACES], float).reshape(-1, 9)


BOX = box((0, 0, 0), (80, 10, 4))


def torus(around: int, across: int, ring: float = 30.0, tube: float = 10.0) -> Any:
    """A ring of ``around`` pieces whose section is a polygon of ``across`` corners, (n, 9)."""
    u, w = (np.arange(n) * 2 * np.pi / n for n in (around, across))
    u, w = np.meshgrid(u, w, indexing="ij")
    reach = ring + tube * np.cos(w)
    a = np.stack([reach * np.cos(u), reach * np.sin(u), tube * np.sin(w)], axis=-1)
    b = np.roll(a, -1, axis=0)
    c, d = np.roll(b, -1, axis=1), np.roll(a, -1, axis=1)
    return np.concatenate([np.stack([a, b, c], 2), np.stack([a, c, d], 2)]).reshape(-1, 9)


def torus_volume(around: int, across: int, ring: float = 30.0, tube: float = 10.0) -> float:
    """Of that very body of flat faces: each piece is a wedge of chords (Pappus)."""
    section = across / 2 * tube**2 * np.sin(2 * np.pi / across)
    return float(around * np.sin(2 * np.pi / around) * ring * section)


def turned(corners: Any) -> Any:
    """The same surface inside out."""
    return corners.reshape(-1, 3, 3)[:, ::-1].reshape(-1, 9)


def write_stl(path: Path, corners: Any, count: int | None = None, header: bytes = b"") -> Path:
    """A binary STL by the standard library; the header may lie about the count."""
    corners = np.asarray(corners, dtype="<f4").reshape(-1, 9)
    with path.open("wb") as file:
        file.write(header.ljust(80, b"\0"))
        file.write(struct.pack("<I", len(corners) if count is None else count))
        records = np.zeros(len(corners), [("n", "<f4", 3), ("c", "<f4", 9), ("m", "<u2")])
        records["c"] = corners
        file.write(records.tobytes())
    return path


def text_stl(path: Path, corners: Any) -> Path:
    """A text STL with all digits of a double."""
    lines = ["solid made in a test"]
    for row in np.asarray(corners, float).reshape(-1, 3, 3).tolist():
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {x!r} {y!r} {z!r}" for x, y, z in row]
        lines += [" endloop", "endfacet"]
    path.write_text("\n".join([*lines, "endsolid made in a test", ""]), encoding="ascii")
    return path
