"""The normal distribution from the standard library, held against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from moldwin.base.normal import normal_cdf, normal_quantile, normal_strata


def test_the_share_below_a_score():
    z = np.linspace(-8.0, 8.0, 161)
    assert normal_cdf(z) == pytest.approx(special.ndtr(z), rel=1e-13)


def test_the_score_of_a_share():
    share = np.concatenate([10.0 ** np.arange(-300.0, -1.0, 13.0), np.linspace(0.01, 0.99, 99)])
    assert normal_quantile(share) == pytest.approx(special.ndtri(share), rel=1e-12, abs=1e-12)


def test_there_and_back():
    z = np.linspace(-6.0, 5.0, 45)
    assert normal_quantile(normal_cdf(z)) == pytest.approx(z, abs=1e-9)


def test_scalar_as_array():
    assert float(normal_cdf(1.0)) == normal_cdf(np.array([1.0]))[0]
    assert float(normal_quantile(0.3)) == normal_quantile(np.array([0.3]))[0]
    assert normal_cdf(np.zeros((2, 3))).shape == (2, 3)


def test_a_missing_score_stays_missing():
    assert np.isnan(normal_cdf(np.nan))


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, 1.5])
def test_a_share_without_a_score_is_refused(share):
    with pytest.raises(ValueError, match="range"):
        normal_quantile(share)


@pytest.mark.parametrize("count", [2, 7, 2048])
def test_strata_are_the_middles_of_equal_shares(count):
    strata = normal_strata(count)
    assert special.ndtr(strata) * count == pytest.approx(np.arange(count) + 0.5, rel=1e-9)
    assert strata.sum() == pytest.approx(0.0, abs=1e-9)
