"""Vapor pressures held against published values and independent packages."""

from __future__ import annotations

import chemicals
import fluids.atmosphere
import iapws.iapws97
import pytest

from moldwin.physics.vapor import (
    glycerol_vapor_pressure,
    standard_air_pressure,
    water_saturation_pressure,
    water_saturation_temperature,
)
from tests.published.tables import number, rows


@pytest.mark.parametrize("t", [280.0, 298.15, 373.15, 403.15, 453.15, 600.0])
def test_two_other_packages_agree_on_water(t):
    ours = water_saturation_pressure(t)
    # IAPWS-95 is another formulation: IF97 is built to follow it within 0.025 %
    assert ours == pytest.approx(chemicals.iapws.iapws95_Psat(t), rel=2.5e-4)
    assert ours == pytest.approx(1e6 * iapws.iapws97._PSat_T(t), rel=1e-9)


@pytest.mark.parametrize("row", rows("vdi_glycerol.csv"), ids=lambda row: row["t_c"])
def test_another_correlation_for_glycerol_lies_two_to_three_percent_higher(row):
    ratio = number(row, "glycerol_pa") / glycerol_vapor_pressure(number(row, "t_c") + 273.15)
    assert 1.015 < ratio < 1.03


def test_glycerol_boils_at_its_known_temperature():
    # 290 °C under one atmosphere, from memory; handbooks differ by a kelvin (2.5 % in pressure)
    assert glycerol_vapor_pressure(563.0) == pytest.approx(101325.0, rel=0.025)


@pytest.mark.parametrize("altitude", [0.0, 1500.0, 4000.0])
def test_another_package_agrees_on_the_atmosphere(altitude):
    # it takes geometric altitude, which differs by altitude/6356 km: 0.03 % of 4 km
    other = fluids.atmosphere.ATMOSPHERE_1976(altitude).P
    assert standard_air_pressure(altitude) == pytest.approx(other, rel=5e-4)


def test_trap_higher_workshops_see_steam_earlier():
    # 1500 m up steam starts about 5 K lower, as published
    drop = water_saturation_temperature(101325.0) - water_saturation_temperature(
        standard_air_pressure(1500.0)
    )
    assert drop == pytest.approx(5.0, abs=0.5)
