"""Is a full mould too heavy for the lift at hand: the NIOSH equation, and what a mould weighs.

A guide for a sound adult lifting with both hands, no medical advice and no legal limit: local rules, and
those who know the person, come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from models.constants_desk import PLASTER_ABSORPTION
from models.doors import BadValue, number
from models.slip_weight import checked_sg

LOAD_CONSTANT_KG = 23.0
"""Load constant of the equation. [kg] [S16]"""

DEFER = "a guide only: local rules and qualified advice come first"


class Grip(StrEnum):
    """How well hands hold the mould."""

    GOOD = "good"  # handles or cut-outs
    FAIR = "fair"  # edges that fingers fold round
    POOR = "poor"  # smooth, wet, bulky


# Coupling multiplier for lifts starting below and from 75 cm [S16; below 75 cm from memory: sure]
_GRIP = {Grip.GOOD: (1.0, 1.0), Grip.FAIR: (0.95, 1.0), Grip.POOR: (0.90, 0.90)}

# Frequency multiplier for up to 1 h: lifts per minute, below and from 75 cm [S16; table from memory: sure;
# 3 a minute gives .88]
_FREQUENCY = (
    (0.2, 1.00),
    (0.5, 0.97),
    (1.0, 0.94),
    (2.0, 0.91),
    (3.0, 0.88),
    (4.0, 0.84),
    (5.0, 0.80),
    (6.0, 0.75),
)


@dataclass(frozen=True, slots=True)
class Lift:
    """One way of lifting. Lengths in cm, as in the equation.

    Attributes
    ----------
    reach_cm : float
        Hands from the ankles, horizontally: 25 to 63.
    from_cm : float
        Hands above the floor at the start: 0 to 175.
    travel_cm : float
        How far up or down: 0 to 175.
    twist_deg : float
        Turn of the body: 0 to 135.
    per_min : float
        Lifts a minute: 0 to 6, for up to an hour.
    grip : Grip
    """

    reach_cm: float = 35.0
    from_cm: float = 90.0
    travel_cm: float = 25.0
    twist_deg: float = 0.0
    per_min: float = 0.2
    grip: Grip = Grip.POOR


@dataclass(frozen=True, slots=True)
class LiftVerdict:
    """What the equation says.

    Attributes
    ----------
    limit_kg : float
        Recommended weight limit for one person.
    index : float
        Load over limit: above 1 is more than is advised.
    people : int
        Hands wanted, a pair each; 3 stands for 'use a trolley or a hoist'.
    defer : str
        The caution that goes with it.
    """

    limit_kg: float
    index: float
    people: int
    defer: str = DEFER


def weight_limit_kg(lift: Lift) -> float:
    """Recommended weight limit, [kg].

    Raises
    ------
    BadValue
        Outside what the equation covers.

    Notes
    -----
    RWL = 23 kg x 25/H x (1 - .003 |V - 75|) x (.82 + 4.5/D) x (1 - .0032 A) x FM x CM [S16]. D below 25 cm
    counts as 25, as in its manual.
    """
    h = number("reach", lift.reach_cm, wanted="cm from ankles to hands, 25 to 63", least=25, most=63)
    v = number("height of the hands", lift.from_cm, wanted="cm above the floor, 0 to 175", least=0, most=175)
    d = number("travel", lift.travel_cm, wanted="cm up or down, 0 to 175", least=0, most=175)
    a = number("twist", lift.twist_deg, wanted="degrees, 0 to 135", least=0, most=135)
    multipliers = (
        25.0 / h,
        1.0 - 0.003 * abs(v - 75.0),
        0.82 + 4.5 / max(d, 25.0),
        1.0 - 0.0032 * a,
        _frequency(lift.per_min),
        _GRIP[lift.grip][v >= 75.0],
    )
    limit = LOAD_CONSTANT_KG
    for multiplier in multipliers:
        limit *= multiplier
    return limit


def judge_lift(load_kg: float, lift: Lift) -> LiftVerdict:
    """Judge one load and one way of lifting it.

    Two people are reckoned with 1.7 times the limit of one: they share a load badly (common practice).
    """
    load = number("load", load_kg, wanted="kg, above 0 to 500", above=0, most=500)
    limit = weight_limit_kg(lift)
    people = 1 if load <= limit else 2 if load <= 1.7 * limit else 3
    return LiftVerdict(limit, load / limit, people)


def full_mould_kg(*, dry_kg: float, free_water: float, slip_ml: float, sg: float) -> float:
    """Weight of a mould with its damp and its slip, [kg].

    Parameters
    ----------
    dry_kg : float
        Plaster bone dry, 0.05 to 500. [kg]
    free_water : float
        In the plaster over its dry mass, 0 to what it can hold.
    slip_ml : float
        Slip in it. [mL]
    sg : float
        Of the slip.
    """
    dry = number("mould's dry weight", dry_kg, wanted="the weight in kg, 0.05 to 500", least=0.05, most=500)
    most = round(PLASTER_ABSORPTION * 1.15, 2)
    damp = number("free water", free_water, wanted=f"over dry plaster, 0 to {most:g}", least=0, most=most)
    slip = number("slip in the mould", slip_ml, wanted="mL, 0 to 500000", least=0, most=5e5)
    return dry * (1.0 + damp) + slip * checked_sg("specific gravity", sg) / 1000.0


def _frequency(per_min: float) -> float:
    wanted = "lifts a minute, 0 to 6"
    rate = number("lifts a minute", per_min, wanted=wanted, least=0, most=_FREQUENCY[-1][0])
    for (slow, high), (quick, low) in pairwise(_FREQUENCY):
        if rate <= slow:
            return high
        if rate <= quick:
            return high + (low - high) * (rate - slow) / (quick - slow)
    raise BadValue(f"lifts a minute is {rate:g}; give {wanted}")
