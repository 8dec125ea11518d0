"""Kinds of mesh that a well-kept library reads, and what is looked at before it may."""

from __future__ import annotations

import io
import re
from importlib.util import find_spec
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from moldwin.physics._mesh_archive import check_archive

__all__ = ["LIBRARY_ENDINGS", "library_triangles"]

LIBRARY_ENDINGS = (".3mf", ".obj", ".ply")

#: The library holds a file several times over in memory. [bytes]
_MOST_BYTES = 60_000_000
#: Corners and faces of a PLY written as text take some 500 bytes each.
_MOST_LINES = 2_000_000
_COUNTS = re.compile(rb"[\r\n]\s*element\s+\w+\s+(\d+)")
_NEEDED = {".3mf": ("trimesh", "lxml", "networkx"), ".obj": ("trimesh",), ".ply": ("trimesh",)}
_UNITS = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in"}


def library_triangles(path: Path, ending: str, size: int) -> tuple[Any, str | None]:
    """Corners (n, 9) and the file's own unit; ``ValueError`` says what is wrong."""
    missing = [name for name in _NEEDED[ending] if find_spec(name) is None]
    if missing:
        raise ValueError(
            f"needs {' and '.join(missing)} to be read; pip install 'moldwin[mesh]' brings it, or "
            "save the part as STL"
        )
    if size > _MOST_BYTES:
        raise ValueError(
            f"has {size / 1e6:.0f} MB, at most {_MOST_BYTES / 1e6:.0f} MB of this kind are read; "
            "save it as binary STL"
        )
    if ending == ".3mf":
        check_archive(path)
    if ending == ".obj":
        _check_text(path)
    if ending == ".ply":
        _check_counts(path, size)
    return _loaded(path, ending)


def _loaded(path: Path, ending: str) -> tuple[Any, str | None]:
    import trimesh

    try:
        with _opened(path, ending) as file:
            # from an open file it follows no names of other files that this one may hold
            scene = trimesh.load_scene(
                file, file_type=ending.removeprefix("."), process=False, skip_materials=True
            )
        mesh = scene.to_mesh()
        corners = np.asarray(mesh.triangles, dtype=float).reshape(-1, 9)
        unit = _UNITS.get(str(scene.units).removesuffix("s"))
    except MemoryError:
        raise ValueError("does not fit into memory") from None
    except Exception as error:  # the library lets through whatever a spoiled file stumbles over
        raise ValueError(
            f"cannot be read as {ending.removeprefix('.').upper()} ({type(error).__name__}): "
            "spoiled, or of another kind than its name says"
        ) from None
    return corners, unit


def _opened(path: Path, ending: str) -> BinaryIO:
    """The file; of an OBJ letters that are not UTF-8 are only in names, which nobody needs."""
    if ending != ".obj":
        return open(path, "rb")
    return io.BytesIO(path.read_bytes().decode("utf-8", "replace").encode())


def _check_text(path: Path) -> None:
    with open(path, "rb") as file:
        if b"\0" in file.read(4_096):
            raise ValueError("is no OBJ: it is not text")


def _check_counts(path: Path, size: int) -> None:
    """No element of a PLY takes less than a byte, whatever its header announces."""
    with open(path, "rb") as file:
        header, end, _ = file.read(65_536).partition(b"end_header")
    if not end:
        raise ValueError("is no PLY: its header has no end")
    announced = sum(int(count) for count in _COUNTS.findall(header))
    if announced > size:
        raise ValueError(f"announces {announced} elements in {size} bytes: it was cut off")
    if announced > _MOST_LINES and b"format ascii" in header:
        raise ValueError(
            f"has {announced / 1e6:.1f} million corners and faces as text, at most "
            f"{_MOST_LINES / 1e6:.0f} million are read; save it as binary STL"
        )
