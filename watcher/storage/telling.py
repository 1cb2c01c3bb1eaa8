"""What the caster tells of moulds, in the journal."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import insert, select, update

from watcher.records.afterwards import Told, ToldKind
from watcher.storage.journal import Journal
from watcher.storage.schema_told import TOLD


class Telling:
    """Reclaim, unwatched casts and driers of one bench. Every method may be called from any thread.

    Each that writes returns once it is on the disk, and raises JournalFailed where that cannot be.

    Parameters
    ----------
    journal : Journal
    """

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self._bench = journal.bench_id

    def keep(
        self,
        mould: str,
        kind: ToldKind,
        at: datetime,
        amount: float,
        *,
        warmth_c: float | None = None,
        cast_id: str = "",
    ) -> Told:
        """Keep one thing told; units as in `Told`."""
        number = self._journal.next_number()
        row = {
            "bench_id": self._bench,
            "seq": number,
            "changed": number,
            "mould": mould,
            "kind": kind.value,
            "at": at,
            "amount": amount,
            "warmth_c": warmth_c,
            "cast_id": cast_id,
            "taken_back": False,
        }
        self._journal.write(lambda connection: connection.execute(insert(TOLD), row) and None)
        return Told(number, mould, kind, at, amount, warmth_c, cast_id)

    def take_back(self, told_id: int) -> None:
        """Let something told be untold; it stays in the table, marked."""
        change = (
            update(TOLD)
            .where(TOLD.c.bench_id == self._bench, TOLD.c.seq == told_id)
            .values(taken_back=True, changed=self._journal.next_number())
        )
        self._journal.write(lambda connection: connection.execute(change) and None)

    def told(self, mould: str = "", *kinds: ToldKind) -> tuple[Told, ...]:
        """Return what was told of one mould (of all: empty), of some kinds or all, in the order told."""
        where = [TOLD.c.bench_id == self._bench, TOLD.c.taken_back.is_(False)]
        if mould:
            where.append(TOLD.c.mould == mould)
        if kinds:
            where.append(TOLD.c.kind.in_([kind.value for kind in kinds]))
        query = select(TOLD).where(*where).order_by(TOLD.c.seq)
        rows = self._journal.ask(lambda connection: list(connection.execute(query).all()))
        return tuple(
            Told(row.seq, row.mould, ToldKind(row.kind), row.at, row.amount, row.warmth_c, row.cast_id)
            for row in rows
        )
