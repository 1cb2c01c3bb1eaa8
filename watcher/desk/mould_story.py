"""A mould's story over its casts: K of each, the wall it gave beside the wall wanted, how it ages."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from models.cast_prior import slower
from models.ranged import Z80, Ranged
from watcher.desk.plan_times import taught
from watcher.records.afterwards import FindingKind
from watcher.records.kept import KeptCast

FEWEST_FOR_A_TREND = 6
"""Casts below which a line through them tells nothing (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class StoryPoint:
    """One cast of the story.

    Attributes
    ----------
    cast_id, began_at, number_today
        Which cast.
    k : Ranged or None
        L2/t over the cast; None where its wall is not known. [mm2/min]
    wall : Ranged or None
        At the tip, as worked out. [mm]
    measured_mm : float or None
        By the caster. [mm]
    minutes : float or None
        From full to the tip. [min]
    faults : tuple of FindingKind
    """

    cast_id: str
    began_at: datetime
    number_today: int
    k: Ranged | None
    wall: Ranged | None
    measured_mm: float | None
    minutes: float | None
    faults: tuple[FindingKind, ...]


def story_of(
    kept: Sequence[KeptCast],
    faults: Mapping[str, frozenset[FindingKind]],
    looked_mm: Mapping[str, float],
) -> tuple[StoryPoint, ...]:
    """Return the story of a mould's casts, oldest first; those that were never tipped are left out."""
    known = {cast.cast_id: (k, sigma) for cast, k, sigma in taught(kept)}
    points = []
    for cast in sorted(kept, key=lambda one: one.began_at):
        if cast.tipped_s is None:
            continue
        k = known.get(cast.cast_id)
        found = faults.get(cast.cast_id, frozenset())
        points.append(
            StoryPoint(
                cast.cast_id,
                cast.began_at,
                cast.number_today,
                None if k is None else _about(*k),
                wall_of(cast),
                looked_mm.get(cast.cast_id),
                (cast.tipped_s - cast.fillings[0].latest_s) / 60.0 if cast.fillings else None,
                tuple(kind for kind in FindingKind if kind in found),
            )
        )
    return tuple(points)


def wall_of(cast: KeptCast) -> Ranged | None:
    """Return the wall that a cast had when it was last worked out, or None. [mm]."""
    estimate = cast.figures.get("estimate") or {}
    found = [estimate.get(key) for key in ("wall_mm", "wall_low_mm", "wall_high_mm")]
    numbers = [float(one) for one in found if isinstance(one, int | float)]
    return Ranged(numbers[0], numbers[1], numbers[2]) if len(numbers) == 3 else None


def trend_per_100(points: Sequence[StoryPoint]) -> Ranged | None:
    """Return K after 100 more casts over K now, by a straight line through log K; None with too few casts.

    Later casts of a day are brought to its first by the usual slowing, so that a busy week is not taken for
    age. Two ends of the 80 % range on one side of 1 say that the mould is changing.
    """
    known = [
        (float(n), math.log(point.k.value * slower(point.number_today)))
        for n, point in enumerate(points)
        if point.k is not None
    ]
    if len(known) < FEWEST_FOR_A_TREND:
        return None
    xs, ys = zip(*known, strict=True)
    mean_x, mean_y = sum(xs) / len(xs), sum(ys) / len(ys)
    spread = sum((x - mean_x) ** 2 for x in xs)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in known) / spread
    rest = sum((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in known)
    sigma = math.sqrt(rest / (len(known) - 2) / spread)
    low, high = slope - Z80 * sigma, slope + Z80 * sigma
    return Ranged(math.exp(100.0 * slope), math.exp(100.0 * low), math.exp(100.0 * high))


def _about(value: float, sigma_log: float) -> Ranged:
    factor = math.exp(Z80 * sigma_log)
    return Ranged(value, value / factor, value * factor)
