"""What the desk remembers of a bench: earlier casts with their pictures, what became of them, papers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from watcher.desk.local_day import day_of, span_of
from watcher.records.kept import KeptCast
from watcher.records.notices import Alert
from watcher.storage import past
from watcher.storage.afterwards import Afterwards
from watcher.storage.crops import Crops, Kept
from watcher.storage.journal import Journal
from watcher.storage.papers import Paper, PaperKind
from watcher.storage.telling import Telling

AFTER_THE_TIP = timedelta(minutes=2)
"""Pictures of a cast end so long after its tip: the last ones show it gone."""


class BenchMemory:
    """Everything the pages of review, slip, day and pieces ask. Every method may be called from any thread.

    Whatever cannot be read or written raises JournalFailed with a plain sentence.

    Parameters
    ----------
    journal : Journal
    crops : Crops or None
        Pictures of the pour holes; None: none are kept.
    zone : str
        The bench's time zone.
    """

    def __init__(self, journal: Journal, crops: Crops | None, zone: str) -> None:
        self._journal = journal
        self._crops = crops
        self._bench_id = journal.bench_id
        self.zone = zone
        self.after = Afterwards(journal)
        self.telling = Telling(journal)

    def days(self) -> dict[date, int]:
        """Return every day on which something was cast, the newest first, with its number of casts."""
        found: dict[date, int] = {}
        for began_at in self._journal.ask(lambda connection: past.beginnings(connection, self._bench_id)):
            day = day_of(began_at, self.zone)
            found[day] = found.get(day, 0) + 1
        return found

    def casts_of(self, day: date, days: int = 1, mould: str = "") -> tuple[KeptCast, ...]:
        """Return the casts that began on a day (or some days from it on), newest first, without readings."""
        since, until = span_of(day, self.zone, days)
        return self._journal.ask(
            lambda connection: past.cast_heads(
                connection, self._bench_id, since=since, until=until, mould=mould
            )
        )

    def casts_since(self, since: datetime) -> tuple[KeptCast, ...]:
        """Return the casts that began since a moment, newest first, without readings."""
        return self._journal.ask(lambda connection: past.cast_heads(connection, self._bench_id, since=since))

    def all_casts(self, mould: str = "", limit: int | None = None) -> tuple[KeptCast, ...]:
        """Return the newest casts, of one mould or of all, newest first, without readings."""
        return self._journal.ask(
            lambda connection: past.cast_heads(connection, self._bench_id, mould=mould, limit=limit)
        )

    def newest(self, mould: str, limit: int) -> tuple[KeptCast, ...]:
        """Return the newest casts of a mould with their readings, newest first."""
        return self._journal.casts(mould, limit)

    def cast(self, cast_id: str) -> KeptCast | None:
        """Return one cast with all its readings."""
        return self._journal.ask(lambda connection: past.one_cast(connection, self._bench_id, cast_id))

    def foretold(self, cast_id: str) -> tuple[past.Foretold, ...]:
        """Return what was worked out for a cast, minute by minute."""
        return self._journal.ask(lambda connection: past.foretold(connection, self._bench_id, cast_id))

    def story(self, cast: KeptCast) -> tuple[past.Spoken, ...]:
        """Return what happened to the mould while the cast was in it, and what was said of it, in order."""
        until = (cast.tipped_at or cast.began_at + timedelta(hours=12)) + AFTER_THE_TIP

        def ask(connection: Connection) -> tuple[past.Spoken, ...]:
            found = past.happened(connection, self._bench_id, cast.mould, since=cast.began_at, until=until)
            said = past.spoken(connection, self._bench_id, cast.cast_id)
            return tuple(sorted((*found, *said), key=lambda one: one.at))

        return self._journal.ask(ask)

    def calls(self, since: datetime, until: datetime) -> tuple[Alert, ...]:
        """Return every call raised in a span of time, oldest first."""
        return self._journal.ask(
            lambda connection: past.calls(connection, self._bench_id, since=since, until=until)
        )

    def looked_mm(self) -> dict[str, float]:
        """Return the wall that the caster measured, by the cast's id. [mm]."""
        return self._journal.ask(lambda connection: past.looked_mm(connection, self._bench_id))

    def one_spots(self, casts: Sequence[KeptCast]) -> dict[str, float]:
        """Return for how long a pour's stream fell on one spot, where that was too long, by cast. [s]."""
        return self._journal.ask(lambda connection: past.one_spots(connection, self._bench_id, casts))

    def pictures(self, cast: KeptCast, now: datetime) -> tuple[Kept, ...]:
        """Return the pictures of a cast, oldest first."""
        if self._crops is None:
            return ()
        until = now if cast.tipped_at is None else cast.tipped_at + AFTER_THE_TIP
        return self._crops.pictures(cast.mould, cast.began_at, until)

    def picture(self, mould: str, taken_at: datetime) -> bytes | None:
        """Return one of these pictures as JPEG; None where it is not kept any more."""
        return None if self._crops is None else self._crops.read(mould, taken_at)

    def film(self, cast: KeptCast) -> Path | None:
        """Return a cast's pictures as one film, in H.264; None where there is none (any more)."""
        if self._crops is None or cast.tipped_at is None:
            return None
        return self._crops.film(cast.mould, cast.began_at, cast.tipped_at)

    def papers(self, kind: PaperKind, name: str) -> tuple[Paper, ...]:
        """Return every version of a paper, newest first."""
        return self._journal.versions(kind, name)

    def keep(self, kind: PaperKind, name: str, text: str, *, why: str, at: datetime) -> Paper:
        """Keep a new version of a paper."""
        return self._journal.keep(kind, name, text, why=why, at=at)
