"""A wheel carries the cards and the examples to where the installed package looks for them."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SHIPPED = "moldwin/_shipped"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """The wheel, built by the build backend itself: no network is needed."""
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    (built,) = folder.glob("moldwin-*.whl")
    return built


@pytest.mark.parametrize(
    ("kind", "pattern"),
    [("examples", "*.toml"), ("material_cards", "*.toml"), ("material_cards", "*.csv")],
)
def test_every_shipped_file_is_inside(wheel, kind, pattern):
    ours = {
        f"{SHIPPED}/{path.relative_to(ROOT).as_posix()}": path.read_bytes()
        for path in (ROOT / kind).rglob(pattern)
    }
    assert ours
    with zipfile.ZipFile(wheel) as file:
        packed = {name: file.read(name) for name in ours if name in file.namelist()}
    assert packed == ours


def test_every_module_is_inside_and_nothing_else_is(wheel):
    modules = {path.relative_to(ROOT).as_posix() for path in (ROOT / "moldwin").rglob("*.py")}
    with zipfile.ZipFile(wheel) as file:
        names = set(file.namelist())
    assert modules <= names
    rest = {name for name in names - modules if not name.startswith(f"{SHIPPED}/")}
    assert all(".dist-info/" in name or name == "moldwin/py.typed" for name in rest), rest


def test_the_package_finds_its_files_in_the_unpacked_wheel(wheel, tmp_path):
    with zipfile.ZipFile(wheel) as file:
        file.extractall(tmp_path)
    code = (
        "from moldwin.inputs.files import shipped\n"
        "for kind in ('examples', 'material_cards'):\n"
        "    print(shipped(kind))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    expected = [str(tmp_path / SHIPPED / kind) for kind in ("examples", "material_cards")]
    assert done.stdout.split("\n")[:2] == [str(Path(p).resolve()) for p in expected]


def test_the_wheel_starts_the_command(wheel):
    with zipfile.ZipFile(wheel) as file:
        (points,) = [name for name in file.namelist() if name.endswith("entry_points.txt")]
        text = file.read(points).decode()
    assert "moldwin = moldwin.__main__:main" in text
