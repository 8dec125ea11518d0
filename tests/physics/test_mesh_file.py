"""Hostile mesh files: a sentence, never a traceback, and memory that stays small."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from moldwin.physics.mesh import measure
from moldwin.physics.mesh_file import MeshError, read_triangles
from tests.meshes import BOX, text_stl, write_stl
from tests.physics.hostile_meshes import HOSTILE, LARGE, components


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
    LARGE,
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


@pytest.mark.parametrize("name", ["outer_ring", "vertex 2", "facet", "my solid endsolid", "Käfer"])
def test_a_body_may_be_called_anything(tmp_path, name):
    path = text_stl(tmp_path / "p.stl", BOX)
    path.write_text(path.read_text().replace("made in a test", name), encoding="utf-8")
    assert np.array_equal(read_triangles(path)[0], BOX)


@pytest.mark.parametrize("end", [b"\r", b" ", b"\n\n\t"])
def test_text_with_any_white_space_and_a_byte_order_mark_is_read(tmp_path, end):
    path = text_stl(tmp_path / "p.stl", BOX)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", end))
    assert np.array_equal(read_triangles(path)[0], BOX)


def test_two_named_bodies_in_one_text_are_both_read(tmp_path):
    path = text_stl(tmp_path / "p.stl", BOX)
    path.write_text(path.read_text() + path.read_text().replace("made", "outer vertex made"))
    assert len(read_triangles(path)[0]) == 2 * len(BOX)


def test_what_is_missing_of_the_last_triangle_is_told(tmp_path):
    path = write_stl(tmp_path / "p.stl", BOX)
    path.write_bytes(path.read_bytes()[:-7])
    with pytest.raises(MeshError, match="announces 12 triangles and has room for 11"):
        read_triangles(path)


def test_an_obj_with_other_letters_than_utf_8_is_read(tmp_path):
    path = tmp_path / "p.obj"
    faces = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n"
    path.write_bytes(b"# K\xe4fer\n" + faces)
    assert measure(path, "mm").volume == pytest.approx(1e-9 / 6)


def test_a_few_copies_are_no_bomb(tmp_path):
    assert len(read_triangles(components(tmp_path, 3, each=4))[0]) == 16


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


# ------------------------------------------------------------------ refused by disk or size


def test_a_name_that_is_none_and_a_disk_that_fails_are_sentences(tmp_path, monkeypatch):
    with pytest.raises(MeshError, match="cannot be read: embedded null"):
        read_triangles("part\0.stl")
    path = write_stl(tmp_path / "part.stl", BOX)

    def fails(*arguments):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("moldwin.physics.mesh_file._stl", fails)
    with pytest.raises(MeshError, match="cannot be read: Input/output error"):
        read_triangles(path)


def test_more_triangles_or_text_than_is_read_is_refused_before_memory_is_asked_for(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("moldwin.physics.mesh_file._MOST_TRIANGLES", 11)
    with pytest.raises(MeshError, match="million triangles, at most"):
        read_triangles(write_stl(tmp_path / "many.stl", BOX))
    text = text_stl(tmp_path / "long.stl", BOX)
    monkeypatch.setattr("moldwin.physics.mesh_file._MOST_TEXT", text.stat().st_size)
    assert len(read_triangles(text)[0]) == 12  # as long as is read
    monkeypatch.setattr("moldwin.physics.mesh_file._MOST_TEXT", text.stat().st_size - 1)
    with pytest.raises(MeshError, match="save it as binary STL"):
        read_triangles(text)


def test_a_binary_file_that_announces_nothing_holds_no_triangles(tmp_path):
    with pytest.raises(MeshError, match="holds no triangles"):
        read_triangles(write_stl(tmp_path / "none.stl", BOX[:0]))
