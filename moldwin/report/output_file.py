"""Files the user asks for: refused early where they cannot be, written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable

__all__ = ["checked_target", "write_whole"]


def checked_target(path: str, endings: Sequence[str], *, force: bool = False) -> Path:
    """Where to write, after a look at everything that would stop it.

    Parameters
    ----------
    path : str
        The file as the user named it. [-]
    endings : sequence of str
        Endings that can be made, such as ``".png"``. [-]
    force : bool, optional
        Whether a file that is there may be replaced. [-]

    Returns
    -------
    pathlib.Path
        The file itself, behind any link.

    Raises
    ------
    InputError
        An ending that cannot be made, a missing or read-only folder, a folder or device in the
        file's place, or a file that would be overwritten without ``force``.
    """
    trouble = _trouble(path, endings, force)
    if trouble:
        raise _refused(path, trouble)
    return Path(os.path.realpath(path))


def write_whole(target: Path, data: bytes) -> None:
    """Write a file beside its place and move it there, so that no half of it is ever seen.

    Parameters
    ----------
    target : pathlib.Path
        From `checked_target`. [-]
    data : bytes
        All of it. [-]

    Raises
    ------
    InputError
        The disk is full, or the folder has become read-only meanwhile.
    """
    beside = target.with_name(f".{target.name[:100]}.{os.getpid()}.part")
    try:
        try:
            with open(beside, "xb") as file:
                file.write(data)
            os.replace(beside, target)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        raise _refused(str(target), f"cannot be written: {error.strerror or error}") from None


def _trouble(path: str, endings: Sequence[str], force: bool) -> str:
    if not path.strip() or "\0" in path:
        return "is no name for a file"
    if os.path.isdir(path):
        return "is a folder; name the file to write in it"
    ending = Path(path).suffix
    if ending.lower() not in endings:
        came = f"ends in {printable(ending)}" if ending else "has no ending"
        return f"{came}, which says what to make; allowed: {', '.join(endings)}"
    real = os.path.realpath(path)
    folder = os.path.dirname(real)
    if not os.path.isdir(folder):
        return "cannot be written: there is no such folder"
    if not os.access(folder, os.W_OK | os.X_OK):
        return "cannot be written: its folder is read-only"
    if os.path.exists(real) and not os.path.isfile(real):
        return "is a device or a pipe; name an ordinary file"
    if os.path.exists(real) and not force:
        return "is there already; --force overwrites it"
    return ""


def _refused(path: str, message: str) -> InputError:
    return InputError([Fault(printable(path, 200), "", message)])
