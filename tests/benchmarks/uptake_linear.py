"""A million values of linear uptake, against the textbook's series with as many terms as it needs.

A slab without resistance, Fourier numbers even in their logarithm from 1e-4 to 3. The series gets
the fewest terms with which its worst error is no larger than 1e-9, that of ours.
"""

from __future__ import annotations

import statistics
from typing import Any

import numpy as np

from moldwin.physics.diffusion import unaccomplished
from tests.benchmarks.measuring import peak_mib, seconds
from tests.benchmarks.row import Row

COUNT = 10**6
SMALLEST, LARGEST = 1e-4, 3.0
ERROR = 1e-9
REPEATS = 5
NEEDED = 10.0


def run(repeats: int = REPEATS) -> Row:
    """Medians of alternating runs."""
    fourier = np.exp(np.random.default_rng(1).uniform(np.log(SMALLEST), np.log(LARGEST), COUNT))
    terms = fewest_terms()
    exact = plain(fourier, 3 * terms)
    ours, peer, errors = [], [], []
    for _ in range(repeats):
        taken, left = seconds(lambda: unaccomplished("slab", fourier))
        ours.append(taken)
        taken, summed = seconds(lambda: plain(fourier, terms))
        peer.append(taken)
        errors.append((np.abs(left - exact).max(), np.abs(summed - exact).max()))
    ours_s, peer_s = statistics.median(ours), statistics.median(peer)
    ratio = peer_s / ours_s
    worst = np.max(errors, axis=0)
    return Row(
        name="uptake-linear",
        ours_s=ours_s,
        peer=f"plain series of {terms} terms in numpy",
        peer_s=peer_s,
        ratio=ratio,
        gate=(
            f"both within {ERROR:g} (ours {worst[0]:.1e}, series {worst[1]:.1e}) "
            f"and at least {NEEDED:g} times faster"
        ),
        passed=bool(np.all(worst <= 1.001 * ERROR) and ratio >= NEEDED),
        peak_mib=peak_mib(lambda: unaccomplished("slab", fourier)),
        peer_peak_mib=peak_mib(lambda: plain(fourier, terms)),
    )


def plain(fourier: Any, terms: int) -> Any:
    """Crank's series, term by term over all values, without needless memory."""
    left, term = np.zeros_like(fourier), np.empty_like(fourier)
    for n in range(terms):
        rate = ((n + 0.5) * np.pi) ** 2
        np.multiply(fourier, -rate, out=term)
        np.exp(term, out=term)
        term *= 2.0 / rate
        left += term
    return left


def fewest_terms() -> int:
    """Terms after which the rest of the series is below the error at the smallest number."""
    smallest = np.array([SMALLEST])
    exact = plain(smallest, 2000)
    terms = 1
    while np.abs(plain(smallest, terms) - exact)[0] > ERROR:
        terms += 1
    return terms
