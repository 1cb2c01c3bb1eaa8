"""How a mould's forecasts did: what was foretold early in each cast against what was known at its tip.

What counts as true here is the forecast's own last word before the tip, not a measured wall: only a cut or a
look at the wall could say that, and where the caster gave one, it is held against the wall that was shown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from watcher.records.kept import KeptCast
from watcher.storage.past import Foretold

SHARES = (0.25, 0.5, 0.9)
"""Moments of a cast at which its forecast is judged, as shares of its time."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One forecast against the last word.

    Attributes
    ----------
    cast_id : str
    share : float
        Of the cast's time that had passed.
    off : float
        Foretold moment less the last word, over the cast's time: above 0 was too late.
    held : bool
        Whether the 80 % range of that moment held the last word.
    """

    cast_id: str
    share: float
    off: float
    held: bool


@dataclass(frozen=True, slots=True)
class ScoreRow:
    """Forecasts at one share of the cast's time: how many, how far off in the middle and at worst."""

    share: float
    casts: int
    median_off: float
    worst_off: float
    held: int


@dataclass(frozen=True, slots=True)
class WallCheck:
    """A wall that the caster measured beside the one that was shown. [mm]."""

    cast_id: str
    measured_mm: float
    shown_mm: float
    low_mm: float
    high_mm: float


def judge_cast(cast: KeptCast, told: Sequence[Foretold]) -> tuple[Judged, ...]:
    """Judge what was foretold of one cast that was tipped; nothing where too little was kept."""
    if cast.tipped_s is None or not cast.fillings:
        return ()
    pairs = ((one.at_s, _ready(one.estimate)) for one in told if one.at_s <= cast.tipped_s)
    known = [(at_s, *ready) for at_s, ready in pairs if ready is not None]
    if len(known) < 3:
        return ()
    full_s = cast.fillings[0].latest_s
    truth_s = known[-1][1]
    took_s = truth_s - full_s
    if took_s <= 60.0:
        return ()
    judged = []
    for share in SHARES:
        before = [one for one in known if one[0] <= full_s + share * took_s]
        if before:
            _, ready_s, low_s, high_s = before[-1]
            held = low_s <= truth_s <= high_s
            judged.append(Judged(cast.cast_id, share, (ready_s - truth_s) / took_s, held))
    return tuple(judged)


def score(judged: Sequence[Judged]) -> tuple[ScoreRow, ...]:
    """Sum up by the share of the cast's time."""
    rows = []
    for share in SHARES:
        some = [one for one in judged if one.share == share]
        if some:
            offs = [abs(one.off) for one in some]
            rows.append(ScoreRow(share, len(some), median(offs), max(offs), sum(one.held for one in some)))
    return tuple(rows)


def wall_check(cast: KeptCast, measured_mm: float) -> WallCheck | None:
    """Hold a measured wall against the one that was shown last; None where none was."""
    estimate = cast.figures.get("estimate") or {}
    shown = [estimate.get(key) for key in ("wall_mm", "wall_low_mm", "wall_high_mm")]
    if not all(isinstance(one, int | float) and math.isfinite(one) for one in shown):
        return None
    wall, low, high = (float(one) for one in shown if one is not None)
    return WallCheck(cast.cast_id, measured_mm, wall, low, high)


def _ready(estimate: Mapping[str, object]) -> tuple[float, float, float] | None:
    found = [estimate.get(key) for key in ("ready_s", "ready_low_s", "ready_high_s")]
    numbers = [float(one) for one in found if isinstance(one, int | float)]
    return (numbers[0], numbers[1], numbers[2]) if len(numbers) == 3 else None
