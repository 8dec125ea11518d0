"""Flow, heat and diffusion of a charge against published figures, as ``moldwin evidence`` does."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.evidence.flowing import (
    heat_capacities,
    melt_viscosities,
    water_diffusivities,
)
from tests.published.blends import BLENDS, evidence_of


def test_the_likely_viscosity_lies_in_the_printed_range():
    found = evidence_of(melt_viscosities)["V1"]
    assert found.published_low < found.predicted < found.published_high


@pytest.mark.parametrize(
    "thinner", [{"w_water": 0.27}, {"t_c": 140.0}, {"rate": 1000.0}], ids=lambda at: next(iter(at))
)
def test_water_heat_and_shear_thin_a_melt_in_every_sample(thinner):
    at = {"w_water": 0.19, "t_c": 110.0, "rate": 100.0}
    thick = BLENDS.viscosity("corn-starch 100", **at)
    assert np.all(BLENDS.viscosity("corn-starch 100", **{**at, **thinner}) < thick)


def test_heat_capacity_is_within_thirty_percent():
    for row in evidence_of(heat_capacities).values():
        assert row.predicted == pytest.approx(row.published, rel=0.30)


@pytest.mark.xfail(strict=True, reason="misses by up to 28 %: published starches differ by 40 %")
def test_heat_capacity_is_within_ten_percent():
    for row in evidence_of(heat_capacities).values():
        assert row.predicted == pytest.approx(row.published, rel=0.10)


def test_diffusion_in_a_film_of_seaweed_gel_overlaps_the_printed_range():
    found = evidence_of(water_diffusivities)["W1"]
    assert found.low < found.published_high
    assert found.high > found.published_low
    assert found.inside
