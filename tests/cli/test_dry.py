"""``moldwin dry`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import BAR, EXAMPLES


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers(capsys, example):
    code = run(["dry", str(example), "--to-moisture-pct", "6", "--oven-c", "55"])
    page, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "HOW WARM AT MOST" in page


def test_the_data(capsys):
    assert run(["dry", str(BAR), "--to-moisture-pct", "7", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "moldwin.drying/1"
    assert told["temperature_given"] is False
    assert set(told["hours_90"]) == {"low", "likely", "high"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--to-moisture-pct", "0.06"), "did you mean 6?"),
        (("--to-moisture-pct", "16"), "nothing to dry"),
        (("--oven-c", "333"), "allowed: 0 to 140"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(capsys, arguments, words):
    code = run(["dry", str(BAR), *arguments])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err
