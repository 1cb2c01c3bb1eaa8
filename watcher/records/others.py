"""Other benches as one bench sees them in the database that they share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class OtherMould:
    """One mould of another bench, as last written there. A blank (None) is not known.

    `ready_at` is when its wall is or was to be thick enough, with its 80 % range; `wall_mm` belongs to the
    moment `last_read_at` or to the newest forecast after it.
    """

    name: str
    stage: str
    casting: bool
    last_read_at: datetime | None = None
    wall_mm: float | None = None
    ready_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class OtherAlert:
    """A call of another bench that nobody has answered there."""

    alert_id: str
    kind: str
    mould: str
    at: datetime


@dataclass(frozen=True, slots=True)
class OtherBench:
    """Another bench. `silent_s` is how long ago it was heard last, by the shared database's clock [s]."""

    bench_id: str
    page: str
    silent_s: float
    moulds: tuple[OtherMould, ...] = ()
    alerts: tuple[OtherAlert, ...] = ()
