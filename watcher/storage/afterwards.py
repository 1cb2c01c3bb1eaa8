"""What became of casts, in the journal: findings, pieces with their numbers, moulds on the scale."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select, update

from watcher.records.afterwards import Finding, FindingKind, MouldWeighed, Piece, PieceMark, PieceStep
from watcher.storage.journal import Journal
from watcher.storage.schema import FINDINGS, PIECE_STEPS, PIECES, WEIGHINGS


class Afterwards:
    """What became of the casts of one bench. Every method may be called from any thread.

    Each that writes returns once it is on the disk, and raises JournalFailed where that cannot be.

    Parameters
    ----------
    journal : Journal
    """

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self._bench = journal.bench_id

    def find(
        self, cast_id: str, kind: FindingKind, at: datetime, *, note: str = "", who: str = ""
    ) -> Finding:
        """Keep one finding."""
        number = self._journal.next_number()
        finding = Finding(number, cast_id, kind, at, note, who)
        row = {
            **self._own(number),
            "changed": number,
            "cast_id": cast_id,
            "kind": kind.value,
            "at": at,
            "note": note,
            "who": who,
            "taken_back": False,
        }
        self._write(lambda connection: connection.execute(insert(FINDINGS), row))
        return finding

    def take_back(self, finding_id: int) -> None:
        """Let a finding be none; it stays in the tables, marked."""
        change = (
            update(FINDINGS)
            .where(FINDINGS.c.bench_id == self._bench, FINDINGS.c.seq == finding_id)
            .values(taken_back=True, changed=self._journal.next_number())
        )
        self._write(lambda connection: connection.execute(change))

    def findings(self, cast_id: str = "") -> tuple[Finding, ...]:
        """Return what was found on one cast, or on all for an empty id, oldest first."""
        where = [FINDINGS.c.bench_id == self._bench, FINDINGS.c.taken_back.is_(False)]
        if cast_id:
            where.append(FINDINGS.c.cast_id == cast_id)
        rows = self._rows(FINDINGS, *where)
        return tuple(
            Finding(row.seq, row.cast_id, FindingKind(row.kind), row.at, row.note, row.who) for row in rows
        )

    def number_piece(self, cast_id: str, mould: str, at: datetime) -> Piece:
        """Give the piece that came of a cast the next number; the same piece again if it has one."""
        seq = self._journal.next_number()

        def write(connection: Connection) -> int:
            own = PIECES.c
            known = select(own.number).where(own.bench_id == self._bench, own.cast_id == cast_id)
            found = connection.execute(known).scalar()
            if found is not None:
                return int(found)
            newest = select(func.max(own.number)).where(own.bench_id == self._bench)
            number = int(connection.execute(newest).scalar() or 0) + 1
            row = {**self._own(seq), "number": number, "cast_id": cast_id, "mould": mould, "made_at": at}
            connection.execute(insert(PIECES), row)
            return number

        number = self._journal.write(write)
        return next(piece for piece in self.pieces(cast_id) if piece.number == number)

    def mark(self, number: int, mark: PieceMark) -> None:
        """Keep one step of a piece."""
        row = {
            **self._own(self._journal.next_number()),
            "number": number,
            "step": mark.step.value,
            "at": mark.at,
            "cone": mark.cone,
            "note": mark.note,
        }
        self._write(lambda connection: connection.execute(insert(PIECE_STEPS), row))

    def pieces(self, cast_id: str = "") -> tuple[Piece, ...]:
        """Return the piece of one cast, or all for an empty id, by their numbers."""
        where = [PIECES.c.bench_id == self._bench]
        steps = [PIECE_STEPS.c.bench_id == self._bench]
        if cast_id:
            where.append(PIECES.c.cast_id == cast_id)
        rows = self._rows(PIECES, *where)
        if cast_id:
            steps.append(PIECE_STEPS.c.number.in_([row.number for row in rows]))
        marks: dict[int, list[PieceMark]] = {row.number: [] for row in rows}
        for step in self._rows(PIECE_STEPS, *steps):
            if step.number in marks:
                marks[step.number].append(PieceMark(PieceStep(step.step), step.at, step.cone, step.note))
        return tuple(
            Piece(row.number, row.cast_id, row.mould, row.made_at, tuple(marks[row.number]))
            for row in sorted(rows, key=lambda row: int(row.number))
        )

    def weigh(self, mould: str, at: datetime, weight_kg: float) -> None:
        """Keep what a mould weighed."""
        own = self._own(self._journal.next_number())
        row = {**own, "mould": mould, "at": at, "weight_kg": weight_kg}
        self._write(lambda connection: connection.execute(insert(WEIGHINGS), row))

    def weighings(self, mould: str) -> tuple[MouldWeighed, ...]:
        """Return every weighing of a mould, oldest first."""
        own = WEIGHINGS.c
        rows = self._rows(WEIGHINGS, own.bench_id == self._bench, own.mould == mould)
        return tuple(MouldWeighed(row.mould, row.at, row.weight_kg) for row in rows)

    def _own(self, seq: int) -> dict[str, Any]:
        return {"bench_id": self._bench, "seq": seq}

    def _write(self, do: Callable[[Connection], object]) -> None:
        self._journal.write(lambda connection: do(connection) and None)

    def _rows(self, table: Table[Any], *where: Any) -> list[Any]:
        query = select(table).where(*where).order_by(table.c.seq)
        return self._journal.ask(lambda connection: list(connection.execute(query).all()))
