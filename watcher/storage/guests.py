"""Joined devices in the journal: they are still joined after a restart, and those taken out still are not."""

from __future__ import annotations

from sqlalchemy import delete, insert, select, update

from watcher.records.guests import Guest, Rights
from watcher.storage.journal import Journal
from watcher.storage.schema import GUESTS


class JournalGuests:
    """The joined devices of one bench, in its journal. Every method may be called from any thread.

    Each returns once it is on the disk, and raises JournalFailed where that cannot be.
    """

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self._own = GUESTS.c.bench_id == journal.bench_id

    def guests(self) -> tuple[Guest, ...]:
        """Return all that are joined, in the order in which they came."""
        query = select(GUESTS).where(self._own).order_by(GUESTS.c.seq)
        rows = self._journal.ask(lambda connection: connection.execute(query).all())
        return tuple(
            Guest(row.guest_id, row.name, Rights(row.rights), row.joined_at, row.seen_at, row.key_hash)
            for row in rows
        )

    def add(self, guest: Guest) -> None:
        """Keep a new one."""
        number = self._journal.next_number()
        row = {
            "bench_id": self._journal.bench_id,
            "seq": number,
            "changed": number,
            "guest_id": guest.guest_id,
            "name": guest.name,
            "rights": guest.rights.value,
            "joined_at": guest.joined_at,
            "seen_at": guest.seen_at,
            "key_hash": guest.key_hash,
        }
        self._journal.write(lambda connection: connection.execute(insert(GUESTS), row) and None)

    def seen(self, guest: Guest) -> None:
        """Keep its newest `seen_at`; nothing happens to one that was taken out meanwhile."""
        change = (
            update(GUESTS)
            .where(self._own, GUESTS.c.guest_id == guest.guest_id)
            .values(seen_at=guest.seen_at, changed=self._journal.next_number())
        )
        self._journal.write(lambda connection: connection.execute(change) and None)

    def remove(self, guest_id: str) -> None:
        """Let it go for good."""
        gone = delete(GUESTS).where(self._own, GUESTS.c.guest_id == guest_id)
        self._journal.write(lambda connection: connection.execute(gone) and None)
