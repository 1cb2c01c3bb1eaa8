"""Put the whole of a bench's journal into a shared database at once, and compare what lies in both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Table, delete, func, select

from watcher.records.letters import LetterState
from watcher.storage.awaiting import CARRIED, Awaiting
from watcher.storage.carrying import Sender, be_heard, put
from watcher.storage.claims import arrive
from watcher.storage.engine import bring_up_to_date, server_engine
from watcher.storage.journal import Journal
from watcher.storage.schema import OUTBOX
from watcher.storage.schema_shared import CLAIMS, HOLDS, HOMES

_ROWS_AT_ONCE = 5000


@dataclass(frozen=True, slots=True)
class Moved:
    """Rows of each table, in the journal and in the shared database."""

    here: Mapping[str, int]
    there: Mapping[str, int]

    @property
    def whole(self) -> bool:
        """Whether both hold as many of each."""
        return self.here == self.there

    @property
    def rows(self) -> int:
        """How many rows there are in all."""
        return sum(self.there.values())


class NotMoved(OSError):
    """Nothing was changed in the shared database. The message is a plain sentence."""


def move(journal: Journal, url: str, *, instead: bool = False) -> Moved:
    """Put every row of the bench into the shared database, in one transaction, and count on both sides.

    What that database held of this bench before is replaced. Nothing is taken out of the journal.

    Parameters
    ----------
    journal : Journal
        The bench's own, in a file; nobody else writes it.
    url : str
        As `postgresql+psycopg://...`.
    instead : bool
        Take the place of a bench of this name whose rows come from another computer.

    Raises
    ------
    NotMoved
        The counts differ.
    JournalUnusable, AnotherHome
        The database cannot be used, or another computer calls its bench so.
    """
    if journal.path is None:
        raise NotMoved("the bench's memory lies in no file, so there is nothing to move")
    awaiting = Awaiting(journal.path, journal.bench_id)
    waiting = awaiting.first()
    engine = server_engine(url)
    try:
        bring_up_to_date(engine, url)
        with engine.begin() as shared:
            shared.exec_driver_sql("SET LOCAL statement_timeout = 0")
            _clear(shared, journal.bench_id, instead)
            be_heard(shared, Sender(journal.bench_id, awaiting.home_id))
            here = journal.ask(lambda own: _copy(own, shared, journal.bench_id))
            there = {table.name: _count(shared, table, journal.bench_id) for table in CARRIED}
            moved = Moved(here, there)
            if not moved.whole:
                unlike = ", ".join(name for name in here if here[name] != there[name])
                raise NotMoved(f"not all rows arrived ({unlike}); nothing was changed")
    finally:
        engine.dispose()
    while waiting:
        awaiting.carried(waiting)
        waiting = awaiting.first()
    return moved


def _clear(shared: Connection, bench_id: str, instead: bool) -> None:
    for table in (*reversed(CARRIED), CLAIMS, HOLDS):
        shared.execute(delete(table).where(table.c.bench_id == bench_id))
    if instead:
        shared.execute(delete(HOMES).where(HOMES.c.bench_id == bench_id))


def _copy(own: Connection, shared: Connection, bench_id: str) -> dict[str, int]:
    own.exec_driver_sql("BEGIN")
    counts: dict[str, int] = {}
    for table in CARRIED:
        found = own.execute(select(table).where(table.c.bench_id == bench_id))
        counts[table.name] = 0
        while some := [dict(row._mapping) for row in found.fetchmany(_ROWS_AT_ONCE)]:
            put(shared, table, some)
            counts[table.name] += len(some)
            if table is OUTBOX:
                arrive(shared, bench_id, [(row["seq"], LetterState(row["state"])) for row in some])
    return counts


def _count(shared: Connection, table: Table[Any], bench_id: str) -> int:
    found = select(func.count()).select_from(table).where(table.c.bench_id == bench_id)
    return int(shared.execute(found).scalar_one())
