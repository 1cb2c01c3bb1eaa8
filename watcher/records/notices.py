"""Alerts as records: what was raised for which cast, in which alarm state, and what is to be sent."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Kind(StrEnum):
    """What an alert is about."""

    SOON = "soon"
    READY = "ready"
    LATE = "late"
    TIPPED_UNSEEN = "tipped_unseen"  # due, but it looked tipped at the last look that there was: was it?
    BLIND = "blind"  # this mould has not been seen for too long: its time is a forecast
    CAMERA_BLIND = "camera_blind"
    HOLE_CLOSING = "hole_closing"  # the ring of clay will close the pour hole before the slip can drain
    LEAKING = "leaking"
    TOP_UP = "top_up"  # the slip will sink to the trim line before the tip
    DISK_FILLING = "disk_filling"
    CLOCK_STEPPED = "clock_stepped"  # the computer's clock was set while the bench was watched
    BENCH_SILENT = "bench_silent"  # another bench that shares this one's database is not heard of any more


class AlarmState(StrEnum):
    """Alarm states in the words of IEC 62682."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned_unacknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out_of_service"


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing raised, once for one cast (a top-up once for one filling, a fault of the bench once a time).

    `alert_id` is the cast's id and the kind, so that the same alert can never be raised twice. `cast_id` and
    `mould` are empty where it concerns the whole bench. `shelved_until_s` stays when the time is over: from
    then on the call counts anew. `step` is the loudest step of escalation that it was called with.
    """

    alert_id: str
    kind: Kind
    mould: str
    cast_id: str
    at_s: float
    at: datetime
    state: AlarmState = AlarmState.UNACKNOWLEDGED
    acked_at: datetime | None = None
    shelved_until_s: float | None = None
    why: str = ""
    due_s: float | None = None  # when the mould is to be tipped, or topped up
    wall_mm: float | None = None
    step: int = 0


class Why(StrEnum):
    """Why a notice goes out."""

    FIRST = "first"
    AGAIN = "again"
    CLEARED = "cleared"


@dataclass(frozen=True, slots=True)
class Notice:
    """A message to be sent about one alert."""

    alert: Alert
    why: Why
    step: int = 0  # 0: first call; 1, 2 ...: louder calls after nobody answered
