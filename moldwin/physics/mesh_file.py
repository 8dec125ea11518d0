"""Triangles from a mesh file: STL by our own reader, other kinds by a library, with care."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.physics._mesh_library import LIBRARY_ENDINGS, library_triangles

__all__ = ["ENDINGS", "MeshError", "read_triangles", "stl_bytes"]

#: Kinds of file, by the end of their name.
ENDINGS = (".stl", *LIBRARY_ENDINGS)

#: Record of a binary STL: normal, three corners, two bytes that mean nothing.
_RECORD = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (9,)), ("more", "<u2")])
_HEADER = 84
#: A binary file is mapped, not loaded, so that it may be large; text is loaded piece by piece.
_MOST_TRIANGLES = 20_000_000
_MOST_TEXT = 400_000_000
_PIECE = 8_000_000
_LONGEST_FACET = 4_000
_CORNER = re.compile(rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)")
#: The name of a body is anybody's: outer_ring and vertex_2 are none of the words of a facet.
_NAME = re.compile(rb"(?:end)?solid\b[^\r\n]*?(?=\bfacet\s+normal\b|[\r\n]|\Z)")
#: Three bytes that some editors set before a text.
_BYTE_ORDER = b"\xef\xbb\xbf"


class MeshError(ValueError):
    """A mesh file that cannot be used; the message says why.

    Parameters
    ----------
    message : str
        What is wrong, without the file's name. [-]

    Examples
    --------
    >>> str(MeshError("is empty"))
    'is empty'
    """

    def __init__(self, message: str) -> None:
        super().__init__(message)


def read_triangles(path: str | Path) -> tuple[Any, str | None]:
    """The corners of every triangle of a mesh file.

    Parameters
    ----------
    path : str or pathlib.Path
        STL, binary or text; 3MF, OBJ or PLY where the library for them is installed. [-]

    Returns
    -------
    array, shape (n, 9)
        Corners one after the other, as the file has them; a binary STL stays on the disk and is
        read as it is used. [the file's unit]
    str or None
        The unit the file itself names, as only 3MF does. [-]

    Raises
    ------
    MeshError
        A ``ValueError``: no such file, a folder or device, empty, truncated, larger than can be
        read safely, not of its kind, or a library is missing.

    Notes
    -----
    Nothing is taken on trust: a header that announces more than the file holds is refused before
    memory is asked for, and only ordinary files are opened. Whether a STL is text or binary is told
    by its length, for programs write "solid" at the start of either.

    Examples
    --------
    >>> read_triangles("no-such-file.stl")
    Traceback (most recent call last):
    ...
    moldwin.physics.mesh_file.MeshError: there is no such file
    """
    path = Path(path)
    size = _ordinary_size(path)
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise MeshError(f"is none of the kinds that can be read: {', '.join(ENDINGS)}")
    if size == 0:
        raise MeshError("is empty: 0 bytes")
    try:
        if ending in LIBRARY_ENDINGS:
            corners, unit = library_triangles(path, ending, size)
        else:
            corners, unit = _stl(path, size), None
    except OSError as error:
        raise MeshError(f"cannot be read: {error.strerror or error}") from None
    except MeshError:
        raise
    except ValueError as error:
        raise MeshError(str(error)) from None
    if len(corners) == 0:
        raise MeshError("holds no triangles")
    return corners, unit


def stl_bytes(corners: Any) -> bytes:
    """A binary STL of triangles.

    Parameters
    ----------
    corners : array, shape (n, 9)
        Corners one after the other, counterclockwise seen from outside. [the file's unit]

    Returns
    -------
    bytes
        The whole file; equal corners give equal bytes. [-]

    Notes
    -----
    Coordinates become single precision, as the format has them: seven digits.

    Examples
    --------
    >>> len(stl_bytes(np.zeros((2, 9))))
    184
    """
    points = np.asarray(corners, dtype=float).reshape(-1, 3, 3)
    normal = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    records = np.zeros(len(points), dtype=_RECORD)
    records["normal"] = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0)
    records["corners"] = points.reshape(-1, 9)
    return b"\0" * 80 + len(points).to_bytes(4, "little") + records.tobytes()


def _ordinary_size(path: Path) -> int:
    """Size of an ordinary file; nothing else is opened, for a pipe could be waited on forever."""
    try:
        status = os.stat(path)
    except FileNotFoundError:
        raise MeshError("there is no such file") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        raise MeshError(f"cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if stat.S_ISDIR(status.st_mode):
        raise MeshError("is a folder; name the file in it")
    if not stat.S_ISREG(status.st_mode):
        raise MeshError("is a device or a pipe; name an ordinary file")
    return status.st_size


def _stl(path: Path, size: int) -> Any:
    with open(path, "rb") as file:
        head = file.read(max(_HEADER, 512))
    announced = int.from_bytes(head[80:84], "little") if len(head) >= _HEADER else None
    if announced is not None and size == _HEADER + announced * _RECORD.itemsize:
        if announced > _MOST_TRIANGLES:
            raise MeshError(
                f"has {announced / 1e6:.0f} million triangles, at most "
                f"{_MOST_TRIANGLES / 1e6:.0f} million are read; simplify it"
            )
        if announced == 0:
            return np.empty((0, 9))
        return np.memmap(path, dtype=_RECORD, mode="r", offset=_HEADER)["corners"]
    text = b"\0" not in head[84:]
    if text and head.removeprefix(_BYTE_ORDER).lstrip().lower().startswith(b"solid"):
        return _text_stl(path, size)
    if announced is None:
        raise MeshError(f"is too short for a STL: {size} bytes")
    if text and b"\0" not in head:
        raise MeshError("is text, but no STL, whose text begins with the word solid")
    held = max(0, size - _HEADER) // _RECORD.itemsize
    if held < announced:
        raise MeshError(
            f"announces {announced} triangles and has room for {held}: it was cut off, or it "
            "is not a STL"
        )
    raise MeshError(
        f"announces {announced} triangles and is longer than they take: it is not a STL, or it "
        "was spoiled"
    )


def _text_stl(path: Path, size: int) -> Any:
    """Corners of a text STL, piece by piece so that its text is never in memory as a whole."""
    if size > _MOST_TEXT:
        raise MeshError(
            f"has {size / 1e6:.0f} MB of text, at most {_MOST_TEXT / 1e6:.0f} MB are read; save it "
            "as binary STL"
        )
    found, rest, last = [], b"", b""
    with open(path, "rb") as file:
        while piece := file.read(_PIECE):
            text = rest + piece.lower()  # some programs write it in capitals
            whole, end, rest = text.rpartition(b"endfacet")
            if not end and len(text) > _PIECE + _LONGEST_FACET:
                raise MeshError("begins like a text STL, but no facet ends")
            found.append(_corners_in(whole))
            last = (last + text)[-200:]
    if b"vertex" in _NAME.sub(b"", rest) or b"endsolid" not in last:
        raise MeshError("is a text STL that was cut off: its last line, endsolid, is missing")
    return np.concatenate(found)


def _corners_in(text: bytes) -> Any:
    """Triangles of whole facets, (n, 9)."""
    if b"solid" in text:
        text = _NAME.sub(b"", text)
    words = _CORNER.findall(text)
    if (
        len(words) != text.count(b"vertex")
        or len(words) % 3
        or len(words) != 3 * text.count(b"outer")
    ):
        raise MeshError("is no text STL: a facet has three lines of a vertex with three numbers")
    try:
        return np.array(words, dtype=np.bytes_).reshape(-1, 9).astype(float)
    except ValueError:
        if any(b"," in word for corner in words for word in corner):
            raise MeshError(
                "writes its numbers with commas; save it with decimal points, or as binary STL"
            ) from None
        raise MeshError("is no text STL: a corner is not three numbers") from None
