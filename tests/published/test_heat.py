"""Cooling and soaking times held against tabulated ones, and properties against print."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import mixing
from moldwin.physics.soaking import first_mode, warming_shortfall
from tests.published.tables import number, rows

J0_ROOT = 2.404825557695773


def conditions(row):
    temperatures = [number(row, key) + 273.15 for key in ("melt_c", "mold_c", "eject_c")]
    size = number(row, "thickness_or_diameter_mm") / 1e3
    if row["shape"] == "bar":
        size = np.array([size, number(row, "width_mm") / 1e3])
    return size, number(row, "diffusivity_mm2_s") * 1e-6, temperatures


@pytest.mark.parametrize("row", rows("cooling.csv"), ids=lambda row: " ".join(row.values())[:60])
def test_the_table_is_the_first_term(row):
    """Shows why the misses above are the table's: it follows from one term, to its last digit."""
    size, alpha, (melt, mold, eject) = conditions(row)
    plate = {"mean": 8 / np.pi**2, "center": 4 / np.pi}[row["where"]]
    round_ = {"mean": 4 / J0_ROOT**2, "center": 1.60197}[row["where"]]
    amplitude, rate = {
        "plate": lambda: (plate, np.pi**2 / size**2),
        "cylinder": lambda: (round_, 4 * J0_ROOT**2 / size**2),
        "bar": lambda: (plate**2, np.pi**2 * np.sum(size**-2.0)),
    }[row["shape"]]()
    time = np.log(amplitude * (melt - mold) / (eject - mold)) / (rate * alpha)
    assert time == pytest.approx(number(row, "time_s"), abs=0.00501)


@pytest.mark.parametrize(("short_of", "seconds"), [(10, 496), (5, 616)])
def test_soak(short_of, seconds):
    """Derived figures: the middle of a 20 mm barrel, 1e-7 m²/s, 110 K to go, no contact lost."""
    fourier = 1e-7 * (seconds + np.array([-0.6, 0.6])) / 0.01**2
    before, after = 110.0 * warming_shortfall("center", fourier, first_mode(np.inf))
    assert after < short_of < before


@pytest.mark.parametrize("row", rows("choi_okos1986.csv"), ids=lambda r: " ".join(r.values())[:20])
def test_components(row):
    model = {"rho": mixing.density, "cp": mixing.heat_capacity, "k": mixing.conductivity}
    unit = 1e3 if row["property"] == "cp" else 1.0
    t_c = np.array([max(number(row, "low_c"), 0.0), 25.0, 100.0, number(row, "high_c")])
    printed = number(row, "c0") + number(row, "c1") * t_c + number(row, "c2") * t_c**2
    ours = model[row["property"]](row["component"], t_c + 273.15) / unit
    assert ours == pytest.approx(printed, rel=1e-12)
