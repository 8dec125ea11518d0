"""The map as text: 80 columns, readable without color, honest about what is closed."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from moldwin.base.remarks import Remark
from moldwin.report.map_page import map_page
from tests.report.map_sample import BARREL, MOISTURE, NOW, TARGET, sample_advice, sample_map

STOP = Remark("not-polysaccharide", "stop", "Mostly protein.", "blend", "assumed")
#: Range of chances behind each letter, at the sample's confidence of 0.7.
SHADES = {" ": (0.0, 0.1), ".": (0.1, 0.3), ":": (0.3, 0.5), "+": (0.5, 0.7)}


def rows(page: str) -> list[str]:
    """What stands right of the upright axis, the hottest row first."""
    return [line[6:] for line in page.splitlines() if re.match(r"^[ \d]{4} \|", line)]


def temperature(page: str, index: int) -> float:
    """Of a row of the map, from the numbers beside it."""
    numbered = [
        (i, float(line[:4]))
        for i, line in enumerate(x for x in page.splitlines() if re.match(r"^[ \d]{4} \|", x))
        if line[:4].strip()
    ]
    (i, high), (j, low) = numbered[0], numbered[-1]
    return high + (index - i) / (j - i) * (low - high)


@pytest.mark.parametrize("width", [40, 66, 80, 200])
def test_no_line_is_too_long_and_the_map_takes_the_width(width):
    page = map_page(sample_advice(), width=width)
    lengths = [len(line) for line in page.splitlines()]
    assert max(lengths) <= min(width, 80)
    (frame,) = [line for line in page.splitlines() if line.strip().startswith("+--")]
    assert len(frame) == min(width, 80)


def test_it_is_no_taller_than_a_terminal():
    assert 8 <= len(rows(map_page(sample_advice(), width=80))) <= 22


def test_there_is_no_color_in_it(monkeypatch):
    assert "\x1b" not in map_page(sample_advice(), width=80)


def test_a_cell_tells_the_chance_at_its_place():
    # the one mark stands on the lowest row, out of the way
    advice = sample_advice(sample_map(uprights=[], now=TARGET), heat_now=False)
    page = map_page(advice, width=80)
    for index, line in enumerate(rows(page)[:-1]):
        line = line.ljust(74)
        at = int(np.abs(BARREL - 273.15 - temperature(page, index)).argmin())
        for column in range(0, 74, 7):
            letter = line[column]
            water = MOISTURE[0] + column / 73 * (MOISTURE[-1] - MOISTURE[0])
            chance = float(np.interp(water, MOISTURE, advice.map.chance[at]))
            if letter.isdigit():
                assert chance >= 0.7 - 0.03
                assert int(letter) == pytest.approx(10 * chance - 0.5, abs=0.9)
            else:
                low, high = SHADES[letter]
                assert low - 0.06 <= chance <= high + 0.06


def test_now_and_target_stand_where_they_are():
    page = map_page(sample_advice(sample_map(uprights=[])), width=80)
    field = rows(page)
    for name, place in (("* now", NOW), ("* target", TARGET)):
        (index,) = [i for i, line in enumerate(field) if name in line]
        assert temperature(page, index) == pytest.approx(place.barrel - 273.15, abs=5.1)
        share = field[index].index(name) / 73
        water = MOISTURE[0] + share * (MOISTURE[-1] - MOISTURE[0])
        assert water == pytest.approx(place.moisture, abs=0.002)
    assert "* now: 8 % water; best at 131 °C, soak 5 min: chance 55 %, of the barrel alone" in page


@pytest.mark.parametrize("gap", [0.0, 0.001, 0.004, 0.01, 0.02])
@pytest.mark.parametrize("water", [0.021, 0.03, 0.10, 0.17])
def test_the_names_never_run_into_each_other(gap, water):
    now = replace(NOW, moisture=water, barrel=400.0)
    target = replace(TARGET, moisture=min(water + gap + 1e-6, 0.18), barrel=400.0)
    page = map_page(sample_advice(sample_map(now=now, target=target)), width=80)
    field = "\n".join(rows(page))
    assert len(re.findall(r"\bnow\b", field)) == 1
    assert len(re.findall(r"\btarget\b", field)) == 1


def test_pellets_at_their_target_are_marked_once():
    page = map_page(sample_advice(sample_map(now=TARGET)), width=80)
    assert "* now = target" in "\n".join(rows(page))
    assert page.count("chance 95 %") == 1


def test_moisture_limits_stand_upright_and_are_named():
    page = map_page(sample_advice(), width=80)
    columns = [i for i in range(74) if all(row.ljust(74)[i] in "|* nowtarge" for row in rows(page))]
    upright = [i for i in columns if sum(row.ljust(74)[i] == "|" for row in rows(page)) > 5]
    waters = [MOISTURE[0] + i / 73 * (MOISTURE[-1] - MOISTURE[0]) for i in upright]
    assert waters == pytest.approx([0.04, 0.15], abs=0.002)
    told = " ".join(page.split())
    assert "drier than 4 % the part is brittle in its room; wetter than 15 % mold can grow" in told
    assert "sticky" not in page


def test_barrel_limits_are_told_at_the_target():
    told = " ".join(map_page(sample_advice(), width=80).split())
    assert "At 12 % water: above 155 °C it browns; below 119 °C the melt is too stiff" in told
    assert "harmful" not in told  # it binds nowhere on the map


def test_a_closed_map_says_so_and_where_help_is():
    page = map_page(sample_advice(sample_map(top=0.55)), width=80)
    told = " ".join(page.split())
    assert "Nowhere on this map does the chance reach the 70 % asked for; the best is 55 %" in told
    assert "moldwin advise" in told
    assert not re.search(r"\d", "".join(rows(page)))


def test_no_setting_is_named_where_nobody_should_heat():
    advice = sample_advice(heat_now=False, heat_target=False, warnings=[STOP])
    page = map_page(advice, width=80)
    assert "soak 5 min" not in page
    assert page.count("do not heat") == 2
    assert "Do not heat this" in page
    assert "STOP, not polysaccharide: Mostly protein." in page
    assert "* now" in rows(page)[-1]


def test_a_bundled_job_is_titled_so():
    page = map_page(sample_advice(bundled=True), width=80)
    assert page.startswith("Bundled example, not your blend\nPlant labels\n")


def test_a_title_cannot_steer_the_terminal():
    assert "\x1b" not in map_page(sample_advice(job="\x1b[2J[bold]x"), width=80)
    assert "[bold]x" in map_page(sample_advice(job="\x1b[2J[bold]x"), width=80)


@pytest.mark.parametrize("confidence", [0.5, 0.7, 0.75, 0.99])
def test_the_legend_names_the_shades_in_use(confidence):
    page = map_page(sample_advice(sample_map(confidence=confidence)), width=80)
    told = " ".join(page.split())
    assert ". 1 to 3 in 10, blank less." in told
    assert ("+ 5 to" in told) == (confidence > 0.5)
    assert ("+" in "".join(rows(page))) == (confidence > 0.5)
    if confidence > 0.5:
        assert f"+ 5 to {10 * confidence:.3g} in 10" in told
