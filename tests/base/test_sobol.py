"""The low-discrepancy points, held against an independent generator, and their scramble."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from moldwin.base import _sobol

COUNT = 1024


def _sorted_rows(points):
    return points[np.lexsort(points.T)]


def test_the_points_are_those_of_scipy():
    ours = np.stack([_sobol.points(d, COUNT) / 2.0**32 for d in range(_sobol.DIMENSIONS)], axis=1)
    theirs = stats.qmc.Sobol(_sobol.DIMENSIONS, scramble=False).random(COUNT)
    # theirs come in Gray-code order: the same set of vectors, not the same sequence
    assert np.array_equal(_sorted_rows(ours), _sorted_rows(theirs))


def test_no_two_dimensions_are_the_same():
    columns = {_sobol.points(d, COUNT).tobytes() for d in range(_sobol.DIMENSIONS)}
    assert len(columns) == _sobol.DIMENSIONS == 32


@pytest.mark.parametrize("dimension", [0, 1, 7, 31])
@pytest.mark.parametrize("key", [0, 1, 0xDEADBEEF, 2**63 + 12345])
def test_the_scramble_keeps_every_dyadic_stratum(dimension, key):
    scrambled = _sobol.scramble(_sobol.points(dimension, COUNT), key)
    for bits in range(1, 11):
        counts = np.bincount(scrambled >> np.uint32(32 - bits), minlength=2**bits)
        assert np.all(counts == COUNT // 2**bits), f"strata of width 2^-{bits}"


def test_the_scramble_is_nested():
    """Two numbers that share their leading bits, and no more, still do afterward."""
    rng = np.random.default_rng(3)
    first = rng.integers(0, 2**32, 4000, dtype=np.uint32)
    shared = rng.integers(0, 32, 4000).astype(np.uint32)
    # the bit after the shared ones is turned, those behind it are drawn anew
    tail = (rng.integers(0, 2**32, 4000, dtype=np.uint64) >> (shared + 1)).astype(np.uint32)
    second = first ^ ((np.uint32(1) << (np.uint32(31) - shared)) | tail)

    def common(a, b):
        return 32 - np.array([int(x).bit_length() for x in a ^ b])

    assert np.array_equal(common(first, second), shared)
    a, b = _sobol.scramble(first.copy(), 77), _sobol.scramble(second.copy(), 77)
    assert np.array_equal(common(a, b), shared)


def test_two_scrambled_dimensions_still_fill_every_elementary_box():
    bits = 10
    x = _sobol.scramble(_sobol.points(0, 2**bits), 11)
    y = _sobol.scramble(_sobol.points(1, 2**bits), 222)
    for a in range(bits + 1):
        wide = x.astype(np.uint64) >> np.uint64(32 - a)
        high = y.astype(np.uint64) >> np.uint64(32 - (bits - a))
        boxes = wide * np.uint64(2 ** (bits - a)) + high
        assert len(np.unique(boxes)) == 2**bits, f"boxes of 2^-{a} by 2^-{bits - a}"


def test_another_key_gives_another_scramble():
    plain = _sobol.points(3, COUNT)
    assert not np.array_equal(_sobol.scramble(plain, 1), _sobol.scramble(plain, 2))


def test_the_scramble_leaves_its_argument_alone():
    plain = _sobol.points(3, COUNT)
    before = plain.copy()
    _sobol.scramble(plain, 5)
    assert np.array_equal(plain, before)
