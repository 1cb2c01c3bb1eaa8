"""The day's summary: one letter in the evening about the day's casts, once however often restarted."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from watcher.alerts.letter_words import ENGLISH, LetterWords
from watcher.alerts.senders import Senders
from watcher.clock import Clock
from watcher.records.kept import KeptCast
from watcher.records.letters import Letter, Urgency
from watcher.records.notices import Alert, Kind
from watcher.storage import past
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
    senders : Senders
        It goes to the channels of the first step.
    clock : Clock
    zone : str
        The bench's time zone.
    at : time or None
        Time of day on the bench's wall; None: there is no summary. A day goes from one such time to the next,
        so that what is cast late in the evening is in the next one.
    words : LetterWords
        The language.
    """

    def __init__(
        self,
        journal: Journal,
        senders: Senders,
        clock: Clock,
        zone: str,
        at: time | None,
        words: LetterWords = ENGLISH,
    ) -> None:
        self._words = words
        self._journal = journal
        self._senders = senders
        self._clock = clock
        self._zone = ZoneInfo(zone)
        self._at = at
        self._done: date | None = None

    def do(self) -> None:
        """Look whether it is time, and do it. May be called at any time and as often as one likes."""
        if self._at is None or not self._senders.for_step(0):
            return
        day = _due_day(self._clock.now_at().astimezone(self._zone), self._at)
        if day == self._done:
            return
        try:
            self._write(day, self._at)
        except JournalFailed as fault:
            _LOG.warning("event=summary_waits why=%r", str(fault))
            return
        self._done = day

    def _write(self, day: date, at: time) -> None:
        mark = f"summary/{day.isoformat()}"
        now_s, now = self._clock.now_s(), self._clock.now_at()
        bench_id = self._journal.bench_id
        sent = self._journal.ask(lambda c: announced_since(c, bench_id, now_s - LOOK_BACK_S))
        until = datetime.combine(day, at, self._zone).astimezone(UTC)
        since = datetime.combine(day - timedelta(days=1), at, self._zone).astimezone(UTC)
        casts = self._journal.ask(lambda c: past.cast_heads(c, bench_id, since=since, until=until))
        if mark in sent or not casts:
            return
        calls = self._journal.ask(lambda c: past.calls(c, bench_id, since=since, until=until))
        text = summary_text(day, casts, calls, self._words)
        title = self._words.tell("sum_title", n=len(casts))
        # one put is one transaction: the letters themselves are the record that the day is done
        self._journal.outbox.put(
            [
                Letter(name, title, text, now_s, now, (mark,), Urgency.QUIET)
                for name in self._senders.for_step(0)
            ]
        )
        _LOG.info("event=summary day=%s casts=%d", day, len(casts))


def summary_text(
    day: date, casts: Sequence[KeptCast], calls: Sequence[Alert], words: LetterWords = ENGLISH
) -> str:
    """Return what a day brought: casts, how many were tipped in time, and how often the bench was not seen.

    Parameters
    ----------
    day : date
    casts : sequence of KeptCast
        Those that began on the day.
    calls : sequence of Alert
        Every alert of the day.
    words : LetterWords
        The language.
    """
    ends = Counter(end_of(cast) for cast in casts)
    named = ("in time", "early", "late", "open", "unknown")
    told = [words.tell(f"sum_{end.replace(' ', '_')}", n=ends[end]) for end in named if ends[end]]
    kinds = Counter(alert.kind for alert in calls)
    unseen, blind = kinds[Kind.BLIND], kinds[Kind.CAMERA_BLIND]
    lines = [words.tell("sum_casts", day=words.day(day), n=len(casts), ends="; ".join(told))]
    if unseen or blind:
        lines.append(words.tell("sum_unseen", unseen=unseen, blind=blind))
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


def _due_day(local: datetime, at: time) -> date:
    """Return the newest day whose evening has come."""
    return local.date() if local.time() >= at else local.date() - timedelta(days=1)
