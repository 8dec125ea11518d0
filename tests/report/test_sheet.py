"""The run sheet as markup: safe, whole, the terminal's own words, and cold where it must be."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace

import pytest

from moldwin.advice.answer import Assumption, Details, Triple
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job
from moldwin.report.sheet import Origin
from moldwin.report.sheet_data import embedded
from moldwin.report.sheet_style import STYLE
from moldwin.report.terminal import advice_page
from tests.report.sample import conditioned, hopeless, sample
from tests.report.sheet_sample import Markup, grid, page

NASTY = "<script>alert(1)</script> \"'& </title></style>\x1b[31m\u202e"
STOP = Remark("fume", "stop", "It gives off acrolein.", "melting", "a book")


def data_of(markup: Markup):
    return json.loads(markup.raw["data"])


# ------------------------------------------------------------------------- one file, safe


@pytest.mark.parametrize("advice", [sample(), conditioned(), hopeless()])
def test_it_is_whole_markup(advice):
    markup = Markup(page(advice))
    assert markup.left_open() == []
    assert [tag for tag, _ in markup.tags].count("main") == 1
    ids = [attributes["id"] for _, attributes in markup.tags if "id" in attributes]
    assert len(ids) == len(set(ids))


def test_nothing_is_fetched_and_the_policy_forbids_it():
    markup = Markup(page(sample()))
    for tag, attributes in markup.tags:
        assert tag not in ("img", "iframe", "object", "embed", "audio", "video", "base")
        assert "src" not in attributes
        assert "style" not in attributes, "the policy would drop it"
        assert not any(name.startswith("on") for name in attributes)
        if "href" in attributes:
            assert attributes["href"] == "data:," or attributes["href"].startswith("#")
    assert "url(" not in markup.raw["style"]
    assert "@import" not in markup.raw["style"]
    for word in ("fetch(", "XMLHttpRequest", "innerHTML", "eval(", "import(", "localStorage"):
        assert word not in markup.raw["script"]


def test_the_policy_names_this_style_and_this_script():
    markup = Markup(page(sample()))
    policy = next(a["content"] for t, a in markup.tags if t == "meta" and "http-equiv" in a)
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    for kind in ("style", "script"):
        digest = base64.b64encode(hashlib.sha256(markup.raw[kind].encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}';" in policy


@pytest.mark.parametrize("advice", [sample(), conditioned(), hopeless()])
def test_words_from_files_are_text(advice):
    nasty = replace(
        advice,
        job=NASTY,
        warnings=[Remark("dust", "caution", NASTY, NASTY, NASTY)],
        assumptions=[Assumption(f"{NASTY}.{NASTY}", 1.0, NASTY, "assumed", NASTY)],
        overrides=(NASTY,),
        remedies=[replace(r, change=NASTY, set={NASTY: NASTY}) for r in advice.remedies],
    )
    job = Job(title=NASTY, raw={"title": NASTY, NASTY: {NASTY: NASTY}, "x": [{"y": [NASTY]}]})
    markup = Markup(page(nasty, job=job, origin=Origin(NASTY, NASTY, (NASTY,))))
    assert [tag for tag, _ in markup.tags].count("script") == 2
    assert [tag for tag, _ in markup.tags].count("style") == 1
    assert "<script>alert(1)</script>" in markup.said
    assert "\x1b" not in page(nasty)
    assert "\u202e" not in page(nasty)
    assert "<script>alert(1)</script>" in " ".join(data_of(markup)["texts"])


def test_data_cannot_end_its_element():
    assert "<" not in embedded({"a": "</script><!--"})
    assert json.loads(embedded({"a": "</script>&"})) == {"a": "</script>&"}
    assert json.loads(embedded({"a": float("inf")})) == {"a": None}


def test_the_same_answer_gives_the_same_bytes():
    assert page(sample()) == page(sample())


# ----------------------------------------------------------------------- what it says


@pytest.mark.parametrize("advice", [sample(), conditioned()])
def test_the_steps_are_the_words_of_the_terminal(advice):
    terminal = " ".join(advice_page(advice, "bars.toml").replace("\n", " ").split())
    markup = Markup(page(advice))
    steps = re.findall(r'<div id="step-\w+">(.*?)</div>', page(advice))
    assert len(steps) == (4 if advice.conditioning_leads else 3)
    for step in steps:
        for sentence in re.findall(r">([^<]+)</p>", step):
            assert sentence in terminal
            assert sentence in markup.seen


def test_the_large_figures_are_those_to_use():
    seen = Markup(page(sample())).seen
    for words in ("Barrel 135 °C", "Soak 4.5 min", "Mold 61 °C", "Cool 45 s"):
        assert words in seen


def test_the_jars_mass_is_large():
    seen = Markup(page(conditioned())).seen
    assert "Stop jar at, with tray 166.1 g" in seen
    alone = {**conditioned().conditioning, "stop_scale_g": None}
    assert "Stop jar at 124.1 g" in Markup(page(conditioned(conditioning=alone))).seen
    none = {**alone, "stop_mass_g": None}
    assert "Stop jar" not in Markup(page(conditioned(conditioning=none))).seen


def test_every_warning_is_shown_with_its_weight_and_place():
    seen = Markup(page(sample())).seen
    assert "Caution, barrel: Steam from 128 °C on" in seen
    assert "Note, blend: Keep powder away from flames." in seen


def test_inputs_assumptions_and_command_are_there():
    advice = sample(seed=7, overrides=("agar",))
    markup = Markup(page(advice, origin=Origin("my bars.toml", "a = 1\n  b = 2\n", ("x.y=1",))))
    seen = markup.seen
    assert "press force_kn 6, sealed_nozzle true." in seen
    assert "press weld_offset 40 K." in seen
    assert "corn-starch density 1500 kg/m3*." in seen  # from memory, marked
    assert "tg_dry" not in seen  # published
    assert "Assumed: 2 of 3 numbers" in seen
    assert (
        "moldwin setup-sheet 'my bars.toml' --set x.y=1 --seed 7 --confidence 0.7 -o sheet.html"
        in seen
    )
    assert hashlib.sha256(b"a = 1\n  b = 2\n").hexdigest()[:12] in seen
    assert "Own cards used: agar." in seen
    assert "a = 1\n  b = 2" in page(advice, origin=Origin("j", "a = 1\n  b = 2\n"))


def test_the_bundled_example_says_so():
    assert "Bundled example, not your blend" in Markup(page(sample(bundled=True))).seen


def test_every_field_has_a_name():
    """A label round it, a label for it, or both."""
    text = page(conditioned())
    for control in re.finditer(r"<input[^>]*>", text):
        named = re.search(r'id="?(\w+)', control.group())
        before = text[: control.start()]
        inside = before.rfind("<label") > before.rfind("</label>")
        assert inside or (named and f'<label for="{named.group(1)}"' in text), control.group()


# ------------------------------------------------------------------------- do not heat


@pytest.mark.parametrize("warnings", [[], [STOP]])
def test_where_nobody_should_heat_it_says_so_and_names_no_setting(warnings):
    advice = hopeless(warnings=warnings)
    markup = Markup(page(advice))
    assert "DO NOT HEAT" in markup.seen
    assert "add 40 g glycerol" in markup.seen.lower()
    assert "--set ingredient.glycerol.mass_g=140" in markup.seen
    assert not re.search(r"(Soak|Cool|Barrel|Mold) \d", markup.seen)
    assert "Heat the barrel" not in markup.said
    if warnings:
        assert "STOP: It gives off acrolein." in markup.seen


def test_where_heating_is_advised_it_does_not_forbid_it():
    assert "DO NOT HEAT" not in Markup(page(sample())).seen


def test_the_controls_hold_no_setting_for_a_place_past_a_stop():
    data = data_of(Markup(page(hopeless(warnings=[STOP]))))
    for column in data["columns"]:
        assert column["best"] is None
        for cell in column["cells"]:
            assert {"soak_s", "cooling_s", "figures", "steps"} & set(cell) == set()


def test_the_controls_stand_where_the_sheet_does():
    data = data_of(Markup(page(sample())))
    column = data["columns"][data["advised"]]
    cell = column["cells"][column["best"]]
    texts = data["texts"]
    assert data["moisture"][data["advised"]] == 10.0
    assert [texts[i] for i in cell["figures"]] == ["135 °C", "4.5 min", "61 °C", "45 s"]
    seen = Markup(page(sample())).seen
    for part in [*cell["steps"][0], *cell["steps"][1], *cell["steps"][2], cell["status"]]:
        assert texts[part] in seen


def test_every_place_tells_the_chance_of_its_own_part():
    zero = Triple(0.0, 0.0, 0.0)
    advice = sample(details_of=lambda: Details([], zero, zero, 0.3, [], part_chance=0.61))
    known = {120.0: 0.42, 134.8: 0.61, 160.0: None}
    columns = [
        replace(c, cells=[replace(x, part_chance=known.get(x.barrel_c)) for x in c.cells])
        for c in grid().columns
    ]
    sheet = page(advice, grid=replace(grid(), columns=columns))
    data = data_of(Markup(sheet))
    assert "mold and room counted: 61 %." in Markup(sheet).seen
    cells = data["columns"][data["advised"]]["cells"]
    for cell, part in zip(cells[1:], known.values(), strict=True):
        said = " ".join(data["texts"][i] for i in cell["steps"][0])
        if part is None:
            assert "counted" not in said
        else:
            assert f"mold and room counted: {100 * part:.0f} %." in said


def test_without_set_points_there_is_no_control_and_no_picture():
    empty = replace(grid(False), barrel_c=[])
    markup = Markup(page(hopeless(), grid=empty))
    assert not any(tag == "svg" for tag, _ in markup.tags)
    assert not any(attributes.get("id") == "controls" for _, attributes in markup.tags)


# --------------------------------------------------------------------- can it be read


def colors(part: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+):(#[0-9a-f]{3,6})\b", part))


def luminance(color: str) -> float:
    """Relative luminance as WCAG 2 defines it (from memory)."""
    digits = color[1:] if len(color) == 7 else "".join(2 * c for c in color[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_is_right():
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("mode", ["light", "dark", "print"])
def test_words_stand_out_in_every_mode(mode):
    marks = {"light": ":root{", "dark": "(prefers-color-scheme:dark)", "print": "@media print"}
    start = STYLE.index(marks[mode])
    found = colors(STYLE[start : STYLE.index("}", STYLE.index(":root{", start))])
    for ink in ("ink", "soft", "link", "stop"):
        for ground in ("paper", "card"):
            assert contrast(found[ink], found[ground]) >= 4.5, (ink, ground)
    for shade in ("c1", "c2", "c3"):
        assert contrast(found["ink"], found[shade]) >= 4.5, shade
    shades = [luminance(found[name]) for name in ("c1", "c2", "c3")]
    assert shades == sorted(shades, reverse=mode != "dark")


def test_far_figures_are_as_large_as_the_module_says():
    """42 pt on paper are 14.8 mm; digits are about 0.7 of that, over 10 mm."""
    assert re.search(r"\.figures \.far dd,\.stop\{font-size:42pt\}", STYLE)
    assert 0.7 * 42 * 25.4 / 72 > 10.0
