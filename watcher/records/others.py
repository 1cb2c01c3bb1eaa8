"""Other benches as one bench sees them in the database that they share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from watcher.records.said import What


@dataclass(frozen=True, slots=True)
class OtherMould:
    """One mould of another bench, as last written there. A blank (None) is not known.

    `casting`: slip stands in it, or is being poured. `ready_at` is when its wall is or was to be thick
    enough; `wall_mm` belongs to the moment `last_read_at` or to the newest forecast after it.
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
    """Another bench.

    `silent_s` is how long ago it was heard last, by the shared database's clock [s], `heard_at` when. `gone`:
    it was shut down then. `hours` is the span of its day (by the clock of its `zone`) in which it wants to be
    missed even with nothing cast; empty: none.
    """

    bench_id: str
    page: str
    silent_s: float
    heard_at: datetime
    moulds: tuple[OtherMould, ...] = ()
    alerts: tuple[OtherAlert, ...] = ()
    gone: bool = False
    hours: str = ""
    zone: str = "UTC"


@dataclass(frozen=True, slots=True)
class OtherWord:
    """What was said from here to another bench; `answer` says why it was not taken in, where it was not."""

    bench_id: str
    mould: str
    what: What
    said_at: datetime
    taken: bool
    answer: str = ""
