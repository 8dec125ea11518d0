"""Hostile mesh files: a sentence, never a traceback, and memory that stays small."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest

from moldwin.physics.mesh import measure
from moldwin.physics.mesh_file import MeshError, read_triangles
from tests.meshes import BOX, text_stl, write_stl

TRIANGLE = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\n"


def _header_that_lies(folder):
    return write_stl(folder / "p.stl", BOX, count=2**32 - 1)


def _truncated(folder):
    path = write_stl(folder / "p.stl", BOX)
    path.write_bytes(path.read_bytes()[:-70])
    return path


def _too_long(folder):
    path = write_stl(folder / "p.stl", BOX)
    path.write_bytes(path.read_bytes() + b"more")
    return path


def _truncated_text(folder):
    path = text_stl(folder / "p.stl", BOX)
    path.write_text(path.read_text()[:-400])
    return path


def _text_without_end(folder):
    path = text_stl(folder / "p.stl", BOX)
    path.write_text(path.read_text().rpartition("endsolid")[0])
    return path


def _nan(folder):
    return write_stl(folder / "p.stl", np.where(BOX == 80, np.nan, BOX))


def _infinite(folder):
    return write_stl(folder / "p.stl", np.where(BOX == 80, np.inf, BOX))


def _nan_text(folder):
    return text_stl(folder / "p.stl", np.where(BOX == 80, np.nan, BOX))


def _words_for_numbers(folder):
    path = folder / "p.stl"
    path.write_text("solid x\n" + TRIANGLE.replace("1 0 0", "one 0 0") + "endfacet\nendsolid x\n")
    return path


def _two_corners(folder):
    path = folder / "p.stl"
    path.write_text("solid x\n" + TRIANGLE.replace("vertex 1 0 0\n", "") + "endfacet\nendsolid x\n")
    return path


def _no_facet(folder):
    path = folder / "p.stl"
    path.write_text("solid x\nendsolid x\n")
    return path


def _endless_line(folder):
    path = folder / "p.stl"
    path.write_bytes(b"solid " + b"x" * 20_000_000)
    return path


def _binary_called_solid(folder):
    path = write_stl(folder / "p.stl", BOX, header=b"solid p")
    path.write_bytes(path.read_bytes()[:-1])
    return path


def _picture(folder):
    path = folder / "p.stl"
    path.write_bytes(b"\x89PNG\r\n" + bytes(range(256)) * 4)
    return path


def _empty(folder):
    path = folder / "p.stl"
    path.touch()
    return path


def _short(folder):
    path = folder / "p.stl"
    path.write_bytes(b"\0" * 20)
    return path


def _folder(folder):
    path = folder / "p.stl"
    path.mkdir()
    return path


def _link_to_device(folder):
    path = folder / "p.stl"
    path.symlink_to("/dev/zero")
    return path


def _pipe(folder):
    path = folder / "p.stl"
    os.mkfifo(path)
    return path


def _link_to_nothing(folder):
    path = folder / "p.stl"
    path.symlink_to(folder / "gone")
    return path


def _other_kind(folder):
    path = folder / "p.step"
    path.write_text("ISO-10303-21;")
    return path


def _no_archive(folder):
    path = folder / "p.3mf"
    path.write_bytes(b"PK\x03\x04 and nothing else")
    return path


def _archive(folder, model, **more):
    path = folder / "p.3mf"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", model)
        for name, data in more.items():
            archive.writestr(name, data)
    return path


def _bomb(folder):
    return _archive(folder, "<model/>", zeros=b"\0" * 250_000_000)


def _entities(folder):
    text = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><model>&b;'
    return _archive(folder, text)


def _empty_model(folder):
    return _archive(folder, "<model xmlns='x'><resources/><build/></model>")


def _lying_ply(folder):
    path = folder / "p.ply"
    path.write_text(
        "ply\nformat ascii 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n0\n"
    )
    return path


def _broken_obj(folder):
    path = folder / "p.obj"
    path.write_text("v 0 0 0\nv 1 0 0\nf 1 2 99999999\n")
    return path


def _stl_called_obj(folder):
    return write_stl(folder / "p.obj", BOX)


HOSTILE = {
    _header_that_lies: "announces 4294967295 triangles and has room for 12",
    _truncated: "cut off",
    _too_long: "longer than they take",
    _truncated_text: "cut off",
    _text_without_end: "endsolid",
    _nan: "not a finite number",
    _infinite: "not a finite number",
    _nan_text: "not a finite number",
    _words_for_numbers: "not three numbers",
    _two_corners: "three lines of a vertex",
    _no_facet: "no triangles",
    _endless_line: "no facet ends",
    _binary_called_solid: "cut off",
    _picture: "not a STL",
    _empty: "is empty: 0 bytes",
    _short: "too short",
    _folder: "is a folder",
    _link_to_device: "device or a pipe",
    _pipe: "device or a pipe",
    _link_to_nothing: "no such file",
    _other_kind: ".stl, .3mf, .obj, .ply",
    _no_archive: "is no 3MF",
    _bomb: "bomb",
    _entities: "document type",
    _empty_model: "3MF",
    _lying_ply: "announces 4000000000",
    _broken_obj: "OBJ",
    _stl_called_obj: "OBJ",
}


@pytest.mark.parametrize("make", HOSTILE, ids=lambda make: make.__name__.strip("_"))
def test_a_hostile_file_is_a_sentence(tmp_path, make):
    path = make(tmp_path)
    with pytest.raises(MeshError) as caught:
        measure(path, "mm")
    assert HOSTILE[make] in str(caught.value)
    assert "\n" not in str(caught.value)


#: What the interpreter and its libraries map takes half of it; a gigabyte would not fit.
_LIMIT = 1_500_000_000
_LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({limit}, {limit}))
from moldwin.__main__ import main
sys.argv = ["moldwin", "shot", "--mesh", sys.argv[1], "--mesh-unit", "mm"]
main()
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="limits of memory are Linux's")
@pytest.mark.parametrize(
    "make",
    [_header_that_lies, _endless_line, _bomb, _lying_ply, _link_to_device],
    ids=lambda make: make.__name__.strip("_"),
)
def test_the_command_stays_within_its_memory(tmp_path, make):
    path = make(tmp_path)
    done = subprocess.run(
        [sys.executable, "-c", _LIMITED.format(limit=_LIMIT), str(path)],
        capture_output=True,
        text=True,
        cwd=Path(__file__).resolve().parents[2],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert HOSTILE[make] in done.stderr
    assert "Traceback" not in done.stderr


def test_the_limit_bites(tmp_path):
    """More than the limit is asked for, and is not given."""
    code = _LIMITED.replace("from moldwin", "b = bytes(2_000_000_000)\nfrom moldwin")
    done = subprocess.run(
        [sys.executable, "-c", code.format(limit=_LIMIT), "x.stl"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "MemoryError" in done.stderr


@pytest.mark.parametrize("header", [b"solid made by a program", b"", b"\xff" * 80])
def test_a_binary_file_is_told_by_its_length(tmp_path, header):
    path = write_stl(tmp_path / "p.stl", BOX, header=header)
    assert read_triangles(path)[0].shape == (12, 9)


def test_text_in_any_case_of_line_ends_is_read(tmp_path):
    path = text_stl(tmp_path / "p.STL", BOX)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n").upper())
    assert measure(path, "mm").volume == pytest.approx(3.2e-6)


def test_text_is_read_piece_by_piece(tmp_path, monkeypatch):
    monkeypatch.setattr("moldwin.physics.mesh_file._PIECE", 97)
    path = text_stl(tmp_path / "p.stl", BOX)
    assert np.array_equal(read_triangles(path)[0], BOX)


@pytest.mark.parametrize("kind", ["obj", "ply", "3mf"])
def test_without_the_library_it_says_how_to_get_it(tmp_path, monkeypatch, kind):
    monkeypatch.setattr("moldwin.physics._mesh_library.find_spec", lambda name: None)
    path = tmp_path / f"p.{kind}"
    path.write_bytes(b"x")
    with pytest.raises(MeshError, match=r"moldwin\[mesh\]"):
        read_triangles(path)
