"""Earlier casts as the page shows them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from models.ranged import Z80, Ranged
from watcher.desk.fault_counts import faults_of
from watcher.desk.memory import BenchMemory
from watcher.desk.mould_story import wall_of
from watcher.page.moments import iso, iso_or_none
from watcher.page.port import BenchPort
from watcher.page.ranges import range_shape
from watcher.page.refusals import PageRefusal
from watcher.page.shapes import CurvePoint
from watcher.page.shapes_review import CastShape, PastCastShape, PieceShape
from watcher.page.views import figure
from watcher.records.afterwards import FindingKind, Piece
from watcher.records.bench import Bench
from watcher.records.kept import KeptCast
from watcher.storage.past import Foretold

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def past_view(
    bench: Bench,
    cast: KeptCast,
    faults: frozenset[FindingKind],
    looked_mm: Mapping[str, float],
    piece: int | None,
    one_spot_s: float | None = None,
) -> PastCastShape:
    """Return one earlier cast as a row of its day."""
    full_s = cast.fillings[0].latest_s if cast.fillings else None
    minutes = None if full_s is None or cast.tipped_s is None else (cast.tipped_s - full_s) / 60.0
    target = target_of(bench, cast.mould)
    return {
        "cast": cast.cast_id,
        "mould": cast.mould,
        "number_today": cast.number_today,
        "began_at": iso(cast.began_at),
        "full_at": None if full_s is None else moment_of(cast, full_s),
        "tipped_at": iso_or_none(cast.tipped_at),
        "minutes": figure(minutes, 2),
        "wall": range_shape(wall_of(cast)),
        "target_wall_mm": target[0] if target else None,
        "measured_mm": figure(looked_mm.get(cast.cast_id), 3),
        "verdict": cast.verdict,
        "faults": [kind.value for kind in FindingKind if kind in faults],
        "notes": list(cast.notes),
        "piece": piece,
        "leaking": cast.leaking,
        "one_spot_s": one_spot_s,
    }


def cast_view(port: BenchPort, memory: BenchMemory, cast_id: str) -> CastShape:
    """Return one cast whole; PageRefusal 404 where there is none of that id."""
    cast = memory.cast(cast_id)
    if cast is None:
        raise PageRefusal(404, "no_such_cast", "no cast of that name is remembered")
    bench = port.bench()
    findings = memory.after.findings(cast_id)
    faults = faults_of([cast], findings)[cast_id]
    pieces = memory.after.pieces(cast_id)
    drop = cast.drop_mm
    target = target_of(bench, cast.mould)
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "cast": past_view(
            bench,
            cast,
            faults,
            memory.looked_mm(),
            pieces[0].number if pieces else None,
            memory.one_spots([cast]).get(cast_id),
        ),
        "target_thick_mm": target[1] if target else None,
        "readings": [
            {
                "at": moment_of(cast, reading.at_s),
                "level_mm": round(reading.level_mm, 3),
                "sigma_mm": round(reading.sigma_mm, 3),
            }
            for filling in cast.fillings
            for reading in filling.readings
        ],
        "fillings": [
            {
                "kind": filling.kind.value,
                "earliest": moment_of(cast, filling.earliest_s),
                "latest": moment_of(cast, filling.latest_s),
            }
            for filling in cast.fillings
        ],
        "points": [_point(cast, one) for one in memory.foretold(cast_id) if _before_the_tip(cast, one)],
        "drop": None
        if drop is None
        else range_shape(Ranged(drop[0], drop[0] - Z80 * drop[1], drop[0] + Z80 * drop[1])),
        "events": [
            {
                "mould": cast.mould,
                "event": one.what,
                "at": iso(one.at),
                "detail": _detail(one.value, one.note),
            }
            for one in memory.story(cast)
        ],
        "crops": [
            {"at": iso(kept.taken_at), "stamp": stamp_of(kept.taken_at)}
            for kept in memory.pictures(cast, port.now())
        ],
        "film": memory.film(cast) is not None,
        "findings": [
            {
                "id": one.finding_id,
                "kind": one.kind.value,
                "at": iso(one.at),
                "note": one.note,
                "who": one.who,
            }
            for one in findings
        ],
        "piece": piece_view(pieces[0], faults) if pieces else None,
    }


def piece_view(piece: Piece, faults: frozenset[FindingKind]) -> PieceShape:
    """Return one piece with its steps."""
    return {
        "number": piece.number,
        "cast": piece.cast_id,
        "mould": piece.mould,
        "made_at": iso(piece.made_at),
        "steps": [
            {"step": mark.step.value, "at": iso(mark.at), "cone": mark.cone, "note": mark.note}
            for mark in piece.marks
        ],
        "faults": [kind.value for kind in FindingKind if kind in faults],
    }


def target_of(bench: Bench, mould: str) -> tuple[float, float] | None:
    """Return the wall that is wanted of a mould now; None for one that has none, or that is gone. [mm]."""
    for placed in bench.layout.moulds:
        if placed.name == mould:
            return placed.profile.target_wall_mm
    return None


def moment_of(cast: KeptCast, moment_s: float) -> str:
    """Return the UTC moment of a second of the steady clock, by the cast's own beginning."""
    return iso(cast.began_at + timedelta(seconds=moment_s - cast.began_s))


def stamp_of(taken_at: datetime) -> int:
    """Return a moment as whole milliseconds since 1970."""
    return round((taken_at - _EPOCH) / timedelta(milliseconds=1))


def _before_the_tip(cast: KeptCast, told: Foretold) -> bool:
    return cast.tipped_s is None or told.at_s <= cast.tipped_s


def _point(cast: KeptCast, told: Foretold) -> CurvePoint:
    found = [told.estimate.get(key) for key in ("wall_mm", "wall_low_mm", "wall_high_mm")]
    wall, low, high = (figure(float(one), 3) if isinstance(one, int | float) else None for one in found)
    return {
        "at": moment_of(cast, told.at_s),
        "level_mm": None,
        "level_low_mm": None,
        "level_high_mm": None,
        "wall_mm": wall,
        "wall_low_mm": low,
        "wall_high_mm": high,
    }


def _detail(value: float | None, note: str) -> str:
    return " · ".join(part for part in ("" if value is None else f"{value:g}", note) if part)
