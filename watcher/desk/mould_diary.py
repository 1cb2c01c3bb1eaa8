"""A mould's diary for the models: casts, weighings and the room; what it holds now and how it dries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from models.air import Room
from models.damp_forecast import dry_again_h, next_cast
from models.diary import Air, Diary, PastCast, Weighing
from models.doors import BadValue
from models.mould import MouldProfile
from models.mould_memory import MouldMemory, learn
from models.plaster import block
from models.ranged import Ranged
from models.slip import Slip
from watcher.desk.plan_times import taught, water_of_cast_ml
from watcher.desk.unseen import airs, with_unwatched
from watcher.desk.wishes import DayWishes
from watcher.records.afterwards import MouldWeighed, Told
from watcher.records.kept import KeptCast

GOOD_FREE_WATER = 0.05
"""Free water over dry plaster at which a mould counts as dry: good practice [S13]."""

REMEMBERED = 40
"""Casts that a diary goes back: more change nothing that a caster would notice (guess)."""


@dataclass(frozen=True, slots=True)
class Dampness:
    """Free water in a mould's plaster, over its dry weight, and what it takes to be dry again.

    Attributes
    ----------
    free_water : Ranged
    dry_in_h : Ranged
        Until `GOOD_FREE_WATER` in the room; `high` may be infinite. [h]
    casts_used : int
        Casts of its own that taught it.
    """

    free_water: Ranged
    dry_in_h: Ranged
    casts_used: int


def diary_of(
    profile: MouldProfile,
    slip: Slip,
    kept: Sequence[KeptCast],
    weighed: Sequence[MouldWeighed],
    wishes: DayWishes,
    told: Sequence[Told] = (),
) -> Diary | None:
    """Return a mould's diary; None for one whose dry weight nobody gave, or without a wanted wall.

    What was told of it counts too: casts that nobody watched, hours in a drier.

    Raises
    ------
    BadValue
        A weight or the room cannot be right.
    """
    kept = with_unwatched(kept, told)
    dry_kg = wishes.of(profile.name).dry_kg
    if dry_kg is None or profile.target_wall_mm is None:
        return None
    water_ml = water_of_cast_ml(profile, slip, profile.target_wall_mm[0])
    known = {cast.cast_id: (k, sigma) for cast, k, sigma in taught(kept[:REMEMBERED])}
    casts = []
    for cast in sorted(kept[:REMEMBERED], key=lambda one: one.began_at):
        k, sigma = known.get(cast.cast_id, (None, 1.0))
        casts.append(PastCast(hours(cast.began_at), k, sigma, water_ml))
    scale = tuple(Weighing(hours(one.at), one.weight_kg) for one in weighed)
    first_h = min([*(cast.at_h for cast in casts), *(one.at_h for one in scale)], default=0.0)
    room = Room(wishes.room_c, wishes.room_rh)
    return Diary(block(dry_kg), tuple(casts), scale, airs(room, first_h, told))


def dampness_of(diary: Diary, now: datetime, profile: MouldProfile) -> Dampness | None:
    """Say how damp a mould is now; None where its diary cannot be followed."""
    if profile.target_wall_mm is None:
        return None
    now_h = max([hours(now), *(c.at_h for c in diary.casts), *(w.at_h for w in diary.weighings)])
    try:
        memory: MouldMemory = learn(diary)
        ahead = next_cast(memory, diary, at_h=now_h, wall_mm=profile.target_wall_mm[0])
        air = Air(now_h, diary.air[-1].room)
        dry = dry_again_h(memory, diary, at_h=now_h, air=air, down_to=GOOD_FREE_WATER)
    except BadValue:
        return None
    return Dampness(ahead.free_water, dry, memory.casts_used)


def hours(moment: datetime) -> float:
    """Return a moment as hours of the clock that diaries run on."""
    return moment.timestamp() / 3600.0
