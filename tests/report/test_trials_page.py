"""Trials as text: calm at 80 columns, and nothing from a file can steer the terminal."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from moldwin.learn.job_then import JobThen
from moldwin.learn.trials import COLUMNS
from moldwin.report.trials_data import trial_data, trials_data
from moldwin.report.trials_page import kept_words, trial_page, trials_page
from tests.learn.sample import FULL, trial

NASTY = "[bold red]x[/] \x1b[31m\x07 ✓ 漢字 \u202e:smile: " + "w" * 200


def numbered(**facts: object):
    return trial(number=1, **facts)


@pytest.mark.parametrize("width", [40, 60, 80])
def test_no_line_is_wider_than_the_page(width):
    spoiled = numbered(**{**FULL, "note": NASTY, "bubbles": "all", "cracked": True})
    for line in trials_page(NASTY[:20], [spoiled, numbered()], width).splitlines():
        assert cell_len(line) <= width


def test_the_list_fits_80_columns_whatever_is_noted():
    rows = [numbered(**{**FULL, "note": NASTY}), numbered(), numbered(barrel_c=123.456789012345)]
    page = trials_page("trials.sqlite", rows, 80)
    assert max(cell_len(line) for line in page.splitlines()) <= 80


def test_markup_is_text_and_control_characters_are_dropped():
    then = JobThen('{"title":"\\u001b[2J[red]t"}')
    spoiled = numbered(note=NASTY, lot=NASTY, photo=NASTY, job=NASTY, then=then)
    for page in (trials_page(NASTY, [spoiled], 80), trial_page(NASTY, spoiled, 80)):
        assert "[bold red]x[/]" in page
        assert "😄" not in page
        assert not {"\x1b", "\x07", "\u202e"} & set(page)
    assert "[2J[red]t" in trial_page("b", spoiled, 80)


def test_the_list_says_what_was_put_in_and_what_was_seen():
    page = trials_page("trials.sqlite", [numbered(**FULL)], 80)
    assert page.startswith("1 trial in trials.sqlite\n")
    row = page.splitlines()[-1]
    for words in ("2026-02-28", "130", "62.5", "2.5", "bubbles heart, stuck"):
        assert words in row
    assert "cracked" not in row


def test_a_narrow_list_loses_no_number():
    """At 40 columns what came out is a line of its own below what was put in."""
    page = trials_page("trials.sqlite", [numbered(**{**FULL, "note": "slow"})], 40)
    *_, put_in, came_out = page.splitlines()
    assert came_out.strip().startswith("filled 62.5 %, color 2.5; bubbles h…")
    assert "130" in put_in
    assert "…" not in put_in


@pytest.mark.parametrize(
    ("facts", "word"),
    [({"filled": True}, "yes"), ({"filled": False}, "no"), ({"fill_pct": 60.0}, "60")],
)
def test_filled_is_how_far_or_yes_or_no(facts, word):
    assert f" {word}" in trials_page("b", [numbered(**facts)], 80).splitlines()[-1]


def test_a_trial_taken_back_is_marked_in_the_list_and_told_on_its_page():
    gone = numbered(undone="2026-03-02T08:00:00Z")
    assert "2 trials in b, 1 of them taken back (x)" in trials_page("b", [gone, numbered()], 80)
    assert "1x" in trials_page("b", [gone], 80)
    assert "Taken back on 2026-03-02: it counts no longer." in trial_page("b", gone, 80)


def test_one_trial_shows_every_fact_or_says_that_it_was_not_noted():
    full, empty = trial_page("b", numbered(**FULL), 80), trial_page("b", numbered(), 80)
    for words in ("9.450000000000001 %", "0.30000000000000004 s", "6 kN", "18 mm", "@spring"):
        assert words in full
    assert "2.5: honey" in full
    assert "Not noted" not in full
    assert empty.count("Not noted") == 2
    assert "corn-starch  400 g" in full
    for line in FULL["note"].splitlines():
        assert line.replace("\t", "").split("\x1b")[0].strip() in full


def test_the_data_holds_every_column_under_its_own_name():
    told = trial_data("b", numbered(**FULL))
    assert {name: told[name] for name in COLUMNS} == FULL
    assert told["job"]["tables"]["title"] == "A bar"
    (row,) = trials_data("b", [numbered()])["trials"]
    assert all(row[name] is None for name in COLUMNS)
    assert "tables" not in row["job"]


@pytest.mark.parametrize(
    ("numbers", "known", "words"),
    [
        ([1], 0, "Trial 1 is kept in b.\n"),
        ([1, 2, 3], 0, "Trials 1 to 3 are kept in b.\n"),
        ([4], 1, "Trial 4 is kept in b. 1 more was there already.\n"),
        ([4, 5], 2, "Trials 4 to 5 are kept in b. 2 more were there already.\n"),
        ([], 1, "Nothing new for b: the trial was there already.\n"),
    ],
)
def test_what_became_of_trials(numbers, known, words):
    assert kept_words("b", numbers, known) == words
