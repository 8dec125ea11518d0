"""Files the user asks for: refused early where they cannot be, written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Sequence
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable

__all__ = ["checked_target", "write_whole"]

#: What a new file may be at most, before the user's own mask. [-]
_NEW_FILE = 0o666


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
        The file itself, behind a link within its folder.

    Raises
    ------
    InputError
        An ending that cannot be made, a missing or read-only folder, a folder or device in the
        file's place, a link that leads out of the folder that was named, or a file that would be
        overwritten without ``force``.
    """
    trouble = _trouble(path, endings, force)
    if trouble:
        raise _refused(path, trouble)
    target = Path(os.path.realpath(path))
    if target.parent != Path(os.path.realpath(os.path.dirname(os.path.abspath(path)))):
        raise _refused(path, "is a link that leads out of its folder; name the file itself")
    return target


def write_whole(
    target: Path, data: bytes, *, like: os.stat_result | None = None, named: str | None = None
) -> None:
    """Write a file beside its place and move it there, so that no half of it is ever seen.

    Parameters
    ----------
    target : pathlib.Path
        The file itself, as from `checked_target`. [-]
    data : bytes
        All of it. [-]
    like : os.stat_result, optional
        Mode and owner to keep: those of the file that is replaced. [-]
    named : str, optional
        The file as the user named it, for the message. [-]

    Raises
    ------
    InputError
        The disk is full, or the folder has become read-only meanwhile.
    """
    beside = target.with_name(f".{target.name[:100]}.{os.getpid()}.part")
    mode = _NEW_FILE if like is None else stat.S_IMODE(like.st_mode)
    try:
        try:
            with open(beside, "xb", opener=lambda path, how: os.open(path, how, mode)) as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if like is not None:
                os.chmod(beside, mode)  # the mask took some of it
                with contextlib.suppress(OSError, AttributeError):  # only root gives files away
                    os.chown(beside, like.st_uid, like.st_gid)
            os.replace(beside, target)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        message = f"cannot be written: {error.strerror or error}"
        raise _refused(named or str(target), message) from None


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
