"""The day's summary: one letter in the evening about the day's casts, once however often restarted."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from watcher.alerts.senders import Senders
from watcher.clock import Clock
from watcher.desk.local_day import span_of
from watcher.desk.memory import BenchMemory
from watcher.records.kept import KeptCast
from watcher.records.letters import Letter, Urgency
from watcher.records.notices import Alert, Kind
from watcher.storage.journal import Journal
from watcher.storage.outbox import announced_since
from watcher.storage.writer import JournalFailed

_LOG = logging.getLogger(__name__)
LOOK_BACK_S = 3.0 * 86_400.0
"""Letters are looked through so far back for a summary that was sent already. [s]"""


class DaySummary:
    """Writes the letter when its time has come, or at the next start after that.

    Parameters
    ----------
    journal : Journal
    memory : BenchMemory
        What the day brought.
    senders : Senders
        It goes to the channels of the first step.
    clock : Clock
    at : time or None
        Time of day on the bench's wall; None: there is no summary.
    """

    def __init__(
        self, journal: Journal, memory: BenchMemory, senders: Senders, clock: Clock, at: time | None
    ) -> None:
        self._journal = journal
        self._memory = memory
        self._senders = senders
        self._clock = clock
        self._at = at
        self._done: date | None = None

    def do(self) -> None:
        """Look whether it is time, and do it. May be called at any time and as often as one likes."""
        if self._at is None or not self._senders.for_step(0):
            return
        day = _due_day(self._clock.now_at(), self._memory.zone, self._at)
        if day == self._done:
            return
        try:
            self._write(day)
        except JournalFailed as fault:
            _LOG.warning("event=summary_waits why=%r", str(fault))
            return
        self._done = day

    def _write(self, day: date) -> None:
        mark = f"summary/{day.isoformat()}"
        now_s, now = self._clock.now_s(), self._clock.now_at()
        bench_id = self._journal.bench_id
        sent = self._journal.ask(lambda c: announced_since(c, bench_id, now_s - LOOK_BACK_S))
        casts = self._memory.casts_of(day)
        if mark in sent or not casts:
            return
        since, until = span_of(day, self._memory.zone)
        text = summary_text(day, casts, self._memory.calls(since, until))
        # one put is one transaction: the letters themselves are the record that the day is done
        self._journal.outbox.put(
            [
                Letter(name, f"The day: {len(casts)} casts", text, now_s, now, (mark,), Urgency.QUIET)
                for name in self._senders.for_step(0)
            ]
        )
        _LOG.info("event=summary day=%s casts=%d", day, len(casts))


def summary_text(day: date, casts: Sequence[KeptCast], calls: Sequence[Alert]) -> str:
    """Return what a day brought: casts, how many were tipped in time, and how often the bench was not seen.

    Parameters
    ----------
    day : date
    casts : sequence of KeptCast
        Those that began on the day.
    calls : sequence of Alert
        Every alert of the day.
    """
    ends = Counter(end_of(cast) for cast in casts)
    named = [
        ("in time", "tipped in time"),
        ("early", "earlier than called for"),
        ("late", "past the thick end"),
        ("open", "still open, or its tip not seen"),
        ("unknown", "without a time to go by"),
    ]
    words = "; ".join(f"{ends[key]} {said}" for key, said in named if ends[key])
    kinds = Counter(alert.kind for alert in calls)
    unseen = kinds[Kind.BLIND]
    lines = [f"{day:%A} {day.day} {day:%B}: {len(casts)} casts: {words}."]
    if unseen or kinds[Kind.CAMERA_BLIND]:
        lines.append(
            f"Not read for some minutes: {unseen} casts; camera without a picture:"
            f" {kinds[Kind.CAMERA_BLIND]} times."
        )
    moulds = Counter(cast.mould for cast in casts)
    lines.append(", ".join(f"{mould} {count}" for mould, count in sorted(moulds.items())) + ".")
    return "\n".join(lines)


def end_of(cast: KeptCast) -> str:
    """Tell how a cast ended against what was worked out for it last: the words of `summary_text`."""
    if cast.tipped_s is None:
        return "open"
    estimate = cast.figures.get("estimate") or {}
    low_s, latest_s = estimate.get("ready_low_s"), estimate.get("latest_s")
    if not isinstance(low_s, int | float):
        return "unknown"
    if cast.tipped_s < low_s:
        return "early"
    if isinstance(latest_s, int | float) and cast.tipped_s > latest_s:
        return "late"
    return "in time"


def _due_day(now: datetime, zone: str, at: time) -> date:
    """Return the newest day whose evening has come."""
    local = now.astimezone(ZoneInfo(zone))
    return local.date() if local.time() >= at else local.date() - timedelta(days=1)
