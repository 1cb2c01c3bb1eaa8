"""What a bench remembers as tables for a spreadsheet: casts, readings, faults, calls, slips, pieces."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

from watcher.desk.memory import BenchMemory
from watcher.desk.mould_story import wall_of
from watcher.desk.slip_paper import PAPER_NAME, gravities
from watcher.records.afterwards import PieceStep, ToldKind
from watcher.records.kept import KeptCast
from watcher.storage.csv_cells import Cell, csv_text
from watcher.storage.papers import PaperKind

CAST_COLUMNS = (
    "cast", "mould", "number_today", "poured_at", "full_at", "tipped_at", "minutes", "drop_mm",
    "drop_sigma_mm", "wall_mm", "wall_low_mm", "wall_high_mm", "measured_mm", "verdict", "leaking",
    "slip", "notes", "one_spot_s",
)  # fmt: skip
READING_COLUMNS = ("cast", "mould", "filling", "kind", "at", "level_mm", "sigma_mm", "drift_sigma_mm")
FAULT_COLUMNS = ("cast", "mould", "kind", "noted_at", "note", "who")
CALL_COLUMNS = ("call", "kind", "mould", "cast", "at", "state", "answered_at", "why")
SLIP_COLUMNS = (
    "version", "kept_at", "specific_gravity", "verdict", "measure", "reading", "stirred", "temperature_c",
    "flow_s", "cup", "stood_s", "stood_min", "hash",
)  # fmt: skip
RECLAIM_COLUMNS = ("mould", "cast", "kept_at", "grams", "slip_sg")
PIECE_COLUMNS = ("piece", "mould", "cast", "made_at", "step", "step_at", "cone", "note")


def cast_table(memory: BenchMemory, casts: Sequence[KeptCast]) -> Iterator[str]:
    """Yield casts as CSV, the oldest first."""
    looked_mm, one_spots = memory.looked_mm(), memory.one_spots(casts)
    yield csv_text(CAST_COLUMNS, [])
    for cast in _whole(memory, casts):
        yield csv_text(CAST_COLUMNS, [_cast_row(cast, looked_mm, one_spots)]).partition("\r\n")[2]


def reading_table(memory: BenchMemory, casts: Sequence[KeptCast]) -> Iterator[str]:
    """Yield the readings of casts as CSV, cast by cast, so that a year needs no more memory than a day."""
    yield csv_text(READING_COLUMNS, [])
    for cast in _whole(memory, casts):
        yield csv_text(READING_COLUMNS, _reading_rows(cast)).partition("\r\n")[2]


def fault_table(memory: BenchMemory, casts: Sequence[KeptCast]) -> str:
    """Return what was found on casts as CSV, in the order in which it was noted."""
    moulds = {cast.cast_id: cast.mould for cast in casts}
    rows: list[tuple[Cell, ...]] = [
        (one.cast_id, moulds[one.cast_id], one.kind.value, when(one.at), one.note, one.who)
        for one in memory.after.findings()
        if one.cast_id in moulds
    ]
    return csv_text(FAULT_COLUMNS, rows)


def call_table(memory: BenchMemory, since: datetime, until: datetime) -> str:
    """Return every call of a span of time as CSV."""
    rows: list[tuple[Cell, ...]] = [
        (
            one.alert_id, one.kind.value, one.mould, one.cast_id, when(one.at), one.state.value,
            when(one.acked_at), one.why,
        )
        for one in memory.calls(since, until)
    ]  # fmt: skip
    return csv_text(CALL_COLUMNS, rows)


def slip_table(memory: BenchMemory) -> str:
    """Return every slip that was kept as CSV, the oldest first."""
    rows: list[tuple[Cell, ...]] = []
    for paper in reversed(memory.papers(PaperKind.SLIP, PAPER_NAME)):
        text = tomllib.loads(paper.text)
        measured = text.get("measured", {})
        keys = ("measure", "reading", "stirred", "temperature_c", "flow_s", "cup", "stood_s", "stood_min")
        found = [measured.get(key) for key in keys]
        rows.append(
            (
                paper.version, when(paper.kept_at), text["slip"]["specific_gravity"], paper.why,
                *(str(one) if isinstance(one, bool) else one for one in found), paper.content_hash[:12],
            )
        )  # fmt: skip
    return csv_text(SLIP_COLUMNS, rows)


def piece_table(memory: BenchMemory) -> str:
    """Return every piece with every step as CSV, a line for a step."""
    rows: list[tuple[Cell, ...]] = []
    for piece in memory.after.pieces():
        head = (piece.number, piece.mould, piece.cast_id, when(piece.made_at))
        for mark in piece.marks:
            rows.append((*head, mark.step.value, when(mark.at), mark.cone, mark.note))
        if not piece.marks:
            rows.append((*head, PieceStep.GREENWARE.value, when(piece.made_at), "", ""))
    return csv_text(PIECE_COLUMNS, rows)


def reclaim_table(memory: BenchMemory) -> str:
    """Return spare and trimmings kept for the tank as CSV, in g as wet as they were weighed."""
    told = memory.telling.told("", ToldKind.RECLAIM)
    gravity = gravities(memory)
    slip_of = {cast.cast_id: gravity.get(cast.slip_hash, "") for cast in memory.all_casts()} if told else {}
    rows: list[tuple[Cell, ...]] = [
        (one.mould, one.cast_id, when(one.at), one.amount, slip_of.get(one.cast_id, "")) for one in told
    ]
    return csv_text(RECLAIM_COLUMNS, rows)


def when(moment: datetime | None) -> str | None:
    """Write a moment for a spreadsheet: UTC, ISO 8601, whole seconds."""
    return None if moment is None else moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _cast_row(cast: KeptCast, looked_mm: dict[str, float], one_spots: dict[str, float]) -> tuple[Cell, ...]:
    wall, drop = wall_of(cast), cast.drop_mm
    full_s = cast.fillings[0].latest_s if cast.fillings else None
    full_at = None if full_s is None else cast.began_at + timedelta(seconds=full_s - cast.began_s)
    minutes = None if full_s is None or cast.tipped_s is None else round((cast.tipped_s - full_s) / 60.0, 2)
    return (
        cast.cast_id, cast.mould, cast.number_today, when(cast.began_at), when(full_at), when(cast.tipped_at),
        minutes,
        *(None if drop is None else round(one, 3) for one in (drop or (0.0, 0.0))),
        *((None, None, None) if wall is None else (round(w, 3) for w in (wall.value, wall.low, wall.high))),
        looked_mm.get(cast.cast_id), cast.verdict, "yes" if cast.leaking else "no", cast.slip_hash[:12],
        " / ".join(cast.notes), one_spots.get(cast.cast_id),
    )  # fmt: skip


def _reading_rows(cast: KeptCast) -> list[tuple[Cell, ...]]:
    return [
        (
            cast.cast_id, cast.mould, number, filling.kind.value,
            when(cast.began_at + timedelta(seconds=reading.at_s - cast.began_s)),
            round(reading.level_mm, 3), round(reading.sigma_mm, 3), round(reading.drift_sigma_mm, 3),
        )
        for number, filling in enumerate(cast.fillings, 1)
        for reading in filling.readings
    ]  # fmt: skip


def _whole(memory: BenchMemory, casts: Sequence[KeptCast]) -> Iterator[KeptCast]:
    """Yield casts with their readings, the oldest first, one in memory at a time."""
    for head in sorted(casts, key=lambda cast: cast.began_at):
        cast = memory.cast(head.cast_id)
        if cast is not None:
            yield cast
