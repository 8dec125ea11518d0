"""A fit from a book to a card and back: what is written is what was learned."""

from __future__ import annotations

import csv
import itertools
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldwin.inputs.cards import Library, library_for, load_card
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.files import shipped
from moldwin.inputs.fitted_cards import card_of_lot, is_fitted
from moldwin.inputs.read_job import read_job
from moldwin.inputs.whole_file import write_whole
from moldwin.learn import keeping
from moldwin.learn.fitting import fit_trials
from moldwin.learn.job_then import job_then
from moldwin.learn.keeping import keep
from moldwin.learn.trials import Trial, read_value
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup
from tests.jobs import BAR

COUNT = 512


def invented(folder: Path, lot: str = "") -> tuple[Path, list[Trial]]:
    """The example's dozen of invented trials, in a folder of their own."""
    path = folder / BAR.name
    shutil.copy(BAR, path)
    then = job_then(read_job(path), folder, lot)
    with open(shipped("examples") / "trials-invented.csv", encoding="utf-8") as table:
        rows = list(csv.DictReader(table))
    trials = []
    for number, row in enumerate(rows, 1):
        facts = {name: read_value(name, text) for name, text in row.items() if name != "job"}
        made = Trial(f"t{number}", "2026-03-01T10:00:00Z", path.name, then, number=number, **facts)
        trials.append(made)
    return path, trials


@pytest.fixture(scope="module")
def fitted(tmp_path_factory):
    folder = tmp_path_factory.mktemp("maker")
    path, trials = invented(folder)
    found = fit_trials(read_job(path), trials, folder, count=COUNT)
    assert found is not None
    written = keep(found, folder, folder / "trials.sqlite", library_for(folder))
    return folder, path, trials, found, written


def test_short_shots_and_colors_teach_flow_and_browning(fitted):
    _, _, _, found, _ = fitted
    numbers = {one.key: one for card in found.cards for one in card.learnt}
    assert numbers["browning_limit"].ratio < 0.75
    assert numbers["flow_water"].ratio < 0.9
    assert found.used == tuple(range(1, 13))
    before, after = found.tg
    assert after.high - after.low < 0.8 * (before.high - before.low)


def test_what_no_trial_touches_is_said(fitted):
    _, _, _, found, _ = fitted
    assert "corn-starch.diffusivity_factor" in found.untouched
    assert "corn-starch.browning_limit" not in found.untouched


def test_what_is_written_reads_back(fitted):
    folder, _, _, found, written = fitted
    assert {path.parent for path in written} == {folder / "cards"}
    for path, one in zip(written, found.cards, strict=True):
        card = load_card(path)
        assert is_fitted(card)
        assert card.facts["fitted"]["trials"] == 12
        for learnt in one.learnt:
            samples = card[learnt.key].samples(np.linspace(-1.6448536, 1.6448536, 3))
            width = max(learnt.after.high - learnt.after.low, 1e-9)
            off = np.abs(samples - np.array([*vars(learnt.after).values()])) / width
            assert off.max() < 0.25, (learnt.key, samples, learnt.after)


def test_shipped_cards_stay_as_they_are(fitted):
    shipped_card = Library().card("corn-starch")
    assert shipped_card.path.is_relative_to(shipped("material_cards"))
    assert shipped_card["melt_viscosity"].value == 900.0
    assert not is_fitted(shipped_card)


def test_the_cards_say_what_the_draws_of_the_fit_say(fitted):
    """Window and chance after the cards were written, against the posterior itself."""
    folder, path, _, found, _ = fitted
    job, behind = read_job(path), library_for(folder, fits="behind")
    draws = Bench(job, count=COUNT, library=behind).with_draws(found.posterior.draws)
    windows = [Setup(bench).window(0.10).barrel for bench in (draws, Bench(job, count=2048))]
    by_draws, by_cards = windows
    assert by_cards.low == pytest.approx(by_draws.low, abs=4.0)
    assert by_cards.high == pytest.approx(by_draws.high, abs=4.0)
    assert by_cards.best == pytest.approx(by_draws.best, abs=5.0)  # a step of the grid
    assert by_cards.chance == pytest.approx(by_draws.chance, abs=0.05)


def test_what_is_learned_of_the_press_is_kept_in_cards_of_the_bench(fitted):
    _, path, _, found, _ = fitted
    of_bench = {one.card.name: one for one in found.cards if one.of_bench}
    assert of_bench, "nothing at all was learned of the bench"
    assert "part" in of_bench  # bend radii tell at what distance from its transition it is brittle
    offset = next(n for n in of_bench["part"].learnt if n.key == "brittle_offset")
    assert offset.narrowed
    bench = Bench(read_job(path), count=2048)
    samples = bench.typical("part", "brittle_offset")
    assert np.median(samples) == pytest.approx(offset.after.likely, rel=0.05)


def test_all_cards_take_part_in_one_order(fitted):
    """Each card's matrix is the leading part of the next one's: so they draw the same numbers."""
    found = fitted[3]
    groups = [one.group for one in found.cards if one.group is not None]
    for small, big in itertools.pairwise(groups):
        shared = [
            (i, big.members.index(name if "." in name else f"{card}.{name}"))
            for card, i, name in (
                (one.card.name, i, name)
                for one in found.cards
                if one.group is small
                for i, name in enumerate(small.members)
            )
            if (name if "." in name else f"{card}.{name}") in big.members
        ]
        at, there = zip(*shared, strict=True)
        assert list(there) == sorted(there)
        assert np.allclose(
            np.array(small.correlation)[np.ix_(at, at)],
            np.array(big.correlation)[np.ix_(there, there)],
        )


def test_a_card_that_a_later_fit_says_nothing_of_gives_way(fitted, tmp_path):
    found, folder = fitted[3], tmp_path / "maker"
    shutil.copytree(fitted[0], folder)
    less = replace(found, cards=tuple(one for one in found.cards if not one.of_bench))
    keep(less, folder, folder / "trials.sqlite", library_for(folder))
    names = {one.card.name for one in found.cards if one.of_bench}
    assert names
    for name in names:
        assert not (folder / "cards" / f"{name}.toml").exists()
        assert list((folder / "cards" / "old").glob(f"*/{name}.toml"))


def test_a_disk_that_fills_up_leaves_every_card_as_it_was(fitted, tmp_path, monkeypatch):
    found, folder = fitted[3], tmp_path / "maker"
    shutil.copytree(fitted[0], folder)
    before = {path.name: path.read_bytes() for path in (folder / "cards").glob("*.toml")}
    written = []

    def until_it_is_full(target, data, **more):
        if target.parent.name.startswith(".fit-") and len(written) == 2:
            raise InputError([Fault(str(target), "", "cannot be written: No space left on device")])
        written.extend([target] if target.parent.name.startswith(".fit-") else [])
        write_whole(target, data, **more)

    monkeypatch.setattr(keeping, "write_whole", until_it_is_full)
    with pytest.raises(InputError, match="No space left"):
        keep(found, folder, folder / "trials.sqlite", library_for(folder))
    assert len(written) == 2
    assert {p.name: p.read_bytes() for p in (folder / "cards").glob("*.toml")} == before
    assert not list((folder / "cards").glob(".fit-*"))


def test_correlations_are_kept_in_the_card_and_used(fitted):
    _, path, *_ = fitted
    bench = Bench(read_job(path), count=2048)
    card = bench.card("corn-starch")
    group = next(g for g in card.groups if g.name == "trials")
    own = [m for m in group.members if card.get(m) is not None]
    values = [bench.of(card, key) for key in own]
    for i, a in enumerate(own):
        for j, b in enumerate(own[:i]):
            wanted = group.correlation[group.members.index(a)][group.members.index(b)]
            ranks = [v.argsort().argsort() for v in (values[i], values[j])]
            assert np.corrcoef(ranks)[0, 1] == pytest.approx(wanted, abs=0.12), (a, b)


def test_the_second_session_starts_from_what_the_first_learned(fitted):
    """By the cards alone the margins are narrower, and nearer to what the draws of the fit say."""
    folder, path, _, found, _ = fitted
    job = read_job(path)
    benches = {
        "before": Bench(job, count=COUNT, library=library_for(folder, fits="behind")),
        "cards": Bench(job, count=COUNT),
        "draws": Bench(job, count=COUNT, library=library_for(folder, fits="behind")).with_draws(
            found.posterior.draws
        ),
    }
    t_set, soak = np.array([408.15]), np.array([400.0])
    margins = {k: Setup(b).barrel(0.10).margins(t_set, soak) for k, b in benches.items()}
    for name in ("fill", "browning"):
        before, cards, draws = (margins[k][name][0, 0] for k in ("before", "cards", "draws"))
        assert cards.std() < 0.75 * before.std()
        away = abs(np.median(cards) - np.median(draws))
        assert away < 0.5 * abs(np.median(before) - np.median(draws)) + 0.25 * before.std(), name


def test_no_trial_counts_twice(fitted, tmp_path):
    """Fitted again over the fitted cards, the answer is the same to the digit."""
    folder, path, trials, found, _ = fitted
    again = fit_trials(read_job(path), trials, folder, count=COUNT)
    assert again is not None
    assert [c.learnt for c in again.cards] == [c.learnt for c in found.cards]


def test_old_versions_are_kept(fitted):
    folder, _, _, found, written = fitted
    before = {path.name: path.read_bytes() for path in written}
    keep(found, folder, folder / "trials.sqlite", library_for(folder))
    old = {path.name: path.read_bytes() for path in (folder / "cards" / "old").glob("*/*.toml")}
    assert old == before
    fitted_card = library_for(folder).card("corn-starch")
    assert fitted_card.facts["fitted"]["behind"] == "shipped"


def test_a_lot_has_its_own_card_and_a_new_lot_starts_wider(tmp_path):
    path, trials = invented(tmp_path, "spring")
    job = read_job(path, ["ingredient.corn-starch.lot=spring"])
    found = fit_trials(job, trials, tmp_path, count=256)
    assert found is not None
    keep(found, tmp_path, tmp_path / "trials.sqlite", library_for(tmp_path))
    assert (tmp_path / "cards" / "corn-starch@spring.toml").is_file()
    library = library_for(tmp_path)
    spring, autumn = (card_of_lot(library, "corn-starch", lot) for lot in ("spring", "autumn"))
    times = library.card("trial")["lot_widening"].value
    key = "browning_limit"
    assert autumn[key].value == spring[key].value
    assert np.log(autumn[key].factor) == pytest.approx(times * np.log(spring[key].factor))
    assert autumn[key].name == "corn-starch@autumn.browning_limit"
    assert not is_fitted(card_of_lot(library, "corn-starch", ""))


def test_a_second_lot_on_one_press_is_told_whose_word_gives_way(tmp_path):
    """Press and bench have one card each: another lot's fit would put its own in its place."""
    path, trials = invented(tmp_path, "spring")
    spring = read_job(path, ["ingredient.corn-starch.lot=spring"])
    trials = [replace(one, number=n) for n, one in enumerate(trials, 1)]
    found = fit_trials(spring, trials, tmp_path, count=256)
    assert found.doubts == ()
    keep(found, tmp_path, tmp_path / "trials.sqlite", library_for(tmp_path))
    assert fit_trials(spring, trials, tmp_path, count=256).doubts == ()
    autumn = read_job(path, ["ingredient.corn-starch.lot=autumn"])
    later = [
        replace(one, id=f"t{n}", number=n)
        for n, one in enumerate(invented(tmp_path, "autumn")[1], 101)
    ]
    (doubt,) = fit_trials(autumn, later, tmp_path, count=256).doubts
    assert "learned from other trials too" in doubt


@pytest.fixture(scope="module")
def two_lots(tmp_path_factory):
    """A press that the spring lot taught, and then the autumn lot on it; the fits, spring's first.

    The trials of the second lot are another four of the dozen, under ids of their own.
    """
    folder = tmp_path_factory.mktemp("two-lots")
    path, trials = invented(folder, "spring")
    jobs = [read_job(path, [f"ingredient.corn-starch.lot={lot}"]) for lot in ("spring", "autumn")]
    later = [
        replace(one, id=f"t10{n}", number=100 + n)
        for n, one in enumerate(invented(folder, "autumn")[1][4:8])
    ]
    lots = [(trials, later), (later, trials)]
    fits = []
    for job, (own, others) in zip(jobs, lots, strict=True):
        fits.append(fit_trials(job, own, folder, others=others, count=256))
        keep(fits[-1], folder, folder / "trials.sqlite", library_for(folder))
    return folder, jobs, lots, fits


def _press(fit, when):
    """What is said of the press and the bench, before or after a fit."""
    return {(c.name, n.key): getattr(n, when) for c in fit.cards if c.of_bench for n in c.learnt}


def test_a_second_lot_starts_from_the_press_that_the_first_taught(two_lots):
    _, _, _, (spring, autumn) = two_lots
    taught, starts = _press(spring, "after"), _press(autumn, "before")
    shipped = _press(spring, "before")
    key = ("part", "brittle_offset")
    assert autumn.doubts == ()
    assert starts[key].likely == pytest.approx(taught[key].likely, rel=0.05)
    assert abs(shipped[key].likely / taught[key].likely - 1.0) > 0.1, "nothing was taught"


def test_no_trial_of_either_lot_counts_twice(two_lots, tmp_path):
    """Each lot fitted again starts from where it started, the other's word on the press in it."""
    folder, jobs, lots, fits = two_lots
    for job, (own, others), fit in zip(jobs, lots, fits, strict=True):
        again = fit_trials(job, own, folder, others=others, count=256)
        first, second = _press(fit, "before"), _press(again, "before")
        for key in first.keys() & second.keys():
            width = first[key].high - first[key].low
            assert second[key].likely == pytest.approx(first[key].likely, abs=0.05 * width), key
    counted = library_for(folder).card("part").facts["fitted"]["counted"].split()
    assert sorted(counted) == sorted({t.id for own, _ in lots for t in own})


def test_trials_that_were_taken_back_or_are_nobodys_do_not_count_through_the_press(two_lots):
    """Only live trials of another lot or recipe in the same book may: the rest are not known."""
    folder, jobs, lots, (spring, _) = two_lots
    untaught = fit_trials(jobs[1], lots[1][0], folder, others=lots[1][1][:-1], count=256)
    key = ("part", "brittle_offset")
    shipped = _press(spring, "before")[key].likely
    assert _press(untaught, "before")[key].likely == pytest.approx(shipped, rel=0.05)
    assert "learned from other trials too" in untaught.doubts[0]


def test_a_new_lot_fitted_twice_starts_from_the_old_lot_both_times(tmp_path):
    path, trials = invented(tmp_path, "spring")
    spring = fit_trials(
        read_job(path, ["ingredient.corn-starch.lot=spring"]), trials, tmp_path, count=256
    )
    keep(spring, tmp_path, tmp_path / "trials.sqlite", library_for(tmp_path))
    autumn = read_job(path, ["ingredient.corn-starch.lot=autumn"])
    _, later = invented(tmp_path, "autumn")
    fits = []
    for _ in range(2):
        fits.append(fit_trials(autumn, later[:3], tmp_path, count=256))
        keep(fits[-1], tmp_path, tmp_path / "trials.sqlite", library_for(tmp_path))
    first, second = ({n.key: n for one in fit.cards if one.lot for n in one.learnt} for fit in fits)
    both = sorted(first.keys() & second.keys())
    assert "browning_limit" in both
    for key in both:
        was, again = first[key].before, second[key].before
        error = 0.08 * (was.high - was.low)  # a median of 256 samples, twice, as drawn jointly
        assert again.likely == pytest.approx(was.likely, abs=error), key
    shipped = Library().card("corn-starch")["browning_limit"].value
    assert second["browning_limit"].before.likely < 0.95 * shipped


def test_own_card_behind_a_fit_is_kept_and_comes_back(tmp_path):
    path, trials = invented(tmp_path)
    own = tmp_path / "cards" / "corn-starch.toml"
    own.parent.mkdir()
    text = (shipped("material_cards") / "corn-starch.toml").read_text(encoding="utf-8")
    own.write_text(text.replace("value = 600.0", "value = 500.0"), encoding="utf-8")
    found = fit_trials(read_job(path), trials, tmp_path, count=256)
    assert found is not None
    keep(found, tmp_path, tmp_path / "trials.sqlite", library_for(tmp_path))
    behind = library_for(tmp_path, fits="behind").card("corn-starch")
    assert behind["browning_limit"].value == 500.0
    assert library_for(tmp_path).card("corn-starch")["browning_limit"].value != 500.0


def test_nothing_seen_is_no_fit(tmp_path):
    path, trials = invented(tmp_path)
    bare = [Trial("t1", "2026-03-01T10:00:00Z", path.name, trials[0].then, number=1)]
    assert fit_trials(read_job(path), bare, tmp_path, count=64) is None
