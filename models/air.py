"""Moist air: how thirsty the room is. SI units, formulas of ASHRAE Fundamentals 2017, chapter 1 [S7]."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from models.doors import number

STANDARD_PRESSURE_PA = 101325.0
_MASS_RATIO = 0.621945  # water vapour to dry air
_GAS_CONSTANT_DRY_AIR = 287.042  # J/(kg K)
_OVER_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


@dataclass(frozen=True, slots=True)
class Room:
    """The air that moulds dry in; refuses what no workshop has.

    Attributes
    ----------
    temperature_c : float
        Dry-bulb temperature, 1 to 60. [C]
    relative_humidity : float
        0 to 1.
    air_speed_m_s : float
        Past the moulds: about 0.05 still, 1 with a fan. 0 to 20. [m/s]
    pressure_pa : float
        50 000 to 110 000. [Pa]
    """

    temperature_c: float
    relative_humidity: float
    air_speed_m_s: float = 0.05
    pressure_pa: float = STANDARD_PRESSURE_PA

    def __post_init__(self) -> None:
        _temperature("room temperature", self.temperature_c)
        number(
            "room humidity",
            self.relative_humidity,
            wanted="a share from 0 to 1 (50 % is 0.5)",
            least=0,
            most=1,
        )
        number("air speed", self.air_speed_m_s, wanted="the air's speed in m/s, 0 to 20", least=0, most=20)
        number(
            "air pressure",
            self.pressure_pa,
            wanted="the pressure in Pa, 50000 to 110000",
            least=5e4,
            most=1.1e5,
        )


def saturation_pa(temperature_c: float) -> float:
    """Pressure of water vapour over liquid water. [Pa] For 0.01 to 60 C; equation 6 of [S7]."""
    kelvin = _temperature("temperature", temperature_c) + 273.15
    a, b, c, d, e, f = _OVER_WATER
    return math.exp(a / kelvin + b + c * kelvin + d * kelvin**2 + e * kelvin**3 + f * math.log(kelvin))


def humidity_ratio(temperature_c: float, relative_humidity: float, pressure_pa: float) -> float:
    """Water vapour per dry air. [kg/kg] Equation 20 of [S7]."""
    vapour_pa = relative_humidity * saturation_pa(temperature_c)
    return _MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)


def humidity_ratio_from_wet_bulb(temperature_c: float, wet_bulb_c: float, pressure_pa: float) -> float:
    """Water vapour per dry air from a pair of thermometers. [kg/kg] Equation 33 of [S7].

    Raises
    ------
    BadValue
        Wet bulb above dry bulb, or so far below it that the air would hold less than no water.
    """
    if wet_bulb_c > temperature_c:
        number(
            "wet bulb", wet_bulb_c, wanted=f"at most the dry bulb's {temperature_c:g} C", most=temperature_c
        )
    saturated = humidity_ratio(wet_bulb_c, 1.0, pressure_pa)
    ratio = _wet_bulb_balance(temperature_c, wet_bulb_c, saturated)
    return number("wet bulb's humidity", ratio, wanted="a wet bulb less far below the dry bulb", least=0)


def relative_humidity(temperature_c: float, ratio: float, pressure_pa: float) -> float:
    """Relative humidity, 0 to 1, of air with this much vapour per dry air."""
    vapour_pa = pressure_pa * ratio / (_MASS_RATIO + ratio)
    return vapour_pa / saturation_pa(temperature_c)


def wet_bulb_c(room: Room) -> float:
    """Temperature that a wet surface in this room settles to, [C]."""
    ratio = humidity_ratio(room.temperature_c, room.relative_humidity, room.pressure_pa)

    def excess(wet_c: float) -> float:
        saturated = humidity_ratio(wet_c, 1.0, room.pressure_pa)
        return _wet_bulb_balance(room.temperature_c, wet_c, saturated) - ratio

    if excess(0.01) > 0:
        return 0.01  # colder than ice water only in air too dry for a workshop; drying is hardly changed
    return float(brentq(excess, 0.01, room.temperature_c + 1e-6, xtol=1e-9))


def dew_point_c(room: Room) -> float:
    """Temperature below which this room's air drips. [C] 0.01 stands for freezing and below."""
    vapour_pa = room.relative_humidity * saturation_pa(room.temperature_c)
    if vapour_pa <= saturation_pa(0.01):
        return 0.01
    return float(brentq(lambda t: saturation_pa(t) - vapour_pa, 0.01, room.temperature_c + 1e-6, xtol=1e-9))


def enthalpy_kj_kg(temperature_c: float, ratio: float) -> float:
    """Heat content of moist air per dry air. [kJ/kg] Equation 30 of [S7]."""
    return 1.006 * temperature_c + ratio * (2501.0 + 1.86 * temperature_c)


def volume_m3_kg(temperature_c: float, ratio: float, pressure_pa: float) -> float:
    """Volume of moist air per dry air. [m3/kg] Equation 26 of [S7]."""
    return _GAS_CONSTANT_DRY_AIR * (temperature_c + 273.15) * (1.0 + ratio / _MASS_RATIO) / pressure_pa


def evaporation_kg_m2_h(room: Room) -> float:
    """Water that a wet surface at the wet-bulb temperature gives to this room, [kg/(m2 h)].

    Notes
    -----
    g = (25 + 19 v)(xs - x) [S22], an open-water rule that is doubted: order of magnitude only. A mould's own
    drying is learned on top of it (`models.dampness`).
    """
    surface = humidity_ratio(wet_bulb_c(room), 1.0, room.pressure_pa)
    air = humidity_ratio(room.temperature_c, room.relative_humidity, room.pressure_pa)
    return (25.0 + 19.0 * room.air_speed_m_s) * (surface - air)


def _temperature(field: str, value: float) -> float:
    return number(field, value, wanted="a temperature in C, 0.01 to 60", least=0.01, most=60)


def _wet_bulb_balance(dry_c: float, wet_c: float, saturated: float) -> float:
    return ((2501.0 - 2.326 * wet_c) * saturated - 1.006 * (dry_c - wet_c)) / (
        2501.0 + 1.86 * dry_c - 4.186 * wet_c
    )
