"""``moldwin evidence`` on the command line."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run


@pytest.fixture
def said(capsys):
    def call(*arguments):
        code = run(["evidence", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def test_the_page_lists_misses_before_what_is_met(said, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    code, out, err = said()
    assert (code, err) == (0, "")
    assert out.index("MISSES") < out.index("PREDICTIONS") < out.index("CONSTANTS")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "…" not in out
    assert "EVERY VALUE" not in out


def test_full_and_json_tell_the_same_rows_with_their_sources(said):
    code, out, _ = said("--json")
    data = json.loads(out)
    assert code == 0
    code, page, _ = said("--full")
    words = " ".join(page.split())
    assert code == 0
    for row in data["rows"]:
        assert " ".join(row["source"].split()) in words
    for row in data["not_compared"]:
        assert row["why"].removesuffix(".")[1:] in words
    assert page.count("OUTSIDE.") == sum(not row["inside"] for row in data["rows"])
    assert "from memory]" in words


def test_an_unknown_option_is_no_answer(said):
    code, out, err = said("--all")
    assert (code, out) == (2, "")
    assert "--all" in err
