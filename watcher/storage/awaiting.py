"""What of a bench's own journal has not been carried to the shared database yet.

The file itself keeps the list: triggers note every row that is written, changed or taken out, in the very
transaction that does so. Nothing is forgotten by a kill or a power cut, and the list is in the order in which
the rows were committed, which their numbers are not: those are taken by several threads beforehand.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from watcher.storage.schema import (
    ALERTS,
    BENCHES,
    CASTS,
    ESTIMATES,
    EVENTS,
    FILLINGS,
    FINDINGS,
    GUESTS,
    MOULDS,
    OUTBOX,
    PAPERS,
    PIECE_STEPS,
    PIECES,
    READINGS,
    SAID,
    STARTS,
    WEIGHINGS,
)
from watcher.storage.schema_told import TOLD

CARRIED = (
    BENCHES, STARTS, MOULDS, PAPERS, CASTS, FILLINGS, READINGS, ESTIMATES, ALERTS, EVENTS, SAID, OUTBOX,
    GUESTS, FINDINGS, PIECES, PIECE_STEPS, WEIGHINGS, TOLD,
)  # fmt: skip
"""Every table of a bench's journal."""

AT_ONCE = 3000
"""Rows that are carried in one transaction at most."""

_BUSY_S = 5.0


@dataclass(frozen=True, slots=True)
class Noted:
    """One row that waits: its place in the list, its table, its number (0 for the bench's own row)."""

    place: int
    table: str
    seq: int


class Awaiting:
    """The list, in the journal's own file.

    Parameters
    ----------
    path : Path
        The journal's file, its schema up to date.
    bench_id : str
    """

    def __init__(self, path: Path, bench_id: str) -> None:
        self._path = path
        self._bench_id = bench_id
        with closing(self._open()) as file, file:
            self.home_id = _prepare(file)

    def first(self) -> tuple[Noted, ...]:
        """Return what has waited longest."""
        with closing(self._open()) as file:
            rows = file.execute(
                "SELECT place, tab, seq FROM awaiting WHERE bench_id = ? ORDER BY place LIMIT ?",
                (self._bench_id, AT_ONCE),
            ).fetchall()
        return tuple(Noted(*row) for row in rows)

    def count(self) -> int:
        """Return how many rows wait."""
        with closing(self._open()) as file:
            found = file.execute("SELECT count(*) FROM awaiting WHERE bench_id = ?", (self._bench_id,))
            return int(found.fetchone()[0])

    def carried(self, noted: Sequence[Noted]) -> None:
        """Strike rows off; one that was written again meanwhile has another place and stays."""
        with closing(self._open()) as file, file:
            file.executemany("DELETE FROM awaiting WHERE place = ?", [(one.place,) for one in noted])

    def everything(self) -> None:
        """Note every row of the bench."""
        with closing(self._open()) as file, file:
            _note_all(file, (table.name for table in CARRIED))

    def _open(self) -> sqlite3.Connection:
        file = sqlite3.connect(self._path, timeout=_BUSY_S)
        # at worst a row is carried twice, which changes nothing
        file.execute("PRAGMA synchronous=NORMAL")
        return file


def _prepare(file: sqlite3.Connection) -> str:
    """Make list and triggers where they are missing; return the name of this memory."""
    file.execute("BEGIN IMMEDIATE")
    file.execute(
        "CREATE TABLE IF NOT EXISTS awaiting (place INTEGER PRIMARY KEY AUTOINCREMENT,"
        " bench_id TEXT NOT NULL, tab TEXT NOT NULL, seq INTEGER NOT NULL, UNIQUE (tab, seq, bench_id))"
    )
    file.execute("CREATE TABLE IF NOT EXISTS awaiting_home (home_id TEXT NOT NULL)")
    found = file.execute("SELECT home_id FROM awaiting_home").fetchone()
    if found is None:
        found = (uuid4().hex,)
        file.execute("INSERT INTO awaiting_home VALUES (?)", found)
    there = {row[0] for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    # a step of the schema that makes a table anew takes its triggers with it
    bare = [table.name for table in CARRIED if f"awaiting_{table.name}_added" not in there]
    for name in bare:
        _watch(file, name)
    _note_all(file, bare)
    return str(found[0])


def _watch(file: sqlite3.Connection, table: str) -> None:
    for kind, when, rows in (
        ("added", "INSERT", ("NEW",)),
        ("changed", "UPDATE", ("OLD", "NEW")),
        ("gone", "DELETE", ("OLD",)),
    ):
        notes = ""
        for row in rows:
            seq = "0" if table == BENCHES.name else f"{row}.seq"
            same = f"tab = '{table}' AND seq = {seq} AND bench_id = {row}.bench_id"
            notes += (
                f" DELETE FROM awaiting WHERE {same};"
                f" INSERT INTO awaiting (bench_id, tab, seq) VALUES ({row}.bench_id, '{table}', {seq});"
            )
        file.execute(
            f"CREATE TRIGGER IF NOT EXISTS awaiting_{table}_{kind} AFTER {when} ON {table} BEGIN{notes} END"
        )


def _note_all(file: sqlite3.Connection, tables: Iterable[str]) -> None:
    for table in tables:
        seq = "0" if table == BENCHES.name else "seq"
        file.execute(
            "INSERT OR IGNORE INTO awaiting (bench_id, tab, seq)"
            f" SELECT bench_id, '{table}', {seq} FROM {table}"
        )
