"""Many samples in parts: drawn as a plain bench draws them, judged all together."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldwin.base.draws import Draws
from moldwin.base.normal import normal_strata
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window import stream
from moldwin.window.judge import broken_shares, chance
from moldwin.window.stream import limit_quantiles
from moldwin.window.windows import Setup
from tests.jobs import BAR, DRY, KELP, bench_of, job, setup_of

#: The same examples every time, however slow the machine.
_STEADY = settings(deadline=None, derandomize=True)

#: A setting: moisture [kg/kg], barrel [K], soak [s].
AT = (0.12, 413.15, 300.0)

BENT = ["blend.softening_c=60", "blend.softening_moisture_pct=8"]
#: The examples, and one whose draws hear of a bend test.
JOBS = {"bar": (BAR, []), "dry": (DRY, []), "kelp": (KELP, []), "bent": (BAR, BENT)}


def same(one, other):
    """Two answers, to the bit."""
    plain = [(a.count, a.chance, a.chance_u, a.broken, a.shares) for a in (one, other)]
    return plain[0] == plain[1] and all(
        np.array_equal(one.quantiles[name], other.quantiles[name]) for name in one.quantiles
    )


def margins_of(setup, bench):
    """Every limit's margin on one bench, shape (s,), worked out as the rest of the tool does."""
    t_mold = setup._stages(AT[0])[1].t_mold
    barrel = stream._barrel(bench, AT[0], t_mold)
    margins = barrel.margins(np.array([AT[1]]), np.array([AT[2]]))
    return {name: np.broadcast_to(m, (1, 1, bench.count))[0, 0] for name, m in margins.items()}


# ------------------------------------------------------------------ the numbers


@pytest.mark.parametrize("name", JOBS)
def test_quantiles_and_shares_are_those_of_all_parts_together(name):
    source, sets = JOBS[name]
    setup = setup_of(source, sets)
    benches = [stream._bench(setup.bench, i, 256, stream._Shared()) for i in range(3)]
    parts = [margins_of(setup, bench) for bench in benches]
    margins = {limit: np.concatenate([m[limit] for m in parts]) for limit in parts[0]}
    answer = limit_quantiles(setup, *AT, 3 * 256, part=256, shares=(0.0, 0.1, 0.5, 0.93, 1.0))
    assert set(answer.quantiles) == set(margins)
    for limit, values in margins.items():
        expected = np.quantile(values, answer.shares)
        assert answer.quantiles[limit] == pytest.approx(expected, rel=1e-14)
        assert answer.quantiles[limit][[0, -1]].tolist() == [values.min(), values.max()]
    assert answer.chance == chance(margins)
    assert answer.broken == {k: pytest.approx(v) for k, v in broken_shares(margins).items()}


@pytest.mark.parametrize("name", JOBS)
def test_the_first_part_is_a_plain_bench_to_the_bit(name):
    source, sets = JOBS[name]
    setup = setup_of(source, sets, spread=1.3, count=256)
    first = margins_of(setup, stream._bench(setup.bench, 0, 256, stream._Shared()))
    plain = margins_of(setup, bench_of(source, sets, spread=1.3, count=256))
    assert set(first) == set(plain)
    assert all(np.array_equal(first[limit], plain[limit]) for limit in plain)


def test_every_kind_of_quantity_of_the_first_part_is_the_plain_one():
    card = bench_of(KELP).library.card("brown-seaweed-powder")
    plain = Draws(99, 64, spread=1.3)
    quick = stream._PartDraws(Draws(99, 64, spread=1.3), 0, stream._Shared())
    for key in sorted(card.quantities):
        quantity = card[key]
        assert np.array_equal(quick.samples(quantity), plain.samples(quantity))
        assert np.array_equal(quick.scores(quantity.name), plain.scores(quantity.name))
        assert np.array_equal(quick.samples(quantity), plain.samples(quantity))


#: A column with a Sobol' dimension of its own, another, and two shuffled ones.
_COLUMNS = ("starch.tg_dry", "press.force_share", "one of no importance", "another one")


def test_every_part_holds_every_stratum_once_in_an_order_of_its_own():
    shared = stream._Shared()
    parts = [stream._PartDraws(Draws(7, 256), number, shared) for number in range(40)]
    for name in _COLUMNS:
        columns = [part.scores(name) for part in parts]
        assert all(np.array_equal(np.sort(c), normal_strata(256)) for c in columns)
        # 40 of 256 shifts: a few may meet by chance
        assert len({tuple(c) for c in columns}) > 30


def test_columns_are_shifted_apart_so_that_no_pairing_lasts():
    """A sample correlation of one part would otherwise be that of a million samples."""
    shared = stream._Shared()
    parts = [stream._PartDraws(Draws(7, 64), number, shared) for number in range(400)]
    for a, b in pairwise(_COLUMNS):
        paired = [part.scores(a) @ part.scores(b) / 64 for part in parts]
        # one part: 1/8; four hundred together: a twentieth of that, here within four of it
        assert abs(np.mean(paired)) < 4.0 / np.sqrt(64 * 400)
        assert np.std(paired) > 0.02


def test_shifted_columns_are_not_drawn_anew():
    bench = bench_of(BAR)
    quantity = bench.library.card("corn-starch")["tg_dry"]
    for draws in (Draws(5, 128), stream._PartDraws(Draws(5, 128), 3, stream._Shared())):
        before = draws.samples(quantity)
        moved = draws.copy()
        moved.shift([quantity.name], before, float(before.mean()) + 20.0, 3.0)
        assert np.array_equal(draws.samples(quantity), before)
        assert moved.samples(quantity).mean() == pytest.approx(before.mean() + 20.0, abs=5.0)


@pytest.mark.parametrize("name", ["bar", "bent"])
def test_two_threads_give_the_bits_of_one(name):
    source, sets = JOBS[name]
    setup = setup_of(source, sets)
    alone = limit_quantiles(setup, *AT, 20_000, part=2048)
    for _ in range(3):
        assert same(limit_quantiles(setup, *AT, 20_000, part=2048, threads=2), alone)


def test_another_seed_gives_other_numbers():
    one, other = (
        limit_quantiles(bench_of(BAR, seed=seed), *AT, 128, part=64, shares=(0.5,))
        for seed in (1, 2)
    )
    assert not same(one, other)


# ------------------------------------------------------------------ what it says


@pytest.mark.parametrize("name", JOBS)
def test_it_agrees_with_the_advice_within_the_error_of_its_draws(name):
    source, sets = JOBS[name]
    setup = setup_of(source, sets, count=2048)
    barrel = setup._stages(AT[0])[1]
    margins = barrel.margins(np.array([AT[1]]), np.array([AT[2]]))
    answer = limit_quantiles(setup, *AT, 40_000)
    for limit, share in {**broken_shares(margins), "": 1.0 - chance(margins)}.items():
        found = answer.broken[limit] if limit else 1.0 - answer.chance
        few = float(np.squeeze(share))
        error = 4.0 * np.sqrt(max(found * (1.0 - found), 1e-3) / 2048)
        assert found == pytest.approx(few, abs=error)


def test_quantiles_rise_with_their_share_and_broken_limits_have_them_below_zero():
    answer = limit_quantiles(setup_of(BAR), *AT, 4096, part=1024, shares=(0.01, 0.2, 0.5, 0.99))
    assert all(low <= high for q in answer.quantiles.values() for low, high in pairwise(q))
    for limit, share in answer.broken.items():
        below = np.interp(0.0, answer.quantiles[limit], answer.shares, left=0.0, right=1.0)
        assert (share > 0.02) <= (below > 0.0)
    assert answer.chance <= 1.0 - max(answer.broken.values())


def test_more_water_fills_more_and_a_hotter_barrel_browns_more():
    setup = setup_of(BAR)
    dry, wet, hot = (
        limit_quantiles(setup, *at, 2048, part=1024)
        for at in ((0.08, 413.15, 300.0), (0.14, 413.15, 300.0), (0.08, 443.15, 300.0))
    )
    assert wet.broken["fill"] < dry.broken["fill"]
    assert np.all(hot.quantiles["browning"] < dry.quantiles["browning"])


def test_the_stated_error_is_that_of_answers_drawn_apart():
    held = ["mold.temperature_c=60"]  # else each would choose another
    answers = [
        limit_quantiles(setup_of(BAR, held, seed=seed, count=64), *AT, 8 * 256, part=256)
        for seed in range(24)
    ]
    seen = np.std([a.chance for a in answers], ddof=1)
    stated = np.sqrt(np.mean([a.chance_u**2 for a in answers]))
    # 24 answers know their spread to a sixth of it
    assert seen == pytest.approx(stated, rel=0.5)


def test_without_spread_all_samples_are_one():
    answer = limit_quantiles(setup_of(BAR, spread=0.0), *AT, 512, part=256)
    assert answer.chance in (0.0, 1.0)
    assert answer.chance_u == 0.0
    assert all(np.ptp(q) == 0.0 for q in answer.quantiles.values())


def test_a_bench_is_as_good_as_a_setup():
    bench = bench_of(job())
    one = limit_quantiles(bench, *AT, 512, part=256)
    other = limit_quantiles(Setup(Bench(read_job(job()), count=512)), *AT, 512, part=256)
    assert same(one, other)


# ------------------------------------------------------------------ counts and quantiles


def test_the_count_is_rounded_up_to_whole_parts():
    setup = setup_of(BAR)
    assert limit_quantiles(setup, *AT, 257, part=256).count == 512
    single = limit_quantiles(setup, *AT, 1, part=256)
    assert single.count == 256
    assert np.isnan(single.chance_u)


@_STEADY
@given(
    st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=60),
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5),
)
def test_quantiles_as_by_numpy(values, shares):
    found = stream._quantiles(np.array(values), shares)
    assert found == pytest.approx(np.quantile(values, shares), rel=1e-12, abs=1e-6)


def test_quantiles_of_what_is_not_a_number_and_of_what_is_infinite():
    assert np.isnan(stream._quantiles(np.array([1.0, np.nan]), [0.5])).all()
    inf = np.inf
    assert stream._quantiles(np.array([inf, inf, inf]), [0.0, 0.3, 1.0]).tolist() == [inf] * 3
    mixed = np.array([-inf, 0.0, inf])
    assert stream._quantiles(mixed, [0.0, 0.25, 0.5, 0.75, 1.0]).tolist() == [
        -inf,
        -inf,
        0.0,
        0.0,
        inf,
    ]


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"count": 0}, "count and threads must be at least 1"),
        ({"threads": 0}, "count and threads must be at least 1"),
        ({"part": 1000}, "part must be a power of two"),
        ({"part": 1}, "part must be a power of two"),
        ({"shares": (5, 50, 95)}, r"shares must lie in 0\.\.1"),
    ],
)
def test_impossible_requests_are_refused(change, message):
    with pytest.raises(ValueError, match=message):
        limit_quantiles(bench_of(BAR), *AT, **change)
