"""Kinds of mesh that a well-kept library reads, and what is looked at before it may."""

from __future__ import annotations

import re
import zipfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["LIBRARY_ENDINGS", "library_triangles"]

LIBRARY_ENDINGS = (".3mf", ".obj", ".ply")

#: The library holds a file several times over in memory. [bytes]
_MOST_BYTES = 60_000_000
_MOST_UNPACKED = 200_000_000
_MOST_MEMBERS = 2_000
#: A document type stands before the first element; no mesh needs one, a bomb of entities does.
_PROLOG = 4_096
_COUNTS = re.compile(rb"^element\s+\w+\s+(\d+)", re.MULTILINE)
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
        _check_archive(path)
    if ending == ".ply":
        _check_counts(path, size)
    return _loaded(path, ending)


def _loaded(path: Path, ending: str) -> tuple[Any, str | None]:
    import trimesh

    try:
        with open(path, "rb") as file:
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


def _check_archive(path: Path) -> None:
    """A 3MF is a zip: its sizes are read from its list, and unpacking never goes beyond them."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            unpacked = sum(member.file_size for member in members)
            if unpacked > _MOST_UNPACKED or len(members) > _MOST_MEMBERS:
                raise ValueError(
                    f"unpacks to {unpacked / 1e6:.0f} MB in {len(members)} files, at most "
                    f"{_MOST_UNPACKED / 1e6:.0f} MB are read: a bomb, or save it as binary STL"
                )
            for member in members:
                if not member.filename.lower().endswith(".model"):
                    continue
                with archive.open(member) as model:
                    prolog = model.read(_PROLOG).replace(b"\0", b"")
                if b"<!DOCTYPE" in prolog or b"<!ENTITY" in prolog:
                    raise ValueError("declares a document type, which no 3MF needs: refused")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as error:
        raise ValueError(f"is no 3MF: it cannot be unpacked ({error})") from None


def _check_counts(path: Path, size: int) -> None:
    """No element of a PLY takes less than a byte, whatever its header announces."""
    with open(path, "rb") as file:
        header = file.read(65_536).partition(b"end_header")[0]
    announced = max((int(count) for count in _COUNTS.findall(header)), default=0)
    if announced > size:
        raise ValueError(f"announces {announced} elements in {size} bytes: it was cut off")
