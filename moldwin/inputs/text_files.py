"""Text files read with care: no device is waited on, nothing huge is loaded, nothing is guessed."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError, nearest

__all__ = ["MAX_BYTES", "printable", "read_text"]

#: Far more than any job or table of weighings needs. [bytes]
MAX_BYTES = 1_000_000

_UTF16 = (b"\xff\xfe", b"\xfe\xff")


def read_text(path: str | Path, most: int = MAX_BYTES) -> str:
    """The text of an ordinary UTF-8 file; a leading byte order mark is passed over.

    Parameters
    ----------
    path : str or pathlib.Path
        The file. [-]
    most : int
        Bytes it may hold. [-]

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputError
        Missing, a folder, a device, larger than that, not text, or not UTF-8.
    """
    trouble = _trouble_before_opening(Path(path), most)
    if trouble:
        raise _error(path, trouble)
    try:
        with open(path, "rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        raise _error(path, f"cannot be read: {error.strerror or error}") from None
    if len(data) > most:
        raise _error(path, f"is larger than {most / 1e6:.0f} MB; is it the right file?")
    return _decoded(path, data)


def printable(value: Any, longest: int = 60) -> str:
    """A value for a message: control characters escaped, long ones cut short.

    Parameters
    ----------
    value : object
        What came. [-]
    longest : int
        Characters kept. [-]

    Returns
    -------
    str
        Safe to print on a terminal.

    Examples
    --------
    >>> printable("a\\x1b[31mb"), printable("x" * 100, 5)
    ('a\\\\x1b[31mb', 'xxxxx…')
    """
    text = str(value)
    cut = text[:longest]
    safe = "".join(
        c if c.isprintable() else c.encode("unicode_escape", "backslashreplace").decode()
        for c in cut
    )
    return safe + ("…" if len(text) > longest else "")


def _error(path: str | Path, message: str) -> InputError:
    return InputError([Fault(printable(path, 200), "", message)])


def _trouble_before_opening(path: Path, most: int) -> str:
    """Why the path should not even be opened: opening a pipe or device could wait forever."""
    try:
        status = os.stat(path)
    except FileNotFoundError:
        return f"there is no such file{_offer(path)}"
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        return f"cannot be read: {getattr(error, 'strerror', None) or error}"
    if stat.S_ISDIR(status.st_mode):
        return "is a folder; name the file in it"
    if not stat.S_ISREG(status.st_mode):
        return "is a device or a pipe; name an ordinary file"
    if status.st_size > most:
        allowed = f"{most / 1e6:.0f} MB"
        return f"has {status.st_size / 1e6:.1f} MB, allowed is {allowed}; is it the right file?"
    return ""


def _offer(path: Path) -> str:
    """The nearest file name in the same folder, if there is one."""
    if path.is_symlink():
        return "; it is a link to a file that is gone"
    try:
        names = [printable(name) for name in os.listdir(path.parent)]
    except OSError:
        return ""
    return nearest(path.name, names)


def _decoded(path: str | Path, data: bytes) -> str:
    if data.startswith(_UTF16):
        raise _error(path, "is UTF-16 text; save it as UTF-8")
    if b"\0" in data:
        raise _error(path, "is not a text file; a job is a TOML text file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = "is not UTF-8 text; save it as UTF-8 in the editor"
        raise InputError([Fault(printable(path, 200), "", message, line)]) from None
