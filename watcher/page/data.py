"""The page as data: the bench, one mould, curves and events as JSON."""

from __future__ import annotations

from fastapi import APIRouter

from watcher.page.curves import CurveShelf
from watcher.page.moments import at_second, iso, iso_or_none
from watcher.page.port import BenchPort, PastCast
from watcher.page.refusals import GET_REFUSALS, PageRefusal
from watcher.page.shapes import (
    BenchShape,
    CurvesShape,
    EventShape,
    EventsShape,
    FillingShape,
    MouldPageShape,
    PastShape,
    ReadingShape,
)
from watcher.page.views import BenchViews, mould_view
from watcher.records.bench import Bench, BenchEvent, Cast


def data_routes(port: BenchPort, views: BenchViews, curves: CurveShelf) -> APIRouter:
    """Return the routes that answer JSON."""
    router = APIRouter(responses=GET_REFUSALS)

    @router.get("/bench.json", summary="The whole bench now")
    def bench_json() -> BenchShape:
        return views.dict()

    @router.get("/curves.json", summary="A curve for each mould under cast")
    def curves_json() -> CurvesShape:
        return curves.all(port.bench())

    @router.get("/events.json", summary="What happened in this session")
    def events_json() -> EventsShape:
        return {"events": [_event(event) for event in port.events("")]}

    @router.get("/mould/{name:path}.json", summary="One mould: series, curve, events, earlier casts")
    def mould_json(name: str) -> MouldPageShape:
        return mould_page_view(name, port, curves)

    return router


def mould_page_view(name: str, port: BenchPort, curves: CurveShelf) -> MouldPageShape:
    """Return the dict of one mould's page; PageRefusal 404 if it is not on this bench."""
    bench = port.bench()
    names = [placed.name for placed in bench.layout.moulds]
    if name not in names:
        raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench")
    number = names.index(name) + 1
    state = bench.moulds.get(name)
    cast = state.cast if state else None
    return {
        "now": iso(port.now()),
        "bench_id": bench.bench_id,
        "zone": port.zone,
        "mould": mould_view(bench, bench.layout.moulds[number - 1], number),
        "readings": _readings(bench, cast),
        "fillings": _fillings(bench, cast),
        "curve": curves.of(bench, name),
        "events": [_event(event) for event in port.events(name)],
        "history": [_past(past) for past in port.history(name)],
    }


def _readings(bench: Bench, cast: Cast | None) -> list[ReadingShape]:
    return [
        {
            "at": at_second(bench, reading.at_s),
            "level_mm": round(reading.level_mm, 3),
            "sigma_mm": round(reading.sigma_mm, 3),
        }
        for filling in (cast.fillings if cast else ())
        for reading in filling.readings
    ]


def _fillings(bench: Bench, cast: Cast | None) -> list[FillingShape]:
    return [
        {
            "kind": filling.kind.value,
            "earliest": at_second(bench, filling.earliest_s),
            "latest": at_second(bench, filling.latest_s),
        }
        for filling in (cast.fillings if cast else ())
    ]


def _event(event: BenchEvent) -> EventShape:
    return {"mould": event.mould, "event": event.event, "at": iso(event.at), "detail": event.detail}


def _past(past: PastCast) -> PastShape:
    return {
        "cast": past.cast_id,
        "began_at": iso(past.began_at),
        "tipped_at": iso_or_none(past.tipped_at),
        "minutes": past.minutes,
        "drop_mm": past.drop_at_tip_mm,
        "drop_sigma_mm": past.drop_sigma_mm,
        "wall_mm": past.wall_at_tip_mm,
        "verdict": past.verdict,
    }
