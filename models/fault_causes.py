"""Faults that a caster sees, and what in slip, mould or bench most often stands behind each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Fault(StrEnum):
    """What was seen on a cast."""

    SLOW = "slow"
    SKIN = "skin"  # a skin on the slip in the pour hole
    STICKS = "sticks"  # the cast does not come off the plaster
    GELS = "gels"  # slip stiffens in the mould and does not run out
    DRAINS_BADLY = "drains_badly"
    DROPS_FAR = "drops_far"  # the level sinks further than usual
    MOULD_WET = "mould_wet"  # plaster is dark and wet after a cast or two
    HOT_SPOT = "hot_spot"  # a mark where the stream hit; may show only in the glaze


class Cause(StrEnum):
    """What to look at."""

    TOO_MUCH_DEFLOCCULANT = "too_much_deflocculant"
    TOO_LITTLE_DEFLOCCULANT = "too_little_deflocculant"
    TOO_MUCH_WATER = "too_much_water"
    DAMP_MOULD = "damp_mould"
    NARROW_HOLE = "narrow_hole"
    POURED_ON_ONE_SPOT = "poured_on_one_spot"


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause and how many of the faults seen point to it."""

    cause: Cause
    faults: tuple[Fault, ...]


# [S32, read]: too much deflocculant, too little, too wet; [S30, read]: narrow hole; [S13, read]: damp mould;
# the stream's mark is common practice.
_POINTS_TO = {
    Cause.TOO_MUCH_DEFLOCCULANT: (Fault.SLOW, Fault.SKIN, Fault.STICKS),
    Cause.TOO_LITTLE_DEFLOCCULANT: (Fault.GELS, Fault.DRAINS_BADLY),
    Cause.TOO_MUCH_WATER: (Fault.DROPS_FAR, Fault.SLOW, Fault.MOULD_WET),
    Cause.DAMP_MOULD: (Fault.SLOW, Fault.STICKS, Fault.MOULD_WET),
    Cause.NARROW_HOLE: (Fault.DRAINS_BADLY,),
    Cause.POURED_ON_ONE_SPOT: (Fault.HOT_SPOT,),
}


def suspects(seen: frozenset[Fault]) -> tuple[Suspect, ...]:
    """Causes that explain most of the faults seen, best first; none for no fault.

    A direction to look in, no verdict: the slip's weight and flow, and the mould's own history, decide.
    """
    found = [
        Suspect(cause, tuple(f for f in faults if f in seen))
        for cause, faults in _POINTS_TO.items()
        if seen.intersection(faults)
    ]
    # of two that explain as many faults, the one of which more would be expected to show goes last
    return tuple(sorted(found, key=lambda s: (-len(s.faults), len(_POINTS_TO[s.cause]))))
