"""Mesh files that are spoiled, lie, or ask for more than there is; and what is said of each."""

from __future__ import annotations

import os
import zipfile

import numpy as np

from tests.meshes import BOX, text_stl, write_stl

__all__ = ["HOSTILE", "LARGE", "components"]

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


def components(folder, levels, each=10):
    """Objects of ten objects of ten objects: a few lines ask for any number of copies."""
    face = '<triangle v1="0" v2="1" v3="2"/>'
    corner = '<vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/><vertex x="0" y="9" z="0"/>'
    mesh = f"<mesh><vertices>{corner}</vertices><triangles>{face}</triangles></mesh>"
    objects = f'<object id="A">{mesh}</object>'
    for level in range(2, levels + 1):
        use = f'<component objectid="&#{64 + level - 1};"/>' * each
        objects += f'<object id="{chr(64 + level)}"><components>{use}</components></object>'
    item = f'<item objectid="{chr(64 + levels)}"/>'
    text = f"<model><resources>{objects}</resources><build>{item}</build></model>"
    return _archive(folder, text)


def _copies_of_copies(folder):
    return components(folder, 9)


def _endless_copies(folder):
    return components(folder, 20, each=1)


def _own_part(folder):
    use = '<components><component objectid="2"/></components>'
    text = f'<model><object id="2">{use}</object><build><item objectid="2"/></build></model>'
    return _archive(folder, text)


def _many_elements(folder):
    corner = '<vertex x="0" y="0" z="0"/>'
    return _archive(folder, f"<model><object><mesh>{corner * 1_100_000}</mesh></object></model>")


def _endless_comment(folder):
    return _archive(folder, f"<model><!-- {' ' * 30_000_000}")


def _late_entities(folder):
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><model>&b;'
    return _archive(folder, f"<?xml version='1.0'?><!-- {'x' * 10_000} -->{bomb}")


def _files_inside(folder):
    use = '<component objectid="1" p:path="/3D/a.model"/>'
    text = f'<model xmlns:p="p"><object id="2"><components>{use * 2}</components></object>'
    return _archive(folder, f'{text}<build><item objectid="2"/></build></model>')


def _text_of_a_ply(folder):
    path = folder / "p.ply"
    path.write_text(
        "ply\nformat ascii 1.0\nelement vertex 3000000\nproperty float x\nend_header\n"
        + "0\n" * 3_000_000
    )
    return path


def _endless_header(folder):
    path = folder / "p.ply"
    path.write_text("ply\nformat ascii 1.0\n" + "comment x\n" * 9_000 + "element vertex 9\n")
    return path


def _obj_called_stl(folder):
    path = folder / "p.stl"
    path.write_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n" * 9)
    return path


def _decimal_commas(folder):
    path = text_stl(folder / "p.stl", BOX)
    path.write_text(path.read_text().replace(".", ","))
    return path


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
    _copies_of_copies: "more than 1000 copies",
    _endless_copies: "objects within objects without end",
    _own_part: "objects within objects without end",
    _many_elements: "more than 1 million corners",
    _endless_comment: "its text is spoiled",
    _late_entities: "document type",
    _files_inside: "several files inside",
    _text_of_a_ply: "3.0 million corners and faces as text",
    _endless_header: "its header has no end",
    _obj_called_stl: "is text, but no STL",
    _decimal_commas: "decimal points",
}

#: Those that ask for memory.
LARGE = [
    _header_that_lies,
    _endless_line,
    _bomb,
    _lying_ply,
    _link_to_device,
    _copies_of_copies,
    _many_elements,
    _endless_comment,
    _text_of_a_ply,
]
