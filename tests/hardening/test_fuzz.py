"""A short run of the fuzz, and that it would see what it looks for."""

from __future__ import annotations

import time

import pytest

from moldwin.inputs.errors import Fault, InputError
from tests.hardening import fuzz as fuzzing
from tests.hardening.fuzz import fuzz, main, run_case
from tests.hardening.kinds import KINDS, Case, at_the_command_line
from tests.hardening.spoiling import garbage, spoil

SHORT = 400


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    return fuzz(SHORT, 3, tmp_path_factory.mktemp("fuzz"))


def test_spoiled_files_are_refused_in_words_and_nothing_else_happens(found):
    assert not found.faults, str(found)
    assert sum(found.done.values()) == SHORT


def test_the_run_feeds_every_kind_and_both_takes_and_refuses(found):
    for kind in KINDS:
        told = {name for name in found.done if name.startswith(f"{kind}, ")}
        assert told, kind
    for kind in ("job-text", "job-values", "card", "weighings", "trials"):
        assert found.done[f"{kind}, taken"]
        assert found.done[f"{kind}, refused"]


def test_a_case_is_the_same_every_time(tmp_path):
    one, other = (Case("job-text", 1, 5) for _ in range(2))
    for case in (one, other):
        case.file(tmp_path, ".toml", (b"a = 1\n" * 20,))
    assert one.data == other.data
    assert spoil(b"a = 1", one.rng) == spoil(b"a = 1", other.rng)
    assert garbage(one.rng) == garbage(other.rng)


# ------------------------------------------------------------------ it would see a fault


def _plant(monkeypatch, feed):
    monkeypatch.setattr(fuzzing, "KINDS", {"planted": (feed, 1)})


def test_an_exception_nobody_documented_is_a_fault(monkeypatch, tmp_path):
    def fall(case, folder):
        raise KeyError("moisture")

    _plant(monkeypatch, fall)
    found = fuzz(5, 1, tmp_path)
    assert list(found.faults.values()) == [5]
    assert "KeyError" in str(found)
    assert "--only planted:0" in str(found)


def test_a_warning_on_the_way_is_a_fault(monkeypatch, tmp_path):
    import numpy as np

    _plant(monkeypatch, lambda case, folder: np.log(np.zeros(2)))
    assert "divide by zero" in str(fuzz(1, 1, tmp_path))


def test_a_hang_is_stopped_and_is_a_fault(monkeypatch, tmp_path):
    def hang(case, folder):
        while True:
            time.process_time()

    _plant(monkeypatch, hang)
    assert "Slow" in str(fuzz(1, 1, tmp_path, most=0.3))


def test_a_refusal_without_a_word_is_a_fault(monkeypatch, tmp_path):
    def silent(case, folder):
        raise InputError([])

    _plant(monkeypatch, silent)
    assert "says nothing" in str(fuzz(1, 1, tmp_path))
    _plant(
        monkeypatch, lambda case, folder: (_ for _ in ()).throw(InputError([Fault("a", "", "b")]))
    )
    assert not fuzz(1, 1, tmp_path).faults


def test_one_case_can_be_run_alone(capsys):
    assert main(["--only", "job-text:3", "--seed", "1"]) == 0
    assert capsys.readouterr().out in ("taken\n", "refused\n")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_feeds_something(kind, tmp_path):
    for number in range(6):
        run_case(kind, 20, number, tmp_path)


# ------------------------------------------------------------------ the command line


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["--help"], 0),
        (["check", "no-such.toml"], 2),
        (["advise", "--set", "pellets.moisture_pct=\x1b[31m"], 2),
        (["moisture", "\ud800.csv"], 2),
        (["shot", "--solid", "plate:1e999x1x1"], 2),
        (["shot", "--solid", "plate:" + "9" * 5000 + "x1x1"], 2),
        (["nonsense"], 2),
        ([""], 2),
    ],
)
def test_a_sentence_and_a_documented_code(arguments, code):
    assert at_the_command_line(arguments) == code
