"""What a 3MF would unpack to, counted before a library is let at it."""

from __future__ import annotations

import zipfile
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

__all__ = ["check_archive"]

_MOST_UNPACKED = 100_000_000
_MOST_MEMBERS = 2_000
#: The library takes about a kilobyte for each element of the text.
_MOST_ELEMENTS = 1_000_000
#: What the objects come to once each is set where it is used, and how often that may be.
_MOST_TRIANGLES, _MOST_COPIES = 3_000_000, 1_000
#: Objects made of objects made of objects: no part needs more, a ring of them never ends.
_DEEPEST = 16


@dataclass
class _Model:
    """What is counted of the models in one archive, all their objects by number.

    ``own`` are the triangles of each object, ``uses`` the objects it is put together from,
    ``built`` those that are set on the plate.
    """

    elements: int = 0
    elsewhere: int = 0
    current: str = ""
    own: dict[str, int] = field(default_factory=dict)
    uses: dict[str, list[str]] = field(default_factory=dict)
    built: list[str] = field(default_factory=list)

    def start(self, tag: str, given: dict[str, str]) -> None:
        """One element, as the parser meets it; its name may have a namespace before a space."""
        self.elements += 1
        if self.elements > _MOST_ELEMENTS:
            raise ValueError(
                f"has more than {_MOST_ELEMENTS / 1e6:.0f} million corners and triangles; save it "
                "as binary STL"
            )
        name = tag.rpartition(" ")[2]
        if name == "triangle":
            self.own[self.current] = self.own.get(self.current, 0) + 1
        elif name == "object":
            self.current = given.get("id", "")
        elif name == "component":
            self.uses.setdefault(self.current, []).append(given.get("objectid", ""))
            self.elsewhere += any(key.rpartition(" ")[2] == "path" for key in given)
        elif name == "item":
            self.built.append(given.get("objectid", ""))

    def totals(self) -> tuple[int, int]:
        """Triangles and copies of all that is on the plate."""
        known: dict[str, tuple[int, int]] = {}
        all_of_it = [self._total(number, known, 0) for number in self.built]
        return sum(t for t, _ in all_of_it), sum(c for _, c in all_of_it)

    def _total(self, number: str, known: dict[str, tuple[int, int]], depth: int) -> tuple[int, int]:
        if depth > _DEEPEST:
            raise ValueError("has objects within objects without end")
        if number not in known:
            parts = [self._total(use, known, depth + 1) for use in self.uses.get(number, ())]
            known[number] = (
                self.own.get(number, 0) + sum(t for t, _ in parts),
                1 + sum(c for _, c in parts),
            )
        return known[number]


def check_archive(path: Path) -> None:
    """``ValueError`` where a 3MF would unpack, or be put together, to more than is safe.

    Sizes are read from its list, and unpacking never goes beyond them; then its text is gone
    through without keeping it. A few lines can ask for billions of copies.
    """
    model = _Model()
    try:
        with zipfile.ZipFile(path) as archive:
            _check_sizes(archive.infolist())
            for member in archive.infolist():
                if ".model" in member.filename.lower():
                    _count(archive, member, model)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError) as error:
        raise ValueError(f"is no 3MF: it cannot be unpacked ({error})") from None
    except expat.ExpatError as error:
        raise ValueError(f"is no 3MF: its text is spoiled ({error})") from None
    triangles, copies = model.totals()
    if triangles > _MOST_TRIANGLES or copies > _MOST_COPIES:
        raise ValueError(
            f"puts more than {_MOST_COPIES} copies or {_MOST_TRIANGLES / 1e6:.0f} million "
            "triangles together: a bomb, or save one part as STL"
        )
    if copies == 0:
        raise ValueError("is a 3MF with nothing on its plate")
    if model.elsewhere > 1:  # the library would mix up which of them is meant
        raise ValueError("keeps its objects in several files inside; save the part as STL")


def _check_sizes(members: list[zipfile.ZipInfo]) -> None:
    unpacked = sum(member.file_size for member in members)
    if unpacked > _MOST_UNPACKED or len(members) > _MOST_MEMBERS:
        raise ValueError(
            f"unpacks to {unpacked / 1e6:.0f} MB in {len(members)} files, at most "
            f"{_MOST_UNPACKED / 1e6:.0f} MB are read: a bomb, or save it as binary STL"
        )


def _count(archive: zipfile.ZipFile, member: zipfile.ZipInfo, model: _Model) -> None:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = model.start
    parser.StartDoctypeDeclHandler = _no_document_type
    # all at once: in pieces an endless comment would be gone through again with every piece
    parser.Parse(archive.read(member), True)


def _no_document_type(*_: object) -> None:
    """No mesh needs one, a bomb of entities does."""
    raise ValueError("declares a document type, which no 3MF needs: refused")
