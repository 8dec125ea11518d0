"""The page of answer says what to do, in order, without ever saying more than is known."""

from __future__ import annotations

import re
import shlex
from dataclasses import replace

import pytest
from rich.cells import cell_len

from moldwin.base.remarks import Remark
from moldwin.inputs.settings import apply_settings
from moldwin.report.terminal import advice_page
from tests.report.sample import AS_IT_IS, CLOSED, REMEDIES, conditioned, hopeless, sample

EVERY_KIND = {
    "open": sample(),
    "bundled": sample(bundled=True),
    "conditioned": conditioned(),
    "closed": sample(now=replace(AS_IT_IS, barrel=CLOSED), remedies=REMEDIES),
    "closed without remedy": sample(now=replace(AS_IT_IS, barrel=CLOSED)),
    "hopeless": hopeless(),
    "no part": sample(now=replace(AS_IT_IS, shot=replace(AS_IT_IS.shot, charge_g=None))),
}


def in_order(page: str, *words: str) -> bool:
    places = [page.find(word) for word in words]
    return -1 not in places and places == sorted(places)


def headings(page: str) -> list[str]:
    return [line.split(",")[0] for line in page.splitlines() if re.match(r"[A-Z]{4,}", line)]


@pytest.mark.parametrize("kind", EVERY_KIND)
@pytest.mark.parametrize("width", [60, 80])
def test_no_line_is_wider_than_the_page_except_what_is_to_be_copied(kind, width):
    for line in advice_page(EVERY_KIND[kind], "job.toml", width).splitlines():
        assert cell_len(line) <= width or line.lstrip().startswith("--set ")


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_the_sections_stand_in_their_order(kind):
    page = advice_page(EVERY_KIND[kind], width=80)
    assert headings(page) == ["WHAT TO DO", "WHAT LIMITS IT", "MEASURE NEXT", "WARNINGS"]


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_pipe_gets_no_terminal_codes(kind):
    assert "\x1b" not in advice_page(EVERY_KIND[kind], width=80)


def test_a_terminal_gets_bold_and_the_same_words(monkeypatch):
    plain = advice_page(sample(), width=80)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    styled = advice_page(sample(), width=80)
    assert "\x1b[1m" in styled
    assert re.sub(r"\x1b\[[0-9;]*m", "", styled) == plain


def test_the_steps_go_heat_mold_cool_load():
    page = advice_page(sample(), width=80)
    assert in_order(
        page, "1. Heat", "and soak", "2. Warm the mold", "3. Hold the ram and cool", "4. Load"
    )
    assert "135 °C (121 to 159)" in page
    assert "within 12 min" in " ".join(page.split())


def test_conditioning_comes_first_where_it_leads_and_its_window_is_the_one_shown():
    page = advice_page(conditioned(), width=80)
    assert in_order(page, "1. Dampen", "NaBr", "57 %", "Half way", "124.1 g", "2. Heat", "3. Warm")
    assert "127 °C" in page
    assert "141 °C" not in page  # the least bad of the pellets as they are
    assert "9 days (4 to years)" in page  # no upper end is known


def test_conditioning_that_does_not_lead_is_one_remark_at_the_end_of_the_steps():
    better = replace(AS_IT_IS, barrel=replace(AS_IT_IS.barrel, chance=0.79))
    page = advice_page(sample(after_conditioning=better), width=80)
    assert "1. Heat" in page
    assert in_order(page, "4. Load", "79 % instead of 74 %", "WHAT LIMITS IT")


def test_dry_pellets_are_dampened_and_damp_ones_dried():
    damp = replace(conditioned().moisture, now_pct=16.0)
    assert "1. Dry the pellets" in advice_page(conditioned(moisture=damp), width=80)


def test_no_window_is_said_plainly_with_remedies():
    page = advice_page(EVERY_KIND["closed"], width=80)
    assert "No barrel temperature reaches the 70 % asked for." in page
    assert "41 %, at 141 °C" in " ".join(page.split())
    assert in_order(page, "What would open a window", "Add 40 g glycerol", "1. Heat")


def test_do_not_heat_leaves_no_setting_on_the_page():
    page = advice_page(hopeless(), width=80)
    steps = page[page.index("WHAT TO DO") : page.index("WHAT LIMITS IT")]
    assert "Do not heat this." in steps
    assert in_order(steps, "8 %", "Add 40 g glycerol", "--set ingredient.glycerol.mass_g=140")
    for forbidden in ("Heat the barrel", "soak", "Warm the mold", "Cool", "Load"):
        assert forbidden not in steps


def test_a_stop_is_the_reason_and_comes_first_among_the_warnings():
    stop = Remark("fume", "stop", "It fumes.", "melting", "a paper")
    page = advice_page(hopeless(warnings=[*sample().warnings, stop]), width=80)
    assert "The best chance at any barrel temperature" not in page
    assert in_order(page, "WARNINGS", "STOP: It fumes.", "Caution: Steam", "Note: ")


def test_the_set_line_can_be_pasted_into_a_shell_and_read_back():
    page = advice_page(hopeless(), width=80)
    lines = [line.strip() for line in page.splitlines() if line.strip().startswith("--set")]
    words = shlex.split(lines[1])
    assert words == ["--set", "press.sealed_nozzle=true", "--set", "title=a b"]
    settings = apply_settings({"press": {"sealed_nozzle": False}}, words[1::2])
    assert not settings.faults
    assert settings.raw == {"press": {"sealed_nozzle": True}, "title": "a b"}


def test_the_most_broken_limits_are_named_in_words_and_rare_ones_are_not():
    page = advice_page(sample(), width=80)
    limits = page[page.index("WHAT LIMITS IT") : page.index("MEASURE NEXT")]
    assert in_order(
        limits,
        "Below about 118 °C the pellets do not weld into one melt: 2 in 10 cases",
        "Above about 158 °C it browns: 1 in 10 cases",
        "Above about 15 % water the pellets stick to the press: 9 in 100 cases",
        "the melt is too stiff to fill the mold: 6 in 100 cases",
    )
    assert "heater" not in limits


def test_every_remark_is_whole():
    page = " ".join(advice_page(sample(), width=80).split())
    for remark in sample().warnings:
        assert " ".join(remark.message.split()) in page


def test_what_is_missing_says_why():
    page = advice_page(EVERY_KIND["no part"], width=80)
    assert "4. Load: not known, no [part] in the job." in page


def test_the_last_line_counts_what_nobody_measured_and_names_the_commands():
    last = " ".join(advice_page(sample(), "my jobs/a.toml", 80).split("\n\n")[-1].split())
    assert last.startswith("2 of the 3 numbers behind this are assumed or from memory.")
    assert "moldwin advise 'my jobs/a.toml' --json" in last
    assert "moldwin cards NAME" in last


def test_the_bundled_example_is_titled_so():
    first, second, *_ = advice_page(sample(bundled=True), width=80).splitlines()
    assert first == "Bundled example, not your blend"
    assert second == "Bars from the spring batch"


@pytest.mark.parametrize(
    "title", ["[bold]x[/bold]", "[/nope]", ":smile: [link=http://x]y", "back\\slash"]
)
def test_text_from_a_file_is_never_markup(title):
    assert advice_page(sample(job=title), width=80).splitlines()[0] == title


def test_text_from_a_file_cannot_steer_the_terminal():
    page = advice_page(sample(job="a\x1b[2Jb\x07\u202ec\nd\x9be"), width=80)
    assert page.splitlines()[0] == "a[2Jbc de"


def test_a_title_of_wide_letters_still_fits():
    page = advice_page(sample(job="海帯 " * 60), width=80)
    assert all(cell_len(line) <= 80 for line in page.splitlines())
