"""The page of answer says what to do, in order, without ever saying more than is known."""

from __future__ import annotations

import re
import shlex
from dataclasses import replace

import pytest
from rich.cells import cell_len

from moldwin.advice.answer import Assumption, Details, SoakAdvice
from moldwin.base.percentiles import Triple
from moldwin.base.remarks import Remark
from moldwin.inputs.settings import apply_settings
from moldwin.report.terminal import advice_page
from tests.report.sample import (
    AS_IT_IS,
    ASSUMPTIONS,
    CLOSED,
    REMEDIES,
    WARNINGS,
    conditioned,
    hopeless,
    sample,
)

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


def test_the_steps_go_heat_load_cool():
    page = advice_page(sample(), width=80)
    assert in_order(
        page, "1. Heat the barrel", "the mold to", "2. Load", "soak", "3. Hold the mold"
    )
    assert "135 °C (121 to 159)" in page
    assert "fill within 12 min" in " ".join(page.split())


def test_conditioning_comes_first_where_it_leads_and_its_window_is_the_one_shown():
    page = advice_page(conditioned(), width=80)
    assert in_order(page, "1. Dampen", "bromide (NaBr)", "57 %", "Half way", "124.1 g", "2. Heat")
    assert "127 °C" in page
    assert "141 °C" not in page  # the least bad of the pellets as they are
    assert "9 days (4 to years)" in page  # no upper end is known


def test_pellets_too_wet_for_a_jar_are_dried_first():
    soaked = conditioned()
    soaked = replace(soaked, conditioning={**soaked.conditioning, "dry_first": True})
    page = " ".join(advice_page(soaked, "my job.toml", width=80).replace("\xa0", " ").split())
    assert in_order(page, "1. Dry the pellets to", "too wet for a jar", "124.1 g", "2. Heat")
    assert "moldwin dry 'my job.toml'" in page
    assert "Half way" not in page
    assert "closed jar" not in page


def test_conditioning_that_does_not_open_it_comes_after_what_would():
    """The steps keep their numbers: conditioning is the first of them."""
    wetter = replace(AS_IT_IS, barrel=CLOSED)
    page = advice_page(conditioned(after_conditioning=wetter, remedies=REMEDIES), width=80)
    assert in_order(
        " ".join(page.split()),
        "No barrel temperature reaches the 70 % asked for, not even at 11 % water.",
        "What would open a window for the pellets as they are",
        "To try it all the same: 1. Dampen",
        "2. Heat",
    )


def test_conditioning_that_does_not_lead_is_one_remark_at_the_end_of_the_steps():
    better = replace(AS_IT_IS, barrel=replace(AS_IT_IS.barrel, chance=0.79))
    page = advice_page(sample(after_conditioning=better), width=80)
    assert "1. Heat" in page
    assert in_order(page, "3. Hold the mold", "79 % instead of 74 %", "WHAT LIMITS IT")


def test_a_charge_that_the_barrel_cannot_hold_is_said_in_the_step():
    shot = replace(AS_IT_IS.shot, barrel_fill_pct=138.0)
    page = " ".join(advice_page(sample(now=replace(AS_IT_IS, shot=shot)), width=80).split())
    assert "which the barrel cannot hold: it would be 138 % full" in page


def test_a_press_without_force_is_not_passed_over():
    row = Assumption("press.force", 4000.0, "N", "assumed", "a default")
    page = " ".join(advice_page(sample(assumptions=[*ASSUMPTIONS, row]), width=80).split())
    assert "The job names no force on the ram: 4 kN is assumed" in page
    assert "names no force" not in advice_page(sample(), width=80)


def test_a_range_too_narrow_to_set_is_said_to_be_that():
    narrow = replace(CLOSED, chance=0.74)
    page = " ".join(advice_page(sample(now=replace(AS_IT_IS, barrel=narrow)), width=80).split())
    assert "No barrel temperature reaches" not in page
    assert "narrower than a heater can be set to" in page


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


@pytest.mark.parametrize(("chance", "said"), [(0.15, True), (0.04, False)])
def test_do_not_heat_says_what_another_moisture_would_change(chance, said):
    damper = replace(AS_IT_IS, barrel=replace(CLOSED, chance=chance))
    page = " ".join(advice_page(hopeless(after_conditioning=damper), width=80).split())
    assert ("water first it is 15 %." in page) is said
    assert ("Even conditioned to" in page) is said


def test_a_stop_is_the_reason_and_stands_where_the_steps_would():
    stop = Remark("fume", "stop", "It fumes.", "melting", "a paper")
    page = advice_page(hopeless(warnings=[*sample().warnings, stop]), width=80)
    assert "The best chance at any barrel temperature" not in page
    assert in_order(page, "Do not heat this.", "STOP: It fumes.", "WARNINGS", "Caution: Steam")
    assert page.count("It fumes.") == 1


def test_of_another_material_nothing_of_starch_is_shown():
    stop = Remark("not-polysaccharide", "stop", "It is protein.", "blend", "a paper")
    page = advice_page(hopeless(warnings=[stop], remedies=[]), width=80)
    assert "STOP: It is protein." in page
    assert "glass transition" not in page
    assert "WHAT LIMITS IT" not in page
    assert "the limits below" not in page


def test_what_does_not_open_the_window_is_not_listed_among_what_does():
    page = advice_page(hopeless(), width=80)
    assert "Add 40 g glycerol" in page
    assert "Seal the nozzle" not in page
    page = advice_page(hopeless(remedies=REMEDIES[1:]), width=80)
    assert in_order(page, "though not enough by itself", "Seal the nozzle")


def test_the_set_line_can_be_pasted_into_a_shell_and_read_back():
    page = advice_page(hopeless(remedies=REMEDIES[1:]), width=80)
    lines = [line.strip() for line in page.splitlines() if line.strip().startswith("--set")]
    words = shlex.split(lines[0])
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


def test_what_the_steps_say_is_not_said_again():
    held = Remark("held-too-long", "caution", "Get it out.", "melting", "a clock")
    page = advice_page(sample(warnings=[*WARNINGS, held]), width=80)
    assert "Get it out." not in page
    assert "fill within" in page


def test_what_is_missing_says_why():
    page = advice_page(EVERY_KIND["no part"], width=80)
    assert "2. Load the charge: not known, no [part] in the job." in page


def test_the_last_line_counts_what_nobody_measured_and_names_the_commands():
    last = " ".join(advice_page(sample(), "my jobs/a.toml", 80).split("\n\n")[-1].split())
    assert last.startswith("2 of 3 numbers behind this are assumed or from memory:")
    assert "moldwin advise 'my jobs/a.toml' --json" in last


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


# ------------------------------------------------------------------ the soak table


def _details(reached: bool) -> Details:
    ends = (200.0, 900.0) if reached else (None, None)
    soaks = [SoakAdvice(t, *ends, 400.0, 0.8, "fill") for t in range(100, 170, 10)]
    mpa = Triple(0.1, 0.2, 0.3)
    unknowns = [("melt.chi1", 0.3), ("glycerol.fume_t", 0.2), ("starch.flow_index", 0.1)]
    return Details(soaks, mpa, mpa, 0.26, unknowns, fillings=2)


def test_details_are_worked_out_for_the_page_alone():
    asked = []

    def work():
        asked.append(True)
        return _details(reached=True)

    advice = sample(details_of=work)
    advice.to_dict()
    assert not asked
    page = " ".join(advice_page(advice, width=80).split())
    assert len(asked) == 1
    assert "in 2 fillings tamped cold" in page
    assert "The nozzle takes 26 % of the filling pressure" in page


def test_unknowns_are_named_in_words_or_not_at_all():
    page = advice_page(sample(details_of=lambda: _details(reached=True)), width=80)
    assert "how firmly the melt holds its water 30 %" in " ".join(page.split())
    for raw in ("chi1", "fume_t", "flow_index"):
        assert raw not in page


def test_a_table_without_a_soak_that_reaches_it_has_no_empty_columns():
    open_page, closed = (
        advice_page(sample(details_of=lambda reached=reached: _details(reached)), width=80)
        for reached in (True, False)
    )
    assert "70 % from" in open_page
    assert "70 % from" not in closed
    rows = [line for line in closed.splitlines() if "too stiff" in line and "°C  " in line]
    assert rows
    assert all(line.split()[-2:] == ["too", "stiff"] for line in rows)
    assert len(rows) <= 5


def test_the_bundled_page_is_short():
    """Regression: what our own code prints today, with a little room."""
    from moldwin.advice.advise import advise
    from tests.jobs import BAR

    assert len(advice_page(advise(BAR, count=256), width=80).splitlines()) <= 52
