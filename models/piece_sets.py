"""A piece of several parts (body, handle, spout, lid): poured so that they come leather-hard together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from models.doors import BadValue, number
from models.ranged import Z80, Ranged

JOINING_SLIP_MIN = 120.0
"""Slip for joining is drawn so long before, to thicken in an open dish (common practice). [min]"""


@dataclass(frozen=True, slots=True)
class SetPart:
    """One part of a set.

    Attributes
    ----------
    name : str
    cast_min : float
        From full to ready. [min]
    set_min : float
        From its tip to leather-hard. [min]
    pour_min, tip_min : float
        Hands' time. [min]
    sigma_log : float
        Spread of the logarithm of casting and setting together.
    """

    name: str
    cast_min: float
    set_min: float
    pour_min: float = 2.0
    tip_min: float = 2.0
    sigma_log: float = 0.2


@dataclass(frozen=True, slots=True)
class SetPlan:
    """When to pour each part.

    Attributes
    ----------
    pours : tuple of (str, float)
        Parts in the order of pouring, minutes from the first pour. [min]
    join_min : Ranged
        When the last part is leather-hard, from the first pour. [min]
    apart_min : float
        How far apart the parts come to leather-hard by this plan, before chance; 0 is together. [min]
    draw_slip_min : float
        When to draw slip for joining; negative is before the first pour. [min]
    """

    pours: tuple[tuple[str, float], ...]
    join_min: Ranged
    apart_min: float
    draw_slip_min: float


def plan_set(parts: Sequence[SetPart]) -> SetPlan:
    """Find the pours of one set for one pair of hands.

    Parameters
    ----------
    parts : sequence of SetPart
        Two or more, each with its own name.

    Notes
    -----
    Counted back from the joining; where two pours would meet, the earlier one moves to still earlier, for a
    part that waits for its set under a damp cloth is better than one that comes too late.
    """
    _check(parts)
    takes = {p.name: p.pour_min + p.cast_min + p.tip_min + p.set_min for p in parts}
    starts: dict[str, float] = {}
    limit = math.inf
    for part in sorted(parts, key=lambda p: takes[p.name]):
        starts[part.name] = min(-takes[part.name], limit - part.pour_min)
        limit = starts[part.name]
    first = min(starts.values())
    hard = {name: start - first + takes[name] for name, start in starts.items()}
    last = max(parts, key=lambda p: hard[p.name])
    spread = max(p.sigma_log * (p.cast_min + p.set_min) for p in parts)
    join = hard[last.name]
    return SetPlan(
        pours=tuple(
            sorted(((name, start - first) for name, start in starts.items()), key=lambda pour: pour[1])
        ),
        join_min=Ranged(join, max(join - Z80 * spread, 0.0), join + Z80 * spread),
        apart_min=join - min(hard.values()),
        draw_slip_min=join - JOINING_SLIP_MIN,
    )


def _check(parts: Sequence[SetPart]) -> None:
    if len(parts) < 2:
        raise BadValue(f"set has {len(parts)} parts; give at least two")
    if len({p.name for p in parts}) != len(parts):
        raise BadValue("set has two parts of one name; give each its own")
    for p in parts:
        number(f"{p.name}: casting time", p.cast_min, wanted="minutes, 0.5 to 1440", least=0.5, most=1440)
        number(f"{p.name}: setting time", p.set_min, wanted="minutes, 0 to 2880", least=0, most=2880)
        number(f"{p.name}: pour time", p.pour_min, wanted="minutes, 0.1 to 120", least=0.1, most=120)
        number(f"{p.name}: tip time", p.tip_min, wanted="minutes, 0.1 to 120", least=0.1, most=120)
        number(
            f"{p.name}: spread", p.sigma_log, wanted="of the time's logarithm, 0 to 1.5", least=0, most=1.5
        )
