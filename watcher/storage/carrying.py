"""Carry rows of one bench from its own journal into the shared database."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Table, delete, select
from sqlalchemy.dialects.postgresql import insert
from sqlalchemy.exc import IntegrityError

from watcher.records.letters import LetterState
from watcher.storage.awaiting import CARRIED, Noted
from watcher.storage.claims import arrive
from watcher.storage.known import Row
from watcher.storage.schema import BENCHES, MOULDS, OUTBOX
from watcher.storage.schema_shared import HOLDS, HOMES
from watcher.storage.server_clock import NOW_US

_TABLES: Mapping[str, Table[Any]] = {table.name: table for table in CARRIED}
_SEQS_AT_ONCE = 500


class AnotherHome(OSError):
    """Another memory already writes this bench's rows. The message is a plain sentence."""


@dataclass(frozen=True, slots=True)
class Load:
    """Rows as they stand in the journal now: to be put, and numbers of those that are gone, by table."""

    rows: Mapping[str, Sequence[Row]]
    gone: Mapping[str, Sequence[int]]


@dataclass(frozen=True, slots=True)
class Sender:
    """Whose rows they are: the bench, its memory's name, where its page is, when it wants to be missed."""

    bench_id: str
    home_id: str
    page: str = ""
    hours: str = ""
    zone: str = "UTC"


def load(journal: Connection, bench_id: str, noted: Sequence[Noted]) -> Load:
    """Read the noted rows out of the journal, all of one moment."""
    rows: dict[str, list[Row]] = {}
    gone: dict[str, list[int]] = {}
    journal.exec_driver_sql("BEGIN")
    for name, group in groupby(sorted(noted, key=lambda one: one.table), key=lambda one: one.table):
        table, seqs = _TABLES[name], [one.seq for one in group]
        if table is BENCHES:
            query = select(table).where(table.c.bench_id == bench_id)
            rows[name] = [dict(row._mapping) for row in journal.execute(query)]
            continue
        found: dict[int, Row] = {}
        for some in _parts(seqs):
            query = select(table).where(table.c.bench_id == bench_id, table.c.seq.in_(some))
            found.update({row.seq: dict(row._mapping) for row in journal.execute(query)})
        rows[name] = list(found.values())
        gone[name] = [seq for seq in seqs if seq not in found]
    return Load(rows, gone)


def carry(shared: Connection, sender: Sender, given: Load) -> tuple[str, ...]:
    """Put a load into the shared database; doing so twice changes nothing.

    Returns
    -------
    tuple of str
        Moulds whose cast cannot be held, for another bench casts in a mould of that name.

    Raises
    ------
    AnotherHome
        The bench's rows come from elsewhere.
    """
    be_heard(shared, sender)
    for table in reversed(CARRIED):
        for some in _parts(given.gone.get(table.name, ())):
            own = table.c
            shared.execute(delete(table).where(own.bench_id == sender.bench_id, own.seq.in_(some)))
    for table in CARRIED:
        put(shared, table, given.rows.get(table.name, ()))
    letters = [(row["seq"], LetterState(row["state"])) for row in given.rows.get(OUTBOX.name, ())]
    arrive(shared, sender.bench_id, letters)
    # in one order everywhere, so that two benches never wait for each other
    moulds = sorted(given.rows.get(MOULDS.name, ()), key=lambda row: str(row["name"]))
    return tuple(row["name"] for row in moulds if not _hold(shared, row))


def be_heard(shared: Connection, sender: Sender, *, gone: bool = False) -> None:
    """Say that this bench is there (or is shut down now), and the only one of its name."""
    own = HOMES.c
    told = {"page": sender.page, "hours": sender.hours, "zone": sender.zone, "gone": gone}
    heard = insert(HOMES).values(bench_id=sender.bench_id, home_id=sender.home_id, **told, heard_at=NOW_US)
    statement = heard.on_conflict_do_update(
        index_elements=["bench_id"],
        set_={"heard_at": NOW_US, **told},
        where=own.home_id == sender.home_id,
    ).returning(own.home_id)
    if shared.execute(statement).scalar() is None:
        raise AnotherHome(
            f"another computer already calls its bench {sender.bench_id}: give this one another name"
            " ([bench] name), or let it take that bench's place with `tipbell share`"
        )


def put(shared: Connection, table: Table[Any], rows: Sequence[Row]) -> None:
    """Put rows in, or bring those that are there up to date."""
    if not rows:
        return
    keys = [column.name for column in table.primary_key]
    statement = insert(table)
    changed = {name: statement.excluded[name] for name in table.c.keys() if name not in keys}
    shared.execute(statement.on_conflict_do_update(index_elements=keys, set_=changed), list(rows))


def _hold(shared: Connection, mould: Row) -> bool:
    """Note that the bench casts in this mould, or that it does no longer; False: another bench does."""
    row = {
        "bench_id": mould["bench_id"],
        "seq": mould["seq"],
        "mould": mould["name"],
        "cast_id": mould["cast_id"] or "",
    }
    try:
        with shared.begin_nested():
            put(shared, HOLDS, [row])
    except IntegrityError:
        return False
    return True


def _parts(seqs: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(seqs), _SEQS_AT_ONCE):
        yield seqs[start : start + _SEQS_AT_ONCE]
