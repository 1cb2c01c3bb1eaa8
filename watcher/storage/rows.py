"""Carry a draft out on a connection: inserts and changes, many alike at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Table, bindparam, delete, insert, update
from sqlalchemy.dialects.postgresql import insert as postgresql_insert
from sqlalchemy.dialects.sqlite import insert as sqlite_insert

from watcher.storage.known import Drop, Put, Row
from watcher.storage.schema import ALERTS, BENCHES, CASTS, FILLINGS, MOULDS, OUTBOX, READINGS

_OWN_KEYS: dict[str, tuple[str, ...]] = {
    BENCHES.name: ("bench_id",),
    MOULDS.name: ("bench_id", "name"),
    CASTS.name: ("bench_id", "cast_id"),
    FILLINGS.name: ("bench_id", "cast_id", "number"),
    ALERTS.name: ("bench_id", "alert_id"),
    OUTBOX.name: ("bench_id", "seq"),
}
"""By what the row of a thing that may change is found again: its own name, not the number of its row."""


def carry_out(connection: Connection, changes: Sequence[Put | Drop], bench_id: str) -> None:
    """Write changes in their order."""
    for kind, group in groupby(changes, key=_alike):
        if kind is None:
            for drop in group:
                assert isinstance(drop, Drop)
                _drop(connection, bench_id, drop)
        else:
            puts = [put for put in group if isinstance(put, Put)]
            _put(connection, puts[0].table, puts[0].new, [put.row for put in puts])


def _alike(change: Put | Drop) -> tuple[str, bool, tuple[str, ...]] | None:
    if isinstance(change, Drop):
        return None
    return change.table.name, change.new, tuple(change.row)


def _drop(connection: Connection, bench_id: str, drop: Drop) -> None:
    own = READINGS.c
    connection.execute(delete(READINGS).where(own.bench_id == bench_id, own.filling_seq == drop.filling_seq))
    if drop.whole:
        connection.execute(
            delete(FILLINGS).where(FILLINGS.c.bench_id == bench_id, FILLINGS.c.seq == drop.filling_seq)
        )


def _put(connection: Connection, table: Table[Any], new: bool, rows: list[Row]) -> None:
    keys = _OWN_KEYS.get(table.name)
    if not new:
        assert keys is not None
        connection.execute(_update(table, keys, rows[0]), [_renamed(row, keys) for row in rows])
    elif keys is None:
        connection.execute(insert(table), rows)
    else:
        connection.execute(_insert_or_change(connection, table, keys, rows[0]), rows)


def _update(table: Table[Any], keys: Iterable[str], row: Row) -> Any:
    changed: dict[str, Any] = {name: bindparam(name) for name in row if name not in keys and name != "seq"}
    return update(table).where(*(table.c[key] == bindparam(f"own_{key}") for key in keys)).values(changed)


def _renamed(row: Row, keys: tuple[str, ...]) -> Row:
    own = {f"own_{key}": row[key] for key in keys}
    return own | {name: value for name, value in row.items() if name not in keys and name != "seq"}


def _insert_or_change(connection: Connection, table: Table[Any], keys: tuple[str, ...], row: Row) -> Any:
    """Insert; a thing that is there already, though we did not know of it, is brought up to date instead."""
    make = sqlite_insert if connection.dialect.name == "sqlite" else postgresql_insert
    statement = make(table)
    changed = {name: statement.excluded[name] for name in row if name not in keys}
    return statement.on_conflict_do_update(index_elements=list(keys), set_=changed)
