"""Terminal output is calm: 80 columns, color only where wanted, no wrapped tables, clean stops."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time

import pytest
from rich.cells import cell_len

from moldwin.cli.app import run
from tests.cli.terminals import ESCAPES, at_terminal, plain
from tests.jobs import BAR, DRY, KELP

#: Commands that answer with a page, on each of the jobs that come with the tool.
PAGES = [
    ["advise", str(BAR)],
    ["advise", str(KELP), "--verbose"],
    ["advise", str(DRY), "--verbose"],
    ["cards"],
    ["cards", "brown-seaweed-powder"],
    ["check", str(KELP)],
    ["condition", str(KELP)],
    ["dry", str(BAR), "--to-moisture-pct", "7"],
    ["map", str(BAR), "--grid", "12", "--samples", "64"],
    ["moisture", "--dish-g", "20", "--wet-g", "30", "--dry-g", "29", "--oven-c", "105"],
]
#: Lines to be copied stay whole.
_TO_COPY = re.compile(r"^\s*(--set |moldwin )")
posix = pytest.mark.skipif(os.name != "posix", reason="needs a terminal of a POSIX system")


def page(arguments: list[str], capsys) -> str:
    assert run(arguments) == 0
    return capsys.readouterr().out


def shortened(words: list[str]) -> str:
    return " ".join(word.rpartition("/")[2] for word in words)


@pytest.mark.parametrize("arguments", PAGES, ids=shortened)
def test_no_line_is_wider_than_80_columns_and_none_holds_a_code(arguments, capsys):
    text = page(arguments, capsys)
    wide = [line for line in text.splitlines() if cell_len(line) > 80 and not _TO_COPY.match(line)]
    assert wide == []
    assert "\x1b" not in text
    assert not [line for line in text.splitlines() if line != line.rstrip()]


@pytest.mark.parametrize("arguments", PAGES, ids=shortened)
def test_a_wide_terminal_gets_the_same_page(arguments, capsys, monkeypatch):
    narrow = page(arguments, capsys)
    monkeypatch.setenv("COLUMNS", "200")
    assert page(arguments, capsys) == narrow


@pytest.mark.parametrize("arguments", PAGES, ids=shortened)
def test_no_page_leaves_two_lines_empty_or_ends_in_one(arguments, capsys):
    text = page(arguments, capsys)
    assert "\n\n\n" not in text
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_what_color_is_asked_for_changes_nothing_in_a_pipe(capsys, monkeypatch):
    before = page(["advise"], capsys)
    monkeypatch.setenv("TERM", "xterm-256color")
    assert page(["advise"], capsys) == before


@posix
@pytest.mark.parametrize(
    ("environment", "colored"),
    [
        ({"TERM": "xterm-256color"}, True),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
    ],
    ids=["color", "NO_COLOR", "dumb"],
)
def test_color_at_a_terminal_and_never_more_than_color(
    tmp_path, capsys, monkeypatch, environment, colored
):
    ended = at_terminal(["advise"], tmp_path, out_too=True, environment=environment)
    assert ended.code == 0
    codes = [code for code in ESCAPES.findall(ended.shown) if code.endswith("m")]
    hues = [code for code in codes if re.search(r"[\[;](3|4|9|10)[0-7](;|m)", code)]
    assert (codes != []) == (environment["TERM"] != "dumb")  # bold is no color
    assert hues == [] or colored
    # told without its codes it is the page of a pipe, word for word
    assert plain(ended.shown) == page(["advise"], capsys)


# -------------------------------------------------------------------------- progress bars


@posix
def test_a_bar_is_shown_at_a_terminal_and_gone_at_the_end(tmp_path):
    ended = at_terminal(
        ["map", str(BAR), "--grid", "30", "--samples", "2048"],
        tmp_path,
        environment={"TERM": "xterm"},
    )
    assert ended.code == 0
    assert "map" in ended.shown
    assert "\x1b" not in ended.out
    assert ended.out == at_pipe("map", str(BAR), "--grid", "30", "--samples", "2048").stdout


def test_no_bar_where_stderr_is_no_terminal():
    done = at_pipe("map", str(BAR), "--grid", "12", "--samples", "64")
    assert (done.returncode, done.stderr) == (0, "")


def at_pipe(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "moldwin", *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        env={**os.environ, "COLUMNS": "80", **environment},
    )


# -------------------------------------------------------------------------------- Ctrl-C


@posix
@pytest.mark.parametrize("option", [["-o", "map.png"], ["--json"]], ids=" ".join)
def test_long_work_stops_with_ctrl_c_and_leaves_nothing(tmp_path, option):
    size = ["--grid", "200", "--samples", "16384"]
    process = subprocess.Popen(
        [sys.executable, "-m", "moldwin", "map", str(BAR), *size, *option],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        start_new_session=True,
    )
    until = time.monotonic() + 60
    while not busy(process.pid) and time.monotonic() < until:
        time.sleep(0.1)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out, err) == (130, b"", b"")
    assert list(tmp_path.iterdir()) == []


def busy(process: int) -> bool:
    """Whether it has loaded what it computes with, and so is past its start."""
    try:
        with open(f"/proc/{process}/cmdline", encoding="utf-8") as line:
            started = "--grid" in line.read()  # before that it is a twin of this very process
        with open(f"/proc/{process}/maps", encoding="utf-8") as maps:
            return started and "scipy/special" in maps.read()
    except OSError:  # no such system: then it is given time
        time.sleep(3)
        return True


# ------------------------------------------------------------------------ shell completion


def completion_for(shell: str) -> subprocess.CompletedProcess[str]:
    """What is shown where the shell has to be named, as it cannot be looked up."""
    return at_pipe("--show-completion", shell, _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_shown_for_a_shell(shell):
    done = completion_for(shell)
    assert (done.returncode, done.stderr) == (0, "")
    assert f"_MOLDWIN_COMPLETE=complete_{shell}" in done.stdout


def test_an_unknown_shell_is_a_wrong_command_line():
    assert completion_for("nonsense").returncode == 2


@pytest.mark.parametrize(
    ("line", "offered"),
    [("moldwin con", {"condition"}), ("moldwin advise --see", {"--seed"}),
     ("moldwin trial un", {"undo"})],
)  # fmt: skip
def test_completion_offers_commands_and_options_and_loads_nothing_heavy(line, offered):
    words = line.split()
    report = (
        "import sys\nfrom moldwin.cli.app import run\ncode = run([])\n"
        "sys.stderr.write(' '.join(sys.modules))\nsys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", report],
        capture_output=True,
        text=True,
        check=False,
        env={
            **os.environ,
            "_MOLDWIN_COMPLETE": "complete_bash",
            "COMP_WORDS": line,
            "COMP_CWORD": str(len(words) - 1),
        },
    )
    assert set(done.stdout.split()) == offered
    loaded = {name.partition(".")[0] for name in done.stderr.split()}
    assert "moldwin" in loaded
    assert not loaded & {"numpy", "scipy", "pandas", "matplotlib"}
