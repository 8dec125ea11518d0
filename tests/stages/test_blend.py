"""The ledger of the blend, by hand arithmetic and by what must not change it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages.blend import make_blend
from tests.jobs import KELP, bench_of, dry, job, row


def _blend(ingredients, sets=(), **options):
    return make_blend(bench_of(job(ingredient=ingredients), sets, **options))


def _role(entries):
    return sum(entry.share for entry in entries)


def _whole(blend):
    """Everything the ledger holds, per kg dry solids."""
    return blend.amorphous + _role(blend.fibrous) + blend.ash + blend.inert


# ------------------------------------------------------------------ by hand


def test_the_shares_of_the_published_compound_by_hand():
    blend = _blend([row("corn-starch", 400, 12.5), row("glycerol", 100, 0)])
    # 400 g at 12.5 % are 350 g dry
    assert blend.polymer == pytest.approx(350 / 450)
    assert blend.plasticizer == pytest.approx(100 / 450)
    assert blend.filler == pytest.approx(0.0, abs=1e-12)
    assert blend.dry_mass == pytest.approx(0.450)


def test_each_ingredient_brings_its_own_moisture():
    blend = _blend(
        [row("potato-starch", 100, 20), row("corn-starch", 100, 10), row("cellulose", 50, 4)]
    )
    total = 80 + 90 + 48
    assert blend.dry_share_of("potato-starch") == pytest.approx(80 / total)
    assert blend.dry_share_of("corn-starch") == pytest.approx(90 / total)
    assert blend.dry_share_of("cellulose") == pytest.approx(48 / total)
    assert blend.filler == pytest.approx(48 / total)
    assert blend.dry_share_of("glycerol") == 0.0


def test_a_moisture_left_out_is_the_cards_usual_one_with_its_spread():
    blend = _blend([row("corn-starch", 100), row("glycerol", 100, 0)])
    # the card: 12 % with u 1 %
    assert np.median(blend.dry_mass) == pytest.approx(0.188, abs=1e-4)
    assert blend.dry_mass.std() == pytest.approx(0.1 * 0.01, rel=0.05)


def test_the_three_loading_conventions():
    blend = _blend(dry(corn_starch=70, glycerol=20))
    loadings = blend.loadings(0.10)
    assert set(loadings) == {"per_dry_polymer", "per_dry_solids", "per_total"}
    assert loadings["per_dry_polymer"] == pytest.approx(20 / 70)
    assert loadings["per_dry_solids"] == pytest.approx(20 / 90)
    assert loadings["per_total"] == pytest.approx(0.20)


def test_the_loadings_leave_filler_where_it_belongs():
    blend = _blend(dry(corn_starch=70, glycerol=20, cellulose=30))
    loadings = blend.loadings(0.2)
    assert loadings["per_dry_polymer"] == pytest.approx(20 / 70)
    assert loadings["per_dry_solids"] == pytest.approx(20 / 120)
    assert loadings["per_total"] == pytest.approx(0.8 * 20 / 120)


def test_water_goes_to_everything_but_ash_and_fat():
    plain = _blend(dry(corn_starch=70, glycerol=20))
    assert plain.water_in_phase(0.10) == pytest.approx(0.10)
    waxed = _blend(dry(corn_starch=60, glycerol=20, beeswax=20))
    # 10 g water on 90 g dry, 72 g of which take it up
    assert waxed.water_in_phase(0.10) == pytest.approx(10 / (10 + 72))
    fibered = _blend(dry(corn_starch=60, glycerol=20, cellulose=20))
    # fiber takes its own gram for gram: what the melt holds stays 10 to 90
    assert fibered.water_in_phase(0.10) == pytest.approx(0.10)


# ------------------------------------------------------------------ balance

_RECIPES = {
    "compound": dry(corn_starch=70, glycerol=20),
    "kelp": [row("brown-seaweed-powder", 180), row("potato-starch", 260), row("glycerol", 60)],
    "fibers": dry(corn_starch=60, glycerol=20, flax_fiber=5, wood_fiber=5, cellulose=5),
    "kitchen": [
        row("corn-starch", 400),
        row("vinegar", 60),
        row("citric-acid", 4),
        row("baking-soda", 5),
        row("magnesium-stearate", 3),
        row("beeswax", 8),
    ],
    "calcium": [row("sodium-alginate", 60), row("corn-starch", 60), row("calcium-chloride", 1)],
    "protein": [row("plant-protein", 50), row("gelatin", 20), row("corn-starch", 100)],
    "reds": [row("agar", 30), row("carrageenan", 30), row("sorbitol", 20), row("xylitol", 5)],
}


@pytest.mark.parametrize("name", _RECIPES)
def test_the_ledger_sums_to_one_in_every_sample(name):
    whole = _whole(_blend(_RECIPES[name]))
    assert whole == pytest.approx(np.ones_like(whole), abs=1e-9)


def test_the_ledger_of_rinsed_seaweed_sums_to_one_too():
    whole = _whole(make_blend(bench_of(KELP, ["blend.washed=true"])))
    assert whole == pytest.approx(np.ones_like(whole), abs=1e-9)


def test_salt_is_part_of_the_ash():
    blend = _blend(_RECIPES["kelp"])
    assert np.all(blend.salt > 0)
    assert np.all(blend.salt < blend.ash)


# ------------------------------------------------------------------ seaweed


def _kelp(sets=()):
    return _blend([row("brown-seaweed-powder", 100)], sets, count=2048)


def test_the_native_plasticizer_of_seaweed_is_uncertain_within_what_is_known():
    blend = _kelp()
    native = np.broadcast_to(blend.plasticizer, (2048,))
    low, high = np.quantile(native, [0.05, 0.95])
    # 4 to 25 % mannitol of the dry mass, none to all of it dissolved (both from memory)
    assert native.min() >= 0.0
    assert native.max() < 0.30
    assert low < 0.02
    assert 0.10 < high < 0.25
    assert [entry.card.name for entry in blend.plasticizers] == ["mannitol"]


def test_crystallized_mannitol_is_inert():
    blend = _kelp()
    mannitol = blend.plasticizer + blend.inert
    assert np.median(mannitol) == pytest.approx(0.12, abs=0.02)
    assert np.all(blend.inert > 0)


def test_alginate_of_the_plant_melts_only_in_part():
    blend = _kelp()
    shares = {entry.card.name for entry in (*blend.polymers, *blend.fibrous)}
    assert shares == {"brown-seaweed-powder"}
    # 0 to 1 of the alginate: between laminarin with fucoidan alone, and all three
    polymer = np.broadcast_to(blend.polymer, (2048,))
    assert np.all(polymer < blend.alginate + 0.5)
    assert np.quantile(polymer, 0.95) - np.quantile(polymer, 0.05) > 0.2


def test_washing_lowers_the_salt_of_every_sample_and_nothing_that_melts():
    plain, washed = _kelp(), _kelp(["blend.washed=true"])
    assert np.all(washed.salt < plain.salt)
    assert np.median(washed.salt / plain.salt) == pytest.approx(0.35, abs=0.05)
    assert washed.polymer == pytest.approx(plain.polymer)
    assert washed.plasticizer == pytest.approx(plain.plasticizer)


# ------------------------------------------------------------------ what kitchens add


def test_calcium_takes_alginate_out_of_the_melt():
    def alginate(calcium):
        rows = [row("sodium-alginate", 60, 0), row("corn-starch", 60, 0)]
        if calcium:
            rows.append(row("calcium-chloride", calcium, 0))
        return _blend(rows, spread=0.0)

    none, little, more = alginate(0), alginate(0.5), alginate(2)
    melts = [blend.dry_share_of("sodium-alginate") for blend in (none, little, more)]
    assert np.all(none.crosslinked == 0.0)
    assert np.all(little.crosslinked > 0.1)
    assert np.all(more.crosslinked > little.crosslinked)
    assert melts[0] == pytest.approx(0.5)  # what does not melt is still there, as fiber
    held = [_role(blend.fibrous)[0] for blend in (none, little, more)]
    assert held[0] < held[1] < held[2]


def test_calcium_without_alginate_holds_nothing():
    blend = _blend(dry(corn_starch=100, calcium_chloride=2))
    assert np.all(np.asarray(blend.crosslinked) == 0.0)
    assert blend.salt == pytest.approx(2 / 102)


@pytest.mark.parametrize("grams", [100, 5000])
def test_water_weighed_into_the_pot_changes_nothing(grams):
    rows = _RECIPES["calcium"]
    plain, watered = _blend(rows), _blend([*rows, row("water", grams)])
    assert np.array_equal(plain.polymer, watered.polymer)
    assert np.array_equal(plain.crosslinked, watered.crosslinked)
    assert np.array_equal(plain.dry_mass, watered.dry_mass)


def test_comparators_are_counted_as_protein():
    gelatin = _blend([row("gelatin", 100)])
    assert np.median(gelatin.protein) == pytest.approx(0.99, abs=0.02)
    mixed = _blend(dry(plant_protein=50, corn_starch=50))
    assert 0.3 < np.median(mixed.protein) < 0.5
    assert _blend(dry(corn_starch=50)).protein == 0.0


def test_wax_and_stearate_are_inert_and_vinegar_leaves():
    blend = _blend(dry(corn_starch=90, beeswax=6, magnesium_stearate=4))
    assert blend.inert == pytest.approx(0.10)
    soured = _blend([row("corn-starch", 100, 0), row("vinegar", 100, 95)])
    assert soured.dry_share_of("vinegar") == pytest.approx(5 / 105)


# ------------------------------------------------------------------ rows


def test_order_and_splitting_of_rows_change_no_share():
    one = _blend(_RECIPES["kelp"])
    rows = [
        row("glycerol", 60),
        row("potato-starch", 160),
        row("brown-seaweed-powder", 180),
        row("potato-starch", 100),
    ]
    other = _blend(rows)
    for name in ("glycerol", "potato-starch", "brown-seaweed-powder"):
        assert one.dry_share_of(name) == pytest.approx(other.dry_share_of(name), abs=1e-14)


def test_two_lots_of_one_card_are_drawn_apart_and_one_lot_together():
    def lots(first, second):
        return _blend(
            [
                row("brown-seaweed-powder", 100, lot=first),
                row("brown-seaweed-powder", 100, lot=second),
            ]
        )

    native = [np.asarray(entry.share) for entry in lots("may", "june").plasticizers]
    assert len(native) == 2
    assert abs(np.corrcoef(native)[0, 1]) < 0.2
    assert len(lots("may", "may").plasticizers) == 1
    # two lots average out, one does not
    assert lots("may", "june").plasticizer.std() < 0.85 * lots("may", "may").plasticizer.std()


def test_the_same_moisture_with_another_uncertainty_is_another_reading():
    sure = row("corn-starch", 200, 12, moisture_u_pct=0.2)
    unsure = row("corn-starch", 200, 12, moisture_u_pct=3)
    fiber = row("cellulose", 100, 0)
    one, other = _blend([sure, unsure, fiber]), _blend([unsure, sure, fiber])
    assert np.array_equal(one.polymer, other.polymer)


def test_two_starches_share_what_is_wrong_about_both():
    bench = bench_of(job(ingredient=dry(corn_starch=50, potato_starch=50)))
    corn, potato = (bench.of(bench.card(f"{name}-starch"), "tg_dry") for name in ("corn", "potato"))
    assert np.corrcoef(corn, potato)[0, 1] == pytest.approx(1.0)
