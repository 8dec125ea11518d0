"""The house stands as described: rooms import downward, start-up is light, files stay short."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "moldwin"

#: From the bottom to the top: a room imports itself and what stands before it.
ROOMS = ("base", "physics", "inputs", "stages", "window", "learn", "advice", "report", "cli")
#: Rooms whose code runs for every answer: numpy and scipy.special are all they may load.
LEAN_ROOMS = ("base", "physics", "inputs", "stages", "window", "advice")
LEAN_PACKAGES = ("numpy", "scipy.special")
#: What one file of a lean room may load besides, and only when a user's file asks for it.
ON_DEMAND = {"moldwin/physics/_mesh_library.py": "trimesh"}
HEAVY = ("numpy", "scipy", "pandas", "matplotlib", "trimesh")

TOP = {
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "examples",
    "material_cards",
    "moldwin",
    "pyproject.toml",
    "tests",
}
LONGEST_FILE = 400
#: Files allowed to be longer: path and the reason why splitting would make them harder to read.
LONG_FOR_A_REASON: dict[str, str] = {}


def sources(folder: Path) -> dict[str, str]:
    """Text of every module below a folder, by its path from the clone's root."""
    return {
        path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*.py"))
    }


def imported(path: str, source: str) -> Iterator[tuple[int, str]]:
    """Line and full dotted name of everything a file imports, inside functions too."""
    package = path.split("/")[:-1]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            origin = ".".join([*above, *filter(None, [node.module])])
            for alias in node.names:
                yield node.lineno, f"{origin}.{alias.name}"


def room_of(dotted: str) -> str | None:
    """The room a dotted moldwin name belongs to; None for the package itself."""
    parts = dotted.split(".")
    if parts[0] != "moldwin" or len(parts) < 2 or parts[1].startswith("__"):
        return None
    return parts[1]


def upward(path: str, source: str) -> list[str]:
    """Imports of one file that do not point down the list."""
    own = room_of(path.removesuffix(".py").replace("/", "."))
    if own is None:  # moldwin/__init__.py and __main__.py stand above every room
        return []
    found = []
    for line, name in imported(path, source):
        room = room_of(name)
        if room is None:
            continue
        if room not in ROOMS or ROOMS.index(room) > ROOMS.index(own):
            found.append(f"{path}:{line}: {own} imports {name}")
    return found


def unwanted_packages(path: str, source: str) -> list[str]:
    """Imports of one file beyond the standard library, the package and the lean pair."""
    found = []
    for line, name in imported(path, source):
        first = name.partition(".")[0]
        if first == "moldwin" or first in sys.stdlib_module_names:
            continue
        if name == ON_DEMAND.get(path):
            continue
        if not any(name == lean or name.startswith(f"{lean}.") for lean in LEAN_PACKAGES):
            found.append(f"{path}:{line}: {name}")
    return found


def test_every_room_is_on_the_list():
    folders = {path.parent.relative_to(PACKAGE).parts[0] for path in PACKAGE.glob("*/**/*.py")}
    assert folders <= set(ROOMS)
    loose = {path.name for path in PACKAGE.glob("*.py")}
    assert loose <= {"__init__.py", "__main__.py"}


def test_imports_point_down_only():
    found = [line for item in sources(PACKAGE).items() for line in upward(*item)]
    assert found == []


def test_what_runs_for_every_answer_loads_numpy_and_scipy_special_only():
    lean = {k: v for room in LEAN_ROOMS for k, v in sources(PACKAGE / room).items()}
    assert len(lean) > len(LEAN_ROOMS)
    assert [line for item in lean.items() for line in unwanted_packages(*item)] == []


@pytest.mark.parametrize(
    "source",
    [
        "from moldwin.cli import main",
        "def f():\n    from moldwin import report",
        "import moldwin.window.judge as judge",
        "from ..advice import answer",
        "from moldwin.attic import box",
    ],
)
def test_a_wrong_import_is_seen(source):
    assert len(upward("moldwin/stages/never_written.py", source)) == 1


@pytest.mark.parametrize(
    ("source", "unwanted"),
    [
        ("import scipy", 1),
        ("from scipy import optimize", 1),
        ("from scipy.special_cases import x", 1),
        ("import pandas as pd", 1),
        ("from scipy import special", 0),
        ("from scipy.special import ndtri", 0),
        ("import numpy.linalg, math", 0),
    ],
)
def test_a_heavy_import_is_seen(source, unwanted):
    assert len(unwanted_packages("moldwin/base/never_written.py", source)) == unwanted


def loaded_after(code: str, among: tuple[str, ...]) -> list[str]:
    """Which packages a fresh interpreter has loaded after running the code."""
    tell = f"import sys; print('loaded', *[m for m in {among!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tell}"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()[-1].split()[1:]


def run_main(*arguments: str) -> str:
    return (
        "import runpy, sys\n"
        f"sys.argv = {['moldwin', *arguments]!r}\n"
        "try:\n    runpy.run_module('moldwin', run_name='__main__')\n"
        "except SystemExit as done:\n    assert not done.code, done.code\n"
    )


def test_the_probe_sees_a_heavy_package():
    assert loaded_after("import numpy", HEAVY) == ["numpy"]


def test_importing_moldwin_loads_nothing_heavy():
    assert loaded_after("import moldwin", HEAVY) == []


@pytest.mark.parametrize("arguments", [["--help"], ["advise", "--help"], ["cards", "--help"]])
def test_help_loads_nothing_heavy(arguments):
    assert loaded_after(run_main(*arguments), HEAVY) == []


def test_advice_loads_nothing_heavier_than_numpy_and_scipy_special():
    never = ("pandas", "matplotlib", "scipy.optimize", "scipy.stats", "scipy.integrate")
    assert loaded_after(run_main("advise", "--json"), never) == []


def at_the_top() -> set[str]:
    """Entries that belong to the project: what is tracked, or all there is outside a clone."""
    try:
        done = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
        )
        tracked = {name.split("/")[0] for name in done.stdout.split("\0") if name}
    except FileNotFoundError:
        tracked = set()
    entries = tracked or {path.name for path in ROOT.iterdir()}
    return {name for name in entries if not name.startswith(".")}


def test_only_these_stand_at_the_top():
    assert at_the_top() <= TOP
    assert sorted(name for name in TOP if not (ROOT / name).exists()) == []


@pytest.mark.parametrize("folder", ["moldwin", "tests"])
def test_files_stay_short(folder):
    lengths = {name: len(text.splitlines()) for name, text in sources(ROOT / folder).items()}
    assert lengths
    long = {name: n for name, n in lengths.items() if n > LONGEST_FILE}
    assert {name: n for name, n in long.items() if name not in LONG_FOR_A_REASON} == {}


def test_no_exception_outlives_its_file():
    for name, reason in LONG_FOR_A_REASON.items():
        assert len((ROOT / name).read_text(encoding="utf-8").splitlines()) > LONGEST_FILE
        assert len(reason.split()) >= 5
