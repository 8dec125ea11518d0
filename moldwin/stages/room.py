"""The room: its temperature, humidity and air pressure, given or typical."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.vapor import dew_point, standard_air_pressure
from moldwin.stages.bench import Bench

__all__ = ["air_pressure", "room_dew_point", "room_humidity", "room_temperature"]

#: Standard uncertainty of a room thermometer and of a household hygrometer (assumed).
_TEMPERATURE_U = 1.0
_HUMIDITY_U = 0.04


def room_temperature(bench: Bench) -> Any:
    """Air temperature, shape (s,). [K]"""
    given = bench.job.room.temperature
    typical = ("room", "temperature")
    return bench.given("room.temperature", given, "K", u=_TEMPERATURE_U, typical=typical)


def room_humidity(bench: Bench) -> Any:
    """Relative humidity, kept within 2 and 98 %, shape (s,). [-]"""
    given = bench.job.room.humidity
    typical = ("room", "humidity")
    reading = bench.given("room.humidity", given, "1", u=_HUMIDITY_U, typical=typical)
    return np.clip(reading, 0.02, 0.98)


def air_pressure(bench: Bench) -> Any:
    """Pressure of the air at the room's altitude, shape (s,). [Pa]"""
    given = bench.job.room.altitude
    altitude = bench.given("room.altitude", given, "m", typical=("room", "altitude"))
    return standard_air_pressure(altitude, check=False)


def room_dew_point(bench: Bench) -> Any:
    """Temperature below which a mold sweats, shape (s,). [K]"""
    return dew_point(room_temperature(bench), room_humidity(bench), check=False)
