"""A wheel carries the cards and the examples to where the installed package looks for them."""

from __future__ import annotations

import importlib.metadata
import itertools
import json
import os
import re
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SHIPPED = "moldwin/_shipped"


def run(arguments: list[str], cwd: Path = ROOT, **environment: str) -> str:
    """What a program prints; it must end well."""
    done = subprocess.run(
        arguments,
        cwd=cwd,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def build(kind: str, folder: Path, source: Path = ROOT) -> Path:
    """A wheel or sdist, built by the build backend itself: no network is needed."""
    run([sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(folder)], source)
    (built,) = folder.glob("moldwin-*")
    return built


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    return build("wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def sdist(tmp_path_factory) -> Path:
    return build("sdist", tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory) -> Path:
    """The command in an environment that holds the wheel and, from here, what it depends on.

    The libraries are lent by a path file, which lends nothing that is installed as editable.
    """
    place = tmp_path_factory.mktemp("environment")
    run([sys.executable, "-m", "venv", "--without-pip", str(place)])
    (packages,) = place.glob("lib/python*/site-packages")
    pip = [sys.executable, "-m", "pip", "--python", str(place / "bin" / "python")]
    run([*pip, "install", "--quiet", "--no-index", "--no-deps", "--no-compile", str(wheel)])
    (packages / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return place / "bin" / "moldwin"


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


# ------------------------------------------------------------------ installed, and run elsewhere


def test_the_installed_command_answers_from_another_folder_as_the_clone_does(installed, tmp_path):
    code = "import moldwin; print(moldwin.__file__)"
    home = run([str(installed.parent / "python"), "-c", code], tmp_path, PYTHONPATH="")
    assert str(installed.parent.parent) in home  # the wheel's own, not the clone's
    answer = run([str(installed), "advise", "--json"], tmp_path, PYTHONPATH="")
    assert json.loads(answer)["schema"] == "moldwin.advice/1"
    assert answer == run([sys.executable, "-m", "moldwin", "advise", "--json"], tmp_path)


@pytest.mark.parametrize(
    "arguments",
    [["--version"], ["cards"], ["shot", "--list"], ["evidence", "--json"], ["new", "--help"]],
    ids=" ".join,
)
def test_the_installed_command_finds_its_cards_tables_and_examples(installed, tmp_path, arguments):
    here = run([str(installed), *arguments], tmp_path, PYTHONPATH="", COLUMNS="80")
    assert here == run([sys.executable, "-m", "moldwin", *arguments], tmp_path, COLUMNS="80")


def test_the_sdist_holds_what_is_tested_and_builds_the_same_wheel(sdist, wheel, tmp_path):
    with tarfile.open(sdist) as file:
        file.extractall(tmp_path, filter="data")
    (unpacked,) = tmp_path.iterdir()
    for name in ("README.md", "LICENSE", "CHANGELOG.md", "tests/conftest.py", "pyproject.toml"):
        assert (unpacked / name).is_file(), name
    again = build("wheel", tmp_path / "again", unpacked)
    with zipfile.ZipFile(again) as one, zipfile.ZipFile(wheel) as other:
        assert sorted(one.namelist()) == sorted(other.namelist())
        for name in one.namelist():
            assert one.read(name) == other.read(name), name


# ------------------------------------------------------------------ what it depends on


def _asked(*groups: str) -> dict[str, str]:
    """Lowest version by name, of what pyproject.toml needs and of what these extras add."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    lines = itertools.chain(project["dependencies"], *(extras[group] for group in groups or extras))
    found = {}
    for line in lines:
        name, bound, version = line.partition(">=")
        if not line.startswith("moldwin["):
            assert bound, f"{line} has no lower bound"
            found[name.partition("[")[0].lower()] = version
    return found


def _pins() -> dict[str, str]:
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = (line.partition("==") for line in lines if "==" in line)
    return {name.lower(): version for name, _, version in pins}


def _parts(version: str) -> list[int]:
    return [int(part) for part in version.split(".") if part.isdigit()]


def test_every_dependency_has_a_lower_bound_and_the_newest_tested_is_above_it():
    bounds, pins = _asked(), _pins()
    for name, lowest in bounds.items():
        if name in pins:
            assert _parts(pins[name]) >= _parts(lowest), name


def test_what_runs_in_ci_is_pinned():
    asked = _asked("pictures", "mesh", "parquet", "dask", "test", "dev")
    assert sorted(asked.keys() - _pins().keys()) == []


def test_the_run_of_lowest_and_newest_versions_names_tests_that_there_are():
    script = ROOT / ".ci" / "versions"
    assert os.access(script, os.X_OK)
    named = re.findall(r"tests/[\w./]+", script.read_text(encoding="utf-8"))
    assert len(named) >= 10
    assert [path for path in named if not (ROOT / path).exists()] == []


#: What a copy may carry on without changing the license of ours.
PERMISSIVE = ("MIT", "BSD", "Apache", "Python Software Foundation", "PSF", "ISC")


def _license(name: str) -> str:
    about = importlib.metadata.metadata(name)
    stated = [about.get("License-Expression") or "", (about.get("License") or "")[:60]]
    stated += [line for line in about.get_all("Classifier", []) if line.startswith("License")]
    return " ".join(stated)


@pytest.mark.parametrize("name", sorted(_asked("pictures", "mesh", "parquet", "dask")))
def test_what_users_install_with_it_is_free_of_terms_that_spread(name):
    said = _license(name)
    assert any(word in said for word in PERMISSIVE), said
    assert "GPL" not in said


def test_contributors_find_the_license_of_every_library():
    said = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = said.partition("licenses\n")[2].partition("\n## ")[0].lower()
    assert [name for name in sorted(_asked()) if name not in table] == []
