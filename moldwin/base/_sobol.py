"""Sobol' points of 32 dimensions, and the nested scramble that makes columns independent.

Primitive polynomials and first direction numbers: S. Joe, F. Y. Kuo, SIAM J. Sci. Comput. 30
(2008) 2635, the set also used by scipy.stats.qmc (read there). The scramble is the hash-based
nested uniform (Owen) scramble of S. Laine, T. Karras, Comput. Graph. Forum 30 (2011) 1453, with
the constants of N. Vegdahl (2021), from memory; a test checks that it keeps every dyadic stratum.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

__all__ = ["DIMENSIONS", "points", "scramble"]

_POLYNOMIALS: tuple[tuple[int, tuple[int, ...]], ...] = (
    (1, (1,)),
    (3, (1,)),
    (7, (1, 3)),
    (11, (1, 3, 1)),
    (13, (1, 1, 1)),
    (19, (1, 1, 3, 3)),
    (25, (1, 3, 5, 13)),
    (37, (1, 1, 5, 5, 17)),
    (41, (1, 1, 5, 5, 5)),
    (47, (1, 1, 7, 11, 19)),
    (55, (1, 1, 5, 1, 1)),
    (59, (1, 1, 1, 3, 11)),
    (61, (1, 3, 5, 5, 31)),
    (67, (1, 3, 3, 9, 7, 49)),
    (91, (1, 1, 1, 15, 21, 21)),
    (97, (1, 3, 1, 13, 27, 49)),
    (103, (1, 1, 1, 15, 7, 5)),
    (109, (1, 3, 1, 15, 13, 25)),
    (115, (1, 1, 5, 5, 19, 61)),
    (131, (1, 3, 7, 11, 23, 15, 103)),
    (137, (1, 3, 7, 13, 13, 15, 69)),
    (143, (1, 1, 3, 13, 7, 35, 63)),
    (145, (1, 3, 5, 9, 1, 25, 53)),
    (157, (1, 3, 1, 13, 9, 35, 107)),
    (167, (1, 3, 1, 5, 27, 61, 31)),
    (171, (1, 1, 5, 11, 19, 41, 61)),
    (185, (1, 3, 5, 3, 3, 13, 69)),
    (191, (1, 1, 7, 13, 1, 19, 1)),
    (193, (1, 3, 7, 5, 13, 19, 59)),
    (203, (1, 1, 3, 9, 25, 29, 41)),
    (211, (1, 3, 5, 13, 23, 1, 55)),
    (213, (1, 3, 7, 3, 13, 59, 17)),
)

DIMENSIONS = len(_POLYNOMIALS)
_BITS = 32


def _direction_numbers(dimension: int) -> list[int]:
    """Direction numbers, most significant bit first, of one dimension."""
    polynomial, first = _POLYNOMIALS[dimension]
    degree = polynomial.bit_length() - 1
    if degree == 0:  # the first dimension is the plain bit reversal
        return [1 << (_BITS - 1 - i) for i in range(_BITS)]
    m = list(first)
    for i in range(degree, _BITS):
        new = m[i - degree] ^ (m[i - degree] << degree)
        for j in range(1, degree):
            if (polynomial >> (degree - j)) & 1:
                new ^= m[i - j] << j
        m.append(new)
    return [m[i] << (_BITS - 1 - i) for i in range(_BITS)]


@cache
def points(dimension: int, count: int) -> Any:
    """First ``count`` points of one dimension as 32-bit integers, in natural order."""
    directions = _direction_numbers(dimension)
    index = np.arange(count, dtype=np.uint32)
    out = np.zeros(count, dtype=np.uint32)
    for bit in range(max(1, (count - 1).bit_length())):
        out ^= ((index >> np.uint32(bit)) & np.uint32(1)) * np.uint32(directions[bit])
    return out


def _reverse_bits(x: Any) -> Any:
    for shift, mask in (
        (1, 0x55555555),
        (2, 0x33333333),
        (4, 0x0F0F0F0F),
        (8, 0x00FF00FF),
        (16, 0x0000FFFF),
    ):
        s, m = np.uint32(shift), np.uint32(mask)
        x = ((x >> s) & m) | ((x & m) << s)
    return x


def scramble(x: Any, key: int) -> Any:
    """Nested uniform scramble of 32-bit integers: every dyadic interval keeps its count."""
    seed = np.uint32(key & 0xFFFFFFFF)
    with np.errstate(over="ignore"):
        x = _reverse_bits(x)
        x ^= x * np.uint32(0x3D20ADEA)
        x += seed
        x *= (seed >> np.uint32(16)) | np.uint32(1)
        x ^= x * np.uint32(0x05526C56)
        x ^= x * np.uint32(0x53A22864)
        return _reverse_bits(x)
