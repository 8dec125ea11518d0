"""The README keeps its word: two commands, the example job, and every command it names."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from moldwin.inputs.read_job import check_job

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
GATE = ROOT / ".ci" / "run"

BLOCK = re.compile(r"^```(\w*)\n(.*?)\n```$", re.MULTILINE | re.DOTALL)
BLOCKS = BLOCK.findall(README)
COMMANDS = sorted(set(re.findall(r"`moldwin ([a-z][a-z-]*)", README)))
PATHS = sorted(
    set(
        re.findall(
            r"`((?:moldwin|tests|material_cards|examples|\.ci)/[\w./-]*)`", README + DEVELOPERS
        )
    )
)


def test_the_first_block_sets_up_and_runs_the_main_job():
    command = BLOCKS[0][1]
    assert "\n" not in command
    assert "pip install" in command
    assert command.endswith("moldwin advise")


def test_the_second_block_sets_up_and_runs_the_tests():
    command = BLOCKS[1][1]
    assert "\n" not in command
    assert "pip install" in command
    assert command.endswith("-m pytest")


def test_the_gate_runs_the_second_command_to_the_letter():
    assert BLOCKS[1][1] in GATE.read_text(encoding="utf-8").splitlines()


def test_the_gate_can_be_run():
    assert GATE.stat().st_mode & stat.S_IXUSR
    assert GATE.read_text(encoding="utf-8").startswith("#!/usr/bin/env bash\n")


def test_the_example_job_in_the_readme_is_a_job():
    jobs = [text for language, text in BLOCKS if language == "toml"]
    assert jobs
    for text in jobs:
        assert check_job(tomllib.loads(text)) == []


def test_the_readme_names_commands_and_paths():
    assert {"advise", "cards", "check"} <= set(COMMANDS)
    assert "moldwin/window/judge.py" in PATHS


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_it_names_exists(command):
    done = subprocess.run(
        [sys.executable, "-m", "moldwin", command, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "NO_COLOR": "1", "COLUMNS": "100"},
    )
    assert done.returncode == 0, done.stderr
    assert command in done.stdout


@pytest.mark.parametrize("path", PATHS)
def test_every_path_it_names_exists(path):
    assert (ROOT / path).exists()


def test_the_parts_the_tool_writes_are_as_it_says_them_now():
    """Renew them with ``python -m tests.readme_parts``."""
    from tests.readme_parts import README as readme
    from tests.readme_parts import renewed

    text = readme.read_text(encoding="utf-8")
    assert renewed(text) == text
