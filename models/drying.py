"""Drying of a damp mould in a room: closed forms, so that a week costs no more than a minute."""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.air import Room, evaporation_kg_m2_h
from models.constants_desk import DRYING_CRITICAL_FREE_WATER, PLASTER_DRY_LIMIT_C, PLASTER_DRY_WARN_C
from models.doors import number
from models.plaster import PlasterBlock


@dataclass(frozen=True, slots=True)
class Drying:
    """How one mould dries in one room.

    Full rate while the face is wet, then in step with the water left.

    Attributes
    ----------
    full_ml_h : float
        Rate with a wet face, not below 0. [mL/h]
    critical_ml : float
        Water below which the rate falls, above 0. [mL]
    """

    full_ml_h: float
    critical_ml: float


def drying_in(room: Room, plaster: PlasterBlock, *, own_factor: float = 1.0) -> Drying:
    """How a mould dries in a room.

    Parameters
    ----------
    room : Room
    plaster : PlasterBlock
    own_factor : float
        The mould's own rate over the rule's, learned from its casts; above 0.

    Notes
    -----
    Open-surface rule at the wet-bulb temperature [S22] times face times factor: an order of magnitude
    before the factor is learned.
    """
    rate = max(evaporation_kg_m2_h(room), 0.0)  # air that is full of water neither dries nor wets a mould
    return Drying(
        1000.0 * rate * plaster.drying_m2 * own_factor, plaster.water_ml(DRYING_CRITICAL_FREE_WATER)
    )


def water_left_ml(drying: Drying, water_ml: float, hours: float) -> float:
    """Water in the mould after some hours, [mL].

    Parameters
    ----------
    drying : Drying
    water_ml : float
        Water at the start, not negative. [mL]
    hours : float
        Not negative. [h]
    """
    number("water in the mould", water_ml, wanted="mL, 0 to 1e6", least=0, most=1e6)
    number("hours of drying", hours, wanted="hours, 0 to 100000", least=0, most=1e5)
    rate, critical = drying.full_ml_h, drying.critical_ml
    if water_ml > critical:
        even_h = (water_ml - critical) / rate if rate > 0 else math.inf
        if hours <= even_h:
            return water_ml - rate * hours
        return critical * math.exp(-rate * (hours - even_h) / critical)
    return water_ml * math.exp(-rate * hours / critical)


def hours_until(drying: Drying, water_ml: float, down_to_ml: float) -> float:
    """Hours until the mould holds only `down_to_ml`; 0 if it already does, infinite if it never will, [h].

    The last water leaves ever more slowly, so `down_to_ml` is above 0.
    """
    goal = number("wanted water", down_to_ml, wanted="mL, above 0", above=0, most=1e6)
    if water_ml <= goal:
        return 0.0
    if drying.full_ml_h <= 0:
        return math.inf
    even = max(water_ml - max(drying.critical_ml, goal), 0.0) / drying.full_ml_h
    start = min(water_ml, drying.critical_ml)
    falling = math.log(start / goal) * drying.critical_ml / drying.full_ml_h if start > goal else 0.0
    return even + falling


def drying_caution(room: Room) -> str | None:
    """Say when a drying place is too hot for plaster; None when it is not [S14]."""
    if room.temperature_c > PLASTER_DRY_LIMIT_C:
        return (
            f"{room.temperature_c:g} C turns the mould's face to powder; dry moulds at most at "
            f"{PLASTER_DRY_WARN_C:g} C"
        )
    if room.temperature_c > PLASTER_DRY_WARN_C:
        return (
            f"{room.temperature_c:g} C is close to what plaster stands ({PLASTER_DRY_LIMIT_C:g} C); stay at "
            f"or below {PLASTER_DRY_WARN_C:g} C, and moving air does more than heat"
        )
    return None
