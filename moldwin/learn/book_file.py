"""The file of a book of trials: is it one, may it be written, and how a new one comes about.

One SQLite file with a rollback journal, not a write-ahead log: at rest all of it lies in the one
file, so that copying that file copies every trial, and it can be read from a folder that cannot be
written. Writers wait for each other either way. ``synchronous = EXTRA`` is ``FULL`` plus a sync of
the folder once the journal is gone: without it the power may go after a commit and bring the
journal, and with it the state before, back.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import stat
import threading
import uuid
from collections.abc import Iterator
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable
from moldwin.learn.book_layout import APPLICATION_ID, lay_out, newest, upgrade, version_of

__all__ = ["damaged", "reading", "there_is", "writing"]

#: How long another writer is waited for. [s]
PATIENCE_S = 10.0

_MAGIC = b"SQLite format 3\0"
#: Of the file's header: enough to hold the application's id.
_HEADER, _ID_AT = 100, 68
_ANYONE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH

#: Closing any handle of a file drops this process's locks on it, SQLite's too: while one thread
#: looks at the header, no other may be writing.
_ONE_AT_A_TIME = threading.RLock()


def there_is(book: str | Path) -> bool:
    """Whether anything stands in the book's place, a dead link included."""
    return os.path.lexists(book)


@contextlib.contextmanager
def reading(book: str | Path) -> Iterator[sqlite3.Connection]:
    """A book to read; whatever is wrong with it becomes an `InputError`.

    Notes
    -----
    Opened for writing as far as the file allows, because a write that was killed must be rolled
    back before anything can be read; the caller's statements may only read. An older book is
    brought up to date in memory, and stays as it is on disk.
    """
    with _opened(book, write=False) as connection:
        connection.execute("PRAGMA query_only = ON")
        connection.execute("BEGIN")  # all that is read is of one moment
        _check_whole(book, connection)
        if _version(book, connection) == newest():
            yield connection
            return
        with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as copied:
            connection.backup(copied)
            upgrade(copied)
            yield copied


@contextlib.contextmanager
def writing(book: str | Path) -> Iterator[sqlite3.Connection]:
    """A book inside a transaction: kept as a whole when the block ends, or not at all.

    A book that is not there is made; an older one is brought up to date in the same transaction.
    """
    if not there_is(book):
        _create(book)
    with _opened(book, write=True) as connection:
        _check_whole(book, connection)
        _be_careful(connection)
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("BEGIN IMMEDIATE")
        try:
            if _version(book, connection) < newest():
                upgrade(connection)
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise


def damaged(book: str | Path, what: str) -> InputError:
    """The book says something it was never told."""
    return _refused(book, f"is damaged: {what}; put back a copy of the file")


@contextlib.contextmanager
def _opened(book: str | Path, *, write: bool) -> Iterator[sqlite3.Connection]:
    with _ONE_AT_A_TIME, _in_plain_words(book):
        real = _checked(book, write)
        connection = sqlite3.connect(
            f"{real.as_uri()}?mode=rw", uri=True, timeout=PATIENCE_S, isolation_level=None
        )
        with contextlib.closing(connection):
            connection.execute("PRAGMA trusted_schema = OFF")
            yield connection


def _checked(book: str | Path, write: bool) -> Path:
    """The file itself, behind any link, once it is known to be a book.

    The header is read here and not by SQLite: opening another program's file would already roll
    back a write of its own that was cut off.
    """
    real = Path(os.path.realpath(book))
    trouble = _trouble(book, real) or (_trouble_writing(real) if write else "")
    if trouble:
        raise _refused(book, trouble)
    return real


def _trouble(book: str | Path, real: Path) -> str:
    if not str(book).strip() or "\0" in str(book):
        return "is no name for a file"
    try:
        status = os.stat(real)
        if stat.S_ISDIR(status.st_mode):
            return "is a folder; name the file in it"
        if not stat.S_ISREG(status.st_mode):
            return "is a device or a pipe; name an ordinary file"
        with open(real, "rb") as file:
            header = file.read(_HEADER)
    except FileNotFoundError:
        if os.path.islink(book):
            return "is a link to a file that is not there"
        return f"there is no such file{_offer(real)}"
    except OSError as error:
        return f"cannot be read: {error.strerror or error}"
    if not header:
        return "is an empty file, no book of trials; put back a copy, or delete it to begin anew"
    if not header.startswith(_MAGIC):
        return "is no book of trials, which is an SQLite file; name another file with --book"
    if int.from_bytes(header[_ID_AT : _ID_AT + 4], "big") != APPLICATION_ID:
        return "is an SQLite file of another program; name another file with --book"
    return ""


def _trouble_writing(real: Path) -> str:
    # the mode bits too: to an administrator everything looks writable
    if not os.access(real, os.W_OK) or not os.stat(real).st_mode & _ANYONE:
        return "is read-only; nothing was written"
    return _trouble_with_folder(real.parent)


def _trouble_with_folder(folder: Path) -> str:
    if not folder.is_dir():
        return "cannot be written: there is no such folder"
    if not os.access(folder, os.W_OK | os.X_OK) or not os.stat(folder).st_mode & _ANYONE:
        return "cannot be written: its folder is read-only; name another file with --book"
    return ""


def _offer(real: Path) -> str:
    """The nearest file name in the same folder, if there is one."""
    try:
        return nearest(real.name, [printable(name) for name in os.listdir(real.parent)])
    except OSError:
        return ""


def _create(book: str | Path) -> None:
    """A new, empty book: laid out under another name, and given its own in one step.

    A kill at any moment leaves no book or a whole one, and of two makers at once one wins and
    both use it.
    """
    if not str(book).strip() or "\0" in str(book):
        raise _refused(book, "is no name for a file")
    real = Path(os.path.realpath(book))
    trouble = _trouble_with_folder(real.parent)
    if trouble:
        raise _refused(book, trouble)
    beside = real.with_name(f".{real.name[:100]}.{uuid.uuid4().hex[:12]}.part")
    with _in_plain_words(book):
        try:
            with contextlib.closing(sqlite3.connect(beside, isolation_level=None)) as connection:
                _be_careful(connection)
                lay_out(connection)
            _take_name(beside, real)
        finally:
            beside.unlink(missing_ok=True)


def _be_careful(connection: sqlite3.Connection) -> None:
    """A commit returns when the disk has it, and on a Mac not when the disk's own memory has."""
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA fullfsync = ON")


def _take_name(beside: Path, real: Path) -> None:
    try:
        os.link(beside, real)  # unlike a rename, this never takes another's place
    except FileExistsError:
        pass
    except OSError:  # a memory stick without hard links: there two makers at once could collide
        if not real.exists():
            os.rename(beside, real)


def _check_whole(book: str | Path, connection: sqlite3.Connection) -> None:
    (said,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    if said != "ok":
        raise damaged(book, f"the file is not whole inside ({printable(_first_fault(said))})")


def _first_fault(said: str) -> str:
    """What SQLite found, without the line that names its database."""
    return next((line for line in said.splitlines() if not line.startswith("***")), said)


def _version(book: str | Path, connection: sqlite3.Connection) -> int:
    version = version_of(connection)
    if version > newest():
        message = (
            f"was written by a newer moldwin (layout {version}, this one knows {newest()}); bring "
            "moldwin up to date: nothing was changed"
        )
        raise _refused(book, message)
    if version < 1:
        raise damaged(book, "it says no layout")
    return version


@contextlib.contextmanager
def _in_plain_words(book: str | Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise _refused(book, _words(error)) from None
    except OSError as error:
        raise _refused(book, f"cannot be written: {error.strerror or error}") from None


def _words(error: sqlite3.Error) -> str:
    code = getattr(error, "sqlite_errorname", "")
    kind = code.removeprefix("SQLITE_").partition("_")[0]
    if kind in ("BUSY", "LOCKED"):
        return (
            f"is held by another program for more than {PATIENCE_S:g} s; close it there and try "
            "again: nothing was changed"
        )
    if kind in ("FULL", "IOERR"):
        return f"the disk is full or does not take it ({error}); nothing was changed"
    if code == "SQLITE_READONLY_ROLLBACK":
        return "a write was cut off and must be undone first, but file or folder is read-only"
    if kind in ("READONLY", "CANTOPEN", "PERM", "AUTH"):
        return f"cannot be opened or written here ({error}); nothing was changed"
    return f"is damaged ({error}); put back a copy of the file"


def _refused(book: str | Path, message: str) -> InputError:
    return InputError([Fault(printable(book, 200), "", message)])
