"""The command as a process of its own: what it loads, and what it does when it cannot write."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("numpy", "scipy", "pandas", "matplotlib")


def python(*arguments: str, **options: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        **options,
    )


def loaded_by(code: str) -> set[str]:
    """Modules loaded after running this code in a fresh interpreter."""
    report = "import sys; sys.stderr.write('\\n'.join(sys.modules))"
    done = python("-c", f"{code}\n{report}")
    assert done.returncode == 0, done.stderr
    return set(done.stderr.split())


def running(*arguments: str) -> str:
    return f"from moldwin.cli.app import run\nrun({list(arguments)!r})"


@pytest.mark.parametrize(
    "code",
    ["import moldwin", running("--help"), running("advise", "--help"), running("--version")],
)
def test_a_light_start_loads_nothing_heavy(code):
    heavy = {name.split(".")[0] for name in loaded_by(code)} & set(HEAVY)
    assert not heavy


def test_help_needs_no_rich():
    assert "rich.console" not in loaded_by(running("--help"))


def test_advise_loads_of_scipy_only_special_and_no_pandas():
    names = loaded_by(running("advise"))
    assert "numpy" in names
    assert "pandas" not in names
    public = {n.split(".")[1] for n in names if n.startswith("scipy.")}
    assert {n for n in public if not n.startswith("_")} <= {"special", "version"}


def test_json_needs_no_rich():
    assert "rich.console" not in loaded_by(running("advise", "--json"))


def test_public_names_load_on_use():
    done = python(
        "-c",
        "import moldwin, sys\n"
        "from moldwin import *\n"
        "assert callable(advise) and issubclass(CardError, InputError)\n"
        "assert {'advise', 'Advice'} <= set(dir(moldwin))\n"
        "try: moldwin.nonsense\n"
        "except AttributeError as error: print(error)",
    )
    assert done.stdout == "module 'moldwin' has no attribute 'nonsense'\n", done.stderr


def test_as_a_module_from_another_folder(tmp_path):
    done = python("-m", "moldwin", "advise", "--json", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["job"]


def test_the_bytes_do_not_depend_on_hash_seed_or_threads():
    def answer(**environment: str) -> str:
        return python("-m", "moldwin", "advise", "--json", env={**os.environ, **environment}).stdout

    first = answer(PYTHONHASHSEED="1", OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    assert first == answer(PYTHONHASHSEED="2", OMP_NUM_THREADS="4", OPENBLAS_NUM_THREADS="4")


def test_a_terminal_without_the_degree_sign_still_gets_the_page():
    done = python("-m", "moldwin", "advise", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stderr) == (0, "")
    assert "?C" in done.stdout


@pytest.mark.skipif(os.name != "posix", reason="needs file descriptors of a POSIX system")
def test_a_reader_that_leaves_early_is_no_error():
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "moldwin", "cards"],
        stdout=write,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_said_in_one_line():
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "moldwin", "cards"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("stdout: the answer cannot be written:")
    assert len(done.stderr.splitlines()) == 1
