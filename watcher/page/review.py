"""Looking back: days and casts, their pictures, how often faults happen, and all of it as tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from fastapi.responses import FileResponse, Response, StreamingResponse
from pydantic import Field

from watcher.desk import tables
from watcher.desk.fault_counts import by_number, count_faults, faults_of
from watcher.desk.local_day import day_of, span_of
from watcher.desk.memory import BenchMemory
from watcher.desk.slip_paper import gravities
from watcher.page.casts import cast_view, past_view
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_REFUSALS, PageRefusal
from watcher.page.shapes_review import CastShape, FaultCountShape, FaultsShape, ReviewShape
from watcher.records.kept import KeptCast
from watcher.storage.crops import safe_name

Day = Annotated[date | None, Query(description="in the bench's zone")]
_JPEG = {200: {"content": {"image/jpeg": {}}, "description": "a JPEG"}, **MEMORY_REFUSALS}
_MP4 = {200: {"content": {"video/mp4": {}}, "description": "an MP4 (H.264)"}, **MEMORY_REFUSALS}
_CSV = {200: {"content": {"text/csv": {}}, "description": "a table, RFC 4180"}, **MEMORY_REFUSALS}
MOST_DAYS = 3660


class TableName(StrEnum):
    """The tables that can be had."""

    CASTS = "casts"
    READINGS = "readings"
    FAULTS = "faults"
    CALLS = "calls"
    SLIPS = "slips"
    PIECES = "pieces"
    RECLAIM = "reclaim"


def review_routes(port: BenchPort, memory: BenchMemory) -> APIRouter:
    """Return the routes of looking back."""
    router = APIRouter(responses=MEMORY_REFUSALS)

    @router.get("/review.json", summary="One day as a row of casts")
    def review(day: Day = None) -> ReviewShape:
        return review_view(port, memory, day)

    @router.get("/cast/{cast_id:path}.json", summary="One cast whole")
    def cast(cast_id: str) -> CastShape:
        return cast_view(port, memory, cast_id)

    @router.get(
        "/crop/{stamp}/{mould:path}.jpg",
        response_class=Response,
        responses=_JPEG,
        summary="One kept picture of a pour hole",
    )
    def crop(stamp: Annotated[int, Field(ge=0, le=4_102_444_800_000)], mould: str) -> Response:
        taken_at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=stamp)
        jpeg = memory.picture(mould, taken_at)
        if jpeg is None:
            raise PageRefusal(404, "no_picture", "this picture is not kept any more")
        # A kept picture never changes: the time-lapse runs from the browser's own store.
        return Response(
            jpeg, media_type="image/jpeg", headers={"cache-control": "private, max-age=86400, immutable"}
        )

    @router.get(
        "/film/{cast_id:path}.mp4",
        response_class=FileResponse,
        responses=_MP4,
        summary="The kept pictures of a cast as one film",
    )
    def film(cast_id: str) -> FileResponse:
        cast = memory.cast(cast_id)
        path = memory.film(cast) if cast is not None else None
        if cast is None or path is None:
            raise PageRefusal(404, "no_film", "there is no film of this cast")
        name = f"{safe_name(cast.mould)}-{cast.began_at.astimezone(ZoneInfo(memory.zone)):%Y-%m-%d-%H%M}.mp4"
        return FileResponse(path, media_type="video/mp4", filename=name)

    @router.get("/faults.json", summary="How often each fault happens")
    def faults(days: Annotated[int, Query(ge=1, le=MOST_DAYS)] = 90) -> FaultsShape:
        return faults_view(port, memory, days)

    @router.get("/csv/{table}.csv", response_class=StreamingResponse, responses=_CSV, summary="A table")
    def table(table: TableName, since: Day = None, until: Day = None) -> StreamingResponse:
        """Give a table; `since` and `until` are days, both included; without them all, of readings a week."""
        today = day_of(port.now(), memory.zone)
        if since is None:
            since = today - timedelta(days=6 if table is TableName.READINGS else MOST_DAYS)
        name = f"tipbell-{table.value}-{today.isoformat()}.csv"
        return StreamingResponse(
            _table(memory, table, since, until or today),
            media_type="text/csv; charset=utf-8",
            headers={"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"},
        )

    return router


def review_view(port: BenchPort, memory: BenchMemory, day: date | None) -> ReviewShape:
    """Return a day's casts; without a day the newest on which something was cast."""
    days = memory.days()
    if day is None:
        day = next(iter(days), day_of(port.now(), memory.zone))
    casts = memory.casts_of(day)
    faults = faults_of(casts, memory.after.findings())
    pieces = {piece.cast_id: piece.number for piece in memory.after.pieces()}
    looked = memory.looked_mm()
    spots = memory.one_spots(casts)
    bench = port.bench()
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "bench_id": bench.bench_id,
        "day": day.isoformat(),
        "days": [{"day": one.isoformat(), "casts": count} for one, count in days.items()],
        "casts": [
            past_view(
                bench,
                cast,
                faults[cast.cast_id],
                looked,
                pieces.get(cast.cast_id),
                spots.get(cast.cast_id),
            )
            for cast in sorted(casts, key=lambda one: one.began_at)
        ],
    }


def faults_view(port: BenchPort, memory: BenchMemory, days: int) -> FaultsShape:
    """Return how often each fault happens, counted some days back."""
    first = day_of(port.now(), memory.zone) - timedelta(days=days - 1)
    casts = memory.casts_of(first, days)
    faults = faults_of(casts, memory.after.findings())
    gravity = gravities(memory)
    known = {cast.cast_id for cast in casts}

    def counted(group_of: Callable[[KeptCast], str]) -> list[FaultCountShape]:
        return [
            {
                "group": one.group,
                "casts": one.casts,
                "with_fault": one.with_fault,
                "counts": {kind.value: count for kind, count in one.counts.items()},
            }
            for one in count_faults(casts, faults, group_of)
        ]

    return {
        "days": days,
        "casts": len(casts),
        "scrapped": sum(piece.scrapped for piece in memory.after.pieces() if piece.cast_id in known),
        "by_mould": counted(lambda cast: cast.mould),
        "by_number": counted(by_number),
        "by_slip": counted(lambda cast: gravity.get(cast.slip_hash, "")),
    }


def _table(memory: BenchMemory, table: TableName, since: date, until: date) -> Iterator[str]:
    if table is TableName.SLIPS:
        yield tables.slip_table(memory)
    elif table is TableName.PIECES:
        yield tables.piece_table(memory)
    elif table is TableName.RECLAIM:
        yield tables.reclaim_table(memory)
    elif table is TableName.CALLS:
        begins, ends = span_of(since, memory.zone)[0], span_of(until, memory.zone)[1]
        yield tables.call_table(memory, begins, ends)
    else:
        casts = memory.casts_of(since, max((until - since).days + 1, 1))
        if table is TableName.FAULTS:
            yield tables.fault_table(memory, casts)
        elif table is TableName.CASTS:
            yield from tables.cast_table(memory, casts)
        else:
            yield from tables.reading_table(memory, casts)
