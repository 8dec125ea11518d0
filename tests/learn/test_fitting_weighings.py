"""Tables of weighings in a fit: each once, kept for later fits, never twice in silence."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from moldwin.base.draws import Draws
from moldwin.inputs.cards import Library, library_for
from moldwin.inputs.humidity_weighings import read_humidity_weighings
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.read_job import read_job
from moldwin.learn.fitting import Weighings, fit_trials
from moldwin.learn.keeping import keep
from moldwin.learn.trials import Trial
from moldwin.physics.sorption import gab
from moldwin.stages.bench import Bench
from moldwin.stages.isotherm_reading import read_isotherm, with_isotherm
from moldwin.stages.jar_plan import plan_jar
from moldwin.stages.jar_stage import JarStage
from moldwin.stages.state import Material
from tests.jobs import BAR
from tests.learn.test_fitting import invented

COUNT = 256
TO = 0.13
#: Few thick pellets under a fan: in a still, full jar the air sets the pace, not the pellets.
BRISK = ["jar.fan=true", "pellets.mass_g=30", "pellets.diameter_mm=6", "pellets.length_mm=6"]
HOURS = (0.0, 12.0, 24.0, 48.0, 96.0, 192.0)


def humidity(folder: Path, xm: float = 0.065) -> Path:
    """Starch weighed at four humidities, off a curve of known constants, to a milligram."""
    path = folder / "humidity.csv"
    rows = ["sample,humidity_pct,dish_g,gross_g"]
    for sample, aw in enumerate((0.33, 0.43, 0.58, 0.75)):
        x = float(gab(aw, xm, 30.0, 0.78))
        rows += [f"{sample},0,10.000,15.000", f"{sample},{100 * aw:g},10.000,{15.0 + 5.0 * x:.3f}"]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def jar(job) -> tuple[JarWeighings, float]:
    """A jar weighed over days, were one sample the truth; and that sample's diffusivity."""
    bench = Bench(job, seed=91, count=64, library=Library())
    stage = JarStage(bench, Material(bench), float(job.pellets.moisture))
    run = stage.run(plan_jar(stage, TO).bath, TO, times=3600.0 * np.array(HOURS))
    index = int(stage.diffusivity_factor.argsort()[20])
    x0 = run.x_start[:, None]
    share = 1.0 + ((run.course.mean - x0) / (1.0 + x0))[index]
    gross = tuple(round(float(0.030 * s), 5) for s in share)
    times = tuple(3600.0 * hour for hour in HOURS)
    read = JarWeighings("jar.csv", times, gross, 1e-5)
    return read, float(stage.diffusivity_factor[index])


@pytest.fixture(scope="module")
def weighed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("weighed")
    path = folder / BAR.name
    shutil.copy(BAR, path)
    job = read_job(path, BRISK)
    read, truth = jar(job)
    tables = Weighings(humidity=read_humidity_weighings(humidity(folder)), jar=read, jar_to=TO)
    found = fit_trials(job, (), folder, tables, count=COUNT)
    assert found is not None
    keep(found, folder, folder / "trials.sqlite", library_for(folder))
    return folder, path, tables, found, truth


def numbers(found) -> dict[str, object]:
    return {f"{one.card.name}.{n.key}": n for one in found.cards for n in one.learnt}


def test_tables_alone_make_cards_and_say_where_each_number_is_from(weighed):
    *_, found, truth = weighed
    told = numbers(found)
    assert told["corn-starch.xm"].data == "humidity weighings"
    assert told["corn-starch.xm"].ratio < 0.6
    assert told["corn-starch.xm"].after.likely == pytest.approx(0.065, rel=0.08)
    speed = told["corn-starch.diffusivity_factor"]
    assert speed.data == "jar weighings"
    assert speed.narrowed
    assert speed.after.low <= truth <= speed.after.high
    assert told["jar.isotherm_factor"].data == "jar weighings"
    assert found.used == ()
    assert found.posterior is None
    assert "corn-starch.melt_viscosity" in found.untouched


def test_the_isotherm_is_that_of_its_own_command(weighed):
    _, path, tables, found, _ = weighed
    job = read_job(path)
    heat_factor = Library().card("jar")["sorption_heat_factor"]
    corn = Library().card("corn-starch")
    alone = read_isotherm(corn, tables.humidity, job.room.temperature, heat_factor)
    xm = numbers(found)["corn-starch.xm"].after
    assert xm.likely == pytest.approx(alone.now["xm"].likely, rel=0.03)
    card = with_isotherm(alone)
    assert card["isotherm_t"].value == 298.15
    assert card["tg_dry"] == Library().card("corn-starch")["tg_dry"]


def test_a_later_fit_of_trials_keeps_what_was_weighed(weighed, tmp_path):
    folder = tmp_path / "later"
    shutil.copytree(weighed[0], folder)
    _, trials = invented(folder)
    job = read_job(folder / BAR.name)
    before = Bench(job, count=COUNT).of(library_for(folder).card("corn-starch"), "xm")
    found = fit_trials(job, trials, folder, count=COUNT)
    keep(found, folder, folder / "trials.sqlite", library_for(folder))
    bench = Bench(read_job(folder / BAR.name), count=COUNT)
    after = bench.of(bench.card("corn-starch"), "xm")
    assert np.median(after) == pytest.approx(np.median(before), rel=0.05)
    assert after.std() < 1.2 * before.std()
    shipped = Bench(job, count=COUNT, library=Library())
    assert after.std() < 0.7 * shipped.of(shipped.card("corn-starch"), "xm").std()
    # and once more: the same answer, nothing counted twice
    again = fit_trials(job, trials, folder, count=COUNT)
    assert [one.learnt for one in again.cards] == [one.learnt for one in found.cards]


def test_the_same_table_twice_is_told(weighed):
    folder, path, tables, *_ = weighed
    found = fit_trials(read_job(path, BRISK), (), folder, tables, count=COUNT)
    assert any("hold weighings in jar.csv already" in words for words in found.doubts)
    assert any("holds weighings already" in note for note in found.isotherm.notes)


def test_trials_and_tables_join(weighed, tmp_path):
    _, _, tables, *_ = weighed
    path, trials = invented(tmp_path)
    both = fit_trials(read_job(path, BRISK), trials, tmp_path, tables, count=COUNT)
    told = numbers(both)
    assert told["corn-starch.xm"].ratio < 0.6
    assert told["corn-starch.browning_limit"].data == "trials"
    assert told["corn-starch.browning_limit"].ratio < 0.8
    assert both.data == "12 trials and weighings in humidity.csv and weighings in jar.csv"


def test_weighings_no_jar_can_give_are_doubted(tmp_path):
    gross = (0.120, 0.126, 0.132, 0.140)
    wild = JarWeighings("wild.csv", (0.0, 3600.0, 7200.0, 10800.0), gross, 1e-5)
    shutil.copy(BAR, tmp_path)
    job = read_job(tmp_path / BAR.name)
    found = fit_trials(job, (), tmp_path, Weighings(jar=wild, jar_to=TO), count=COUNT)
    assert found.jar.far


def test_a_trial_without_anything_seen_does_not_hide_the_tables(weighed, tmp_path):
    _, _, tables, *_ = weighed
    path, trials = invented(tmp_path)
    bare = [Trial("t1", "2026-03-01T10:00:00Z", path.name, trials[0].then, number=1)]
    found = fit_trials(read_job(path, BRISK), bare, tmp_path, tables, count=COUNT)
    assert found.left_out == (1,)
    assert found.used == ()


def test_draws_of_a_fit_leave_the_prior_alone():
    prior = Draws(count=COUNT)
    assert np.array_equal(prior.scores("starch.xm"), Draws(count=COUNT).scores("starch.xm"))
