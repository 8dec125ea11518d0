"""What stands behind the remarks: every code has its law, every number is one of the answer."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from moldwin.advice.advise import advise
from moldwin.base.remarks import CODES, Remark
from moldwin.report.laws import LAW_OF, LAWS
from moldwin.report.verbose_page import verbose_section
from moldwin.report.words import LIMITS
from tests.jobs import EXAMPLES, dry, job
from tests.report.sample import sample

#: Jobs that use numbers which no example uses.
_OTHERS = [
    job(ingredient=dry(corn_starch=100, glycerol=20), blend={"cooked": False}, press=None),
    job(ingredient=dry(sodium_alginate=90, flax_fiber=10, glycerol=20, calcium_chloride=3)),
    job(ingredient=dry(potato_starch=90, glycerol=20, citric_acid=2), room=None, press=None),
    job(ingredient=dry(plant_protein=90, potato_starch=10, glycerol=20)),
    job(blend={"softening_c": 60, "softening_moisture_pct": 9}),
]


def test_every_code_and_every_limit_has_a_law():
    assert set(LAW_OF) == {*CODES, *LIMITS}
    assert set(LAW_OF.values()) | {"glass"} == set(LAWS)


def test_every_number_a_law_takes_is_one_that_answers_use():
    names: set[str] = set()
    for source in (*EXAMPLES, *_OTHERS):
        names |= {row.name.partition(" = ")[0] for row in advise(source, count=256).assumptions}
    for law in LAWS.values():
        for ending in law.takes:
            found = [n for n in names if (n.endswith(ending) if ending[0] == "." else n == ending)]
            assert found, (law.title, ending)


def test_the_numbers_are_the_answers_own_with_value_status_and_source():
    answer = advise(EXAMPLES[-1], count=256)
    text = verbose_section(answer, width=80)
    rows = {row.name: row for row in answer.assumptions}
    shown = re.findall(r"^  (\S+) +(\S+)( \S+)?  +(\w.*?)  +(\S.*)$", text, re.MULTILINE)
    assert len(shown) > 20
    for name, value, *_ in shown:
        assert float(value) == pytest.approx(rows[name].value, rel=1e-3)
    assert "assumed" in text
    assert "published" in text


@pytest.mark.parametrize("code", CODES)
def test_a_remark_of_any_code_is_shown_with_its_law_and_source(code):
    remark = Remark(code, "caution", "A sentence with 17 in it.", "melting", "a source")
    text = verbose_section(replace(sample(), warnings=[remark]), width=80)
    assert "A sentence with 17 in it. [a source]" in text
    assert LAWS[LAW_OF[code]].title in text


def test_of_another_material_no_law_of_starch_is_told():
    stop = Remark("not-polysaccharide", "stop", "Protein.", "blend", "a source")
    text = verbose_section(replace(sample(), warnings=[stop]), width=80)
    assert LAWS["glass"].title not in text
    assert LAWS["weld"].title not in text


def test_no_line_is_wider_than_asked():
    text = verbose_section(advise(EXAMPLES[1], count=256), width=60)
    assert max(map(len, text.splitlines())) <= 60


def test_without_remarks_it_says_the_glass_transition_alone():
    quiet = sample(warnings=[])
    barrel = replace(quiet.now.barrel, limits=[])
    moisture = replace(quiet.moisture, limits=[])
    quiet = replace(quiet, now=replace(quiet.now, barrel=barrel), moisture=moisture)
    titles = [law.title for law in LAWS.values() if law.title in verbose_section(quiet, width=80)]
    assert titles == [LAWS["glass"].title]
