"""What a trial shows, told by the margins of ``advise``; each law against its own drawings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.learn.evidence import _Datum, _whole
from moldwin.learn.outcomes import (
    Foreseen,
    Foresight,
    Seen,
    Setting,
    field_log_likelihoods,
    foresee,
    log_likelihood,
    seen_of,
    setting_of,
    simulate,
)
from moldwin.physics.short_shot import filled_share
from tests.jobs import BAR, setup_of
from tests.learn.sample import trial

SETUP = setup_of(BAR)
COLD = Setting(0.10, 383.15, 300.0, 333.15)
HOT = Setting(0.10, 433.15, 600.0, 333.15)


def test_margins_are_those_of_advise():
    """The very arrays that the window is made of, at its own best."""
    window = SETUP.window(0.10)
    barrel = window.barrel_stage
    found = foresee(SETUP, Setting(0.10, window.barrel.best, window.barrel.soak))
    assert found.setting.mold == window.mold.best
    t_set, soak = np.array([window.barrel.best]), np.array([window.barrel.soak])
    for name, margin in barrel.margins(t_set, soak).items():
        assert np.array_equal(found.barrel[name], np.broadcast_to(margin, (1, 1, 512))[0, 0]), name


def test_one_job_made_ready_foresees_what_each_setting_alone_does():
    """Barrel and cavity serve all molds of a moisture, and one mold leaves nothing to the next."""
    ready = Foresight(SETUP)
    cold, warm = replace(COLD, mold=303.15), replace(COLD, mold=353.15)
    others = HOT, replace(HOT, cooling=20.0), replace(warm, force=3000.0)
    for setting in (COLD, cold, warm, *others, cold):
        one, alone = ready.at(setting), foresee(SETUP.bench, setting)
        for name, margin in alone.margins.items():
            assert np.array_equal(one.margins[name], margin), name
        for name in ("full_mass", "before", "core"):
            assert np.array_equal(getattr(one, name), getattr(alone, name)), name


def test_settings_worked_out_at_once_are_those_worked_out_one_by_one():
    """Whatever they share, and in whatever order: to rounding, where series end a term apart."""
    damp = replace(HOT, moisture=0.13, mold=None)
    settings = [COLD, damp, HOT, replace(COLD, soak=900.0), replace(damp, cooling=20.0)]
    settings += [replace(COLD, force=3000.0), replace(HOT, moisture=0.07)]
    short = [True, False, True, False, True, True, False]
    many = Foresight(SETUP).at_each(settings, short)
    for setting, is_short, one in zip(settings, short, many, strict=True):
        alone = foresee(SETUP.bench, setting)
        assert one.setting == alone.setting
        for name, margin in alone.margins.items():
            np.testing.assert_allclose(one.margins[name], margin, rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(one.core, alone.core, rtol=1e-6)
        if is_short:
            np.testing.assert_allclose(one.before, alone.before, rtol=1e-9)
            np.testing.assert_allclose(one.full_mass, alone.full_mass, rtol=1e-12)


def test_half_the_force_is_a_factor_of_two_in_pressure():
    whole, half = (foresee(SETUP, replace(COLD, force=f)).barrel["fill"] for f in (6000.0, 3000.0))
    assert whole - half == pytest.approx(np.log(2.0), abs=1e-9)


def test_nothing_noted_says_nothing():
    assert not log_likelihood(foresee(SETUP, COLD), Seen()).any()
    assert not log_likelihood(foresee(SETUP, COLD), seen_of(trial(note="forgot to look"))).any()


@pytest.mark.parametrize(
    ("seen", "margin", "rises"),
    [
        (Seen(filled=True), "fill", True),
        (Seen(filled=False), "fill", False),
        (Seen(color=0.0), "browning", True),
        (Seen(color=5.0), "browning", False),
        (Seen(bubbles="all"), "steam", False),
        (Seen(bubbles="none"), "steam", True),
        (Seen(stuck=True), "soft-at-ejection", False),
        (Seen(cracked=True), "drying-cracks", False),
        (Seen(warped=True), "soft-at-ejection", False),
        (Seen(lumps=True), "weld", False),
        (Seen(lumps=False), "weld", True),
    ],
)
def test_what_was_seen_points_the_right_way(seen, margin, rises):
    """One margin moved from a little below its limit to a little above, the others at rest."""
    change = _change(seen, margin)
    assert np.all(change * (1 if rises else -1) > 0.01)


@pytest.mark.parametrize(
    ("seen", "margin"),
    [(Seen(stuck=True), "browning"), (Seen(warped=True), "drying-cracks")],  # caramel glues
)
def test_what_has_two_causes_points_to_either(seen, margin):
    """Where the part is soft already, the other cause tells nothing more; it never misleads."""
    change = _change(seen, margin)
    assert np.all(change < 1e-9)
    assert change.mean() < -0.1


def _change(seen, margin):
    """Of ln of the likelihood, as one margin passes its limit to the better."""
    base = foresee(SETUP, HOT)
    step = {"fill": 0.3, "browning": 2.0, "steam": 0.3, "drying-cracks": 0.02}.get(margin, 10.0)
    low, high = (_with(base, margin, np.full(512, side * step)) for side in (-1.0, 1.0))
    return log_likelihood(high, seen) - log_likelihood(low, seen)


def _with(base: Foreseen, margin: str, values: object) -> Foreseen:
    for side in ("barrel", "mold", "part"):
        if margin in getattr(base, side):
            return replace(base, **{side: {**getattr(base, side), margin: values}})
    raise AssertionError(margin)


def test_a_short_part_is_likeliest_where_the_melt_stops_there():
    base = foresee(SETUP, COLD)
    margins = np.linspace(-4.0, 1.0, base.flow_index.size)
    n, before = np.full(margins.size, 0.4), np.full(margins.size, 0.3)
    moved = replace(_with(base, "fill", margins), flow_index=n, before=before)
    best = margins[np.argmax(log_likelihood(moved, Seen(filled=False, fill=0.6)))]
    assert filled_share(best, 0.4, 0.3) == pytest.approx(0.6, abs=0.02)
    by_mass = replace(moved, full_mass=np.full(margins.size, 0.002))
    best = margins[np.argmax(log_likelihood(by_mass, Seen(filled=False, part=0.0012)))]
    assert filled_share(best, 0.4, 0.3) == pytest.approx(0.6, abs=0.02)


def test_one_odd_trial_costs_no_more_than_its_lapse():
    """Whatever is noted, no sample is ruled out: the likelihood keeps a floor."""
    for setting in (COLD, HOT):
        found = foresee(SETUP, setting)
        odd = Seen(False, 0.01, None, 5.0, "all", True, True, 0.001)
        assert log_likelihood(found, odd).min() > -40.0
        for log, slip in field_log_likelihoods(found, odd).values():
            assert np.isfinite(log).all()
            assert np.all((slip >= 0.0) & (slip <= 1.0))


@pytest.mark.parametrize(
    "name", ["fill", "color", "bubbles", "stuck", "cracked", "warped", "lumps"]
)
def test_classes_are_as_frequent_as_their_likelihood_says(name):
    """Drawn a few thousand times, an outcome's share is its likelihood (three standard errors)."""
    base = foresee(SETUP, replace(HOT, barrel=403.15))
    index, rng, count = 7, np.random.default_rng(5), 4000
    drawn = [simulate(base, index, rng) for _ in range(count)]
    for seen in _classes(name):
        share = np.mean([_same(one, seen, name) for one in drawn])
        expected = float(np.exp(field_log_likelihoods(base, seen)[name][0][index]))
        error = np.sqrt(expected * (1 - expected) / count) + 1e-3
        assert share == pytest.approx(expected, abs=3.0 * error), seen


def _classes(name: str) -> list[Seen]:
    return {
        "fill": [Seen(filled=True), Seen(filled=False)],
        "color": [Seen(color=float(step)) for step in range(6)],
        "bubbles": [Seen(bubbles=place) for place in ("none", "some", "skin", "heart", "all")],
        "stuck": [Seen(stuck=True), Seen(stuck=False)],
        "cracked": [Seen(cracked=True), Seen(cracked=False)],
        "warped": [Seen(warped=True), Seen(warped=False)],
        "lumps": [Seen(lumps=True), Seen(lumps=False)],
    }[name]


def _same(one: Seen, other: Seen, name: str) -> bool:
    if other.bubbles == "some":
        return one.bubbles != "none"
    key = "filled" if name == "fill" else name
    return bool(getattr(one, key) == getattr(other, key))


@pytest.mark.parametrize("barrel", [378.15, 388.15])
def test_short_parts_are_spread_as_their_density_says(barrel):
    """The density over the filled share, added up from 0 to 1, is the chance of a short part."""
    base = foresee(SETUP, replace(COLD, barrel=barrel))
    shares = np.linspace(0.025, 0.985, 97)
    density = [np.exp(log_likelihood(base, Seen(filled=False, fill=x))) for x in shares]
    below = np.exp(log_likelihood(base, Seen(filled=False, fill=0.01)))
    whole = np.sum(density, axis=0) * (shares[1] - shares[0]) + below
    chance = np.exp(log_likelihood(base, Seen(filled=False)))
    # what is read of a part that is nearly full may pass 1: a few percent
    assert np.median(np.abs(whole - chance)) < 0.04
    assert np.quantile(np.abs(whole - chance), 0.95) < 0.09


@pytest.mark.parametrize("margin", [-5.0, -3.0, -2.0, -1.0, 0.1])
@pytest.mark.parametrize(("n", "before"), [(0.35, 0.3), (0.35, 3.0), (0.6, 0.05)])
def test_how_far_it_filled_pulls_the_margin_neither_way(margin, n, before):
    """Over many outcomes of one truth the slope of ln of the likelihood is 0 there.

    A slope is a bias that every further trial adds to. Held to a tenth of what one trial tells
    beside four standard errors; linear in the reading's error it was half of that for cold parts.
    """
    h, count = 0.01, 1500
    base, rng = foresee(SETUP, COLD), np.random.default_rng(8)
    around = np.full(base.flow_index.size, margin)
    around[:3] = margin - h, margin, margin + h
    alike = [np.full(base.flow_index.size, value) for value in (n, before)]
    truth = replace(_with(base, "fill", around), flow_index=alike[0], before=alike[1])
    slopes = []
    for _ in range(count):
        seen = simulate(truth, 1, rng)
        log = _fill_log(truth, seen)
        slopes.append((log[2] - log[0]) / (2.0 * h))
    error, told = np.std(slopes) / np.sqrt(count), np.sqrt(np.mean(np.square(slopes)))
    assert abs(np.mean(slopes)) <= 4.0 * error + 0.1 * told


def _fill_log(truth: Foreseen, seen: Seen):
    return field_log_likelihoods(truth, Seen(filled=seen.filled, fill=seen.fill))["fill"][0]


@pytest.mark.parametrize("wall", [0.0012, 0.003])
def test_bends_too_tight_to_tell_are_as_frequent_as_the_law_says(wall):
    """A thin wall is not bent far at the tightest radius anyone tells."""
    base, rng = replace(foresee(SETUP, COLD), wall=wall), np.random.default_rng(2)
    warm = replace(base, above_tg=np.full(base.flow_index.size, -10.0))
    radii = np.array([simulate(warm, 7, rng).bend_radius for _ in range(1500)])
    log, _ = field_log_likelihoods(warm, Seen(bend_radius=0.0))["bend"]
    expected = float(np.exp(log[7]))
    error = np.sqrt(expected * (1.0 - expected) / radii.size) + 1e-3
    assert np.mean(radii <= 0.001) == pytest.approx(expected, abs=3.0 * error)


def test_trials_as_noted():
    noted = trial(barrel_c=130.0, soak_s=300.0, force_kn=6.0, fill_pct=60.0, part_g=1.2)
    setting, seen = setting_of(noted), seen_of(noted)
    assert setting == Setting(0.10, 403.15, 300.0, None, 6000.0)
    assert (seen.fill, seen.part) == (0.6, pytest.approx(0.0012))
    assert setting_of(trial(barrel_c=130.0)) is None


def test_same_seed_same_outcome():
    base = foresee(SETUP, COLD)
    one, two = (simulate(base, 3, np.random.default_rng(9)) for _ in range(2))
    assert one == two


@pytest.mark.parametrize(
    ("seen", "needs"),
    [
        (Seen(filled=True, fill=0.5), False),
        (Seen(fill=1.0), False),
        (Seen(fill=0.9), True),
        (Seen(filled=False, fill=1.0), True),
        (Seen(part=0.002), True),
        (Seen(filled=False), False),
        (Seen(color=2.0), False),
    ],
)
def test_how_a_short_part_flows_is_worked_out_where_it_is_asked(seen, needs):
    """What is left out is not missed: the likelihood is the same number, and one all the same."""
    assert _whole(_Datum(1, 0, COLD, seen)) is not needs
    full, spared = (Foresight(SETUP).at(COLD, short=short) for short in (True, needs))
    logs = log_likelihood(full, seen)
    assert np.all(np.isfinite(logs))
    assert np.array_equal(log_likelihood(spared, seen), logs)
