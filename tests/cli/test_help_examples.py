"""Every command explains itself: a purpose, exit codes, and an example that runs as it stands."""

from __future__ import annotations

import io
import re
import shlex
import sys
from collections.abc import Iterator
from typing import Any

import pytest
import typer

from moldwin.cli.app import app, run
from tests.jobs import KELP

_TRIAL = "--barrel-c 130 --soak-s 300 --filled yes --color 1"


def commands(group: Any, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every command of the tree by its words; the groups too, the top one is ()."""
    yield before
    for name, command in sorted(getattr(group, "commands", {}).items()):
        yield from commands(command, (*before, name))


ALL = list(commands(typer.main.get_command(app)))


@pytest.fixture
def folder(tmp_path, monkeypatch, capsys):
    """A folder as a maker has it: a job, and a book with one trial."""
    monkeypatch.chdir(tmp_path)
    damp = KELP.read_text(encoding="utf-8").replace("moisture_pct = 8 ", "moisture_pct = 11 ")
    (tmp_path / "my-job.toml").write_text(damp, encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    assert run(["trial", "add", "my-job.toml", *_TRIAL.split()]) == 0
    capsys.readouterr()
    return tmp_path


def help_of(words: tuple[str, ...], capsys) -> str:
    assert run([*words, "--help"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def examples(text: str) -> list[list[str]]:
    """Command lines below "Example:", as a shell would take them apart."""
    _, _, below = text.partition("Example:\n")
    lines = below.partition("\n\n")[0].splitlines()
    return [shlex.split(line)[1:] for line in lines if line.startswith("    moldwin ")]


def test_every_command_is_looked_at():
    names = {" ".join(words) for words in ALL}
    assert {"", "advise", "new", "trial", "trial add", "trial undo"} <= names


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_help_states_purpose_example_and_exit_codes(words, capsys):
    text = help_of(words, capsys)
    purpose = text.split("\n\n")[1]
    assert re.fullmatch(r"  [A-Z].+\.", purpose, re.DOTALL)
    (example,) = examples(text)
    assert example[: len(words)] == list(words)
    codes = re.findall(r"^ +(\d+) +\S", text.partition("Exit codes:")[2], re.MULTILINE)
    assert {"0", "2"} <= set(codes) <= {"0", "2", "3", "4", "130"}


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_help_fits_80_columns_and_only_the_top_speaks_of_completion(words, capsys):
    text = help_of(words, capsys)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert ("completion" in text) == (not words)


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_the_example_runs_as_it_stands(words, capsys, folder, monkeypatch):
    (line,) = examples(help_of(words, capsys))
    monkeypatch.setattr(sys, "stdin", io.StringIO("300 g potato starch, 90 g glycerol\n"))
    code = run(line)
    out, err = capsys.readouterr()
    assert (code, bool(out)) == (0, True), err
    assert "Traceback" not in err
