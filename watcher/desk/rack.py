"""The drying rack: which moulds are ready for tomorrow, which need more, and for how long in this room."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from models.constants_desk import PLASTER_DRY_LIMIT_C, PLASTER_DRY_WARN_C
from models.ranged import Ranged
from watcher.desk.mould_diary import Dampness
from watcher.records.kept import KeptCast

REST_SHORT_H, REST_LONG_H = 6.0, 18.0
"""Drying after a day's casts as makers print it [S21], for moulds that were never weighed. [h]"""


class RackWord(StrEnum):
    """What is said of one mould."""

    READY = "ready"  # dry by tomorrow as it stands
    PERHAPS = "perhaps"  # the range goes both ways
    NEEDS_RACK = "needs_rack"  # not dry by tomorrow: open it, move air past it, or leave it out
    DRY = "dry"  # dry already
    CASTING = "casting"  # holds slip now


class RoomWord(StrEnum):
    """What is said of the drying place."""

    FINE = "fine"
    WARM = "warm"  # above what we ever suggest, below what plaster stands
    TOO_HOT = "too_hot"  # turns the mould's face to powder


@dataclass(frozen=True, slots=True)
class RackRow:
    """One mould.

    Attributes
    ----------
    mould : str
    word : RackWord
    dry_in_h : Ranged or None
        Until it is dry; `high` may be infinite. None: it holds slip. [h]
    free_water : Ranged or None
        Over dry plaster; None where the mould was never weighed.
    casts_today : int
    weighed : bool
        Whether this is reckoned from its own weight, else from what makers print.
    """

    mould: str
    word: RackWord
    dry_in_h: Ranged | None
    free_water: Ranged | None
    casts_today: int
    weighed: bool


def rack_row(
    mould: str,
    dampness: Dampness | None,
    newest: KeptCast | None,
    *,
    casts_today: int,
    casting: bool,
    now: datetime,
    until_h: float,
) -> RackRow:
    """Judge one mould.

    Parameters
    ----------
    mould : str
    dampness : Dampness or None
        None: it was never weighed.
    newest : KeptCast or None
        Its last cast.
    casts_today : int
    casting : bool
        It holds slip, or a cast, now.
    now : datetime
    until_h : float
        From now until it is wanted again. [h]
    """
    if casting:
        free = None if dampness is None else dampness.free_water
        return RackRow(mould, RackWord.CASTING, None, free, casts_today, dampness is not None)
    if dampness is not None:
        wait = dampness.dry_in_h
        return RackRow(mould, _word(wait, until_h), wait, dampness.free_water, casts_today, True)
    rested_h = math.inf
    if newest is not None:
        rested_h = (now - (newest.tipped_at or newest.began_at)).total_seconds() / 3600.0
    left = [
        max(hours - rested_h, 0.0)
        for hours in (0.5 * (REST_SHORT_H + REST_LONG_H), REST_SHORT_H, REST_LONG_H)
    ]
    wait = Ranged(left[0], left[1], left[2])
    return RackRow(mould, _word(wait, until_h), wait, None, casts_today, False)


def room_word(room_c: float) -> RoomWord:
    """Judge the temperature of the place where moulds dry [S14]. [C]."""
    if room_c > PLASTER_DRY_LIMIT_C:
        return RoomWord.TOO_HOT
    return RoomWord.WARM if room_c > PLASTER_DRY_WARN_C else RoomWord.FINE


def _word(wait: Ranged, until_h: float) -> RackWord:
    if wait.high <= 0.0:
        return RackWord.DRY
    if wait.high <= until_h:
        return RackWord.READY
    return RackWord.PERHAPS if wait.low <= until_h else RackWord.NEEDS_RACK
