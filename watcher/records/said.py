"""What the caster tells the bench: a button on the page, or a line typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class What(StrEnum):
    """Everything that can be said."""

    ACKNOWLEDGED = "acknowledged"  # I heard it (an alert; all of a mould's, or all)
    SNOOZED = "snoozed"  # not yet: call again in a few minutes (value: minutes)
    FILLED = "filled"  # this mould has just been poured
    TOPPED_UP = "topped_up"
    TIPPED = "tipped"
    TIPPED_TOO_SOON = "tipped_too_soon"  # tipped and filled again at once: the cake stays
    INVERTED = "inverted"  # turned upside down to drain
    UPRIGHT = "upright"  # drained and set upright
    SPARE_CUT = "spare_cut"  # the sheen is gone, the spare is cut off
    LETTING_GO = "letting_go"  # a gap opens at the pour hole
    DEMOULDED = "demoulded"
    CAME_OUT_RIGHT = "came_out_right"  # this cast was right: do it again
    TOO_THIN = "too_thin"
    TOO_THICK = "too_thick"
    LOOKED = "looked"  # I looked at the wall: value in mm
    RULER = "ruler"  # I put a ruler in: the level is value mm
    WRONG = "wrong"  # what is shown is wrong (note says what)
    NOTE = "note"
    TAKE_BACK = "take_back"  # the last thing said of this mould was a mistake
    OUT_OF_SERVICE = "out_of_service"  # do not watch this mould until told
    IN_SERVICE = "in_service"


@dataclass(frozen=True, slots=True)
class Said:
    """One thing the caster said, with the moment it was said.

    `mould` is empty when it concerns the whole bench; `alert_id` names one alert. `value` carries the number
    that goes with it (mm or minutes, see `What`). `word_id` names a word that was said on another bench's
    page, so that it is taken in once however often it arrives.
    """

    what: What
    at_s: float
    at: datetime
    mould: str = ""
    alert_id: str = ""
    value: float | None = None
    note: str = ""
    who: str = ""
    word_id: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """The clock moved on: alarms do not wait for the next picture."""

    now_s: float
    now_at: datetime
