"""The body of the part: what cannot be one is refused in words."""

from __future__ import annotations

import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.shot import part_geometry
from tests.jobs import bench_of, job
from tests.meshes import BOX, write_stl


def test_a_mesh_that_went_away_after_the_job_was_read_is_refused_by_name(tmp_path):
    path = write_stl(tmp_path / "gone.stl", BOX)
    bench = bench_of(job(part={"mesh": str(path), "mesh_unit": "mm"}))
    path.unlink()
    with pytest.raises(InputError, match=r"gone\.stl.*cannot be read: No such file"):
        part_geometry(bench)


def test_solids_that_leave_nothing_are_refused():
    plate = {"shape": "plate", "length_mm": 60, "width_mm": 20, "thickness_mm": 4}
    with pytest.raises(InputError, match=r"part\.solid"):
        part_geometry(bench_of(job(part={"solid": [plate, {**plate, "subtract": True}]})))
