"""The pages of the caster's desk: review, one cast, slip, day with its printed sheet, pieces."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from models.flow_cups import Cup
from watcher.desk.memory import BenchMemory
from watcher.page.afterwards import pieces_view
from watcher.page.casts import cast_view
from watcher.page.day import Plans
from watcher.page.day_sheet import sheet_lines
from watcher.page.pages import Pages, look_of
from watcher.page.port import BenchPort
from watcher.page.rack import rack_view
from watcher.page.refusals import PageRefusal
from watcher.page.review import faults_view, review_view
from watcher.page.slip import slip_view
from watcher.page.views import BenchViews
from watcher.page.week import week_view

FAULT_DAYS = 90
_SCRIPTS = {
    "review.html": "review.js",
    "cast.html": "cast.js",
    "slip.html": "slip.js",
    "day.html": "day.js",
    "sheet.html": "sheet.js",
    "pieces.html": "pieces.js",
    "missing.html": "missing.js",
}


def desk_pages(port: BenchPort, views: BenchViews, memory: BenchMemory, plans: Plans) -> APIRouter:
    """Return the routes of these pages."""
    router = APIRouter(include_in_schema=False)
    pages = Pages(port, _SCRIPTS, desk=True, remembers=True)

    @router.get("/review")
    def review(request: Request, day: Annotated[date | None, Query()] = None) -> Response:
        return pages.show(
            request,
            "review.html",
            here="review",
            bench=views.dict(),
            review=review_view(port, memory, day),
            week=week_view(port, memory),
            faults=faults_view(port, memory, FAULT_DAYS),
        )

    @router.get("/cast/{cast_id:path}")
    def one_cast(request: Request, cast_id: str) -> Response:
        try:
            seen = cast_view(port, memory, cast_id)
        except PageRefusal:
            return pages.show(request, "missing.html", status=404, bench=views.dict())
        mould = seen["cast"]["mould"]
        others = [
            {"cast": one.cast_id, "began_at": one.began_at.isoformat()}
            for one in memory.all_casts(mould, 30)
            if one.cast_id != cast_id
        ]
        return pages.show(
            request, "cast.html", here="review", name=mould, bench=views.dict(), cast=seen, others=others
        )

    @router.get("/slip")
    def slip(request: Request) -> Response:
        return pages.show(
            request,
            "slip.html",
            here="slip",
            bench=views.dict(),
            slip=slip_view(port, memory),
            shown={"shown_cups": [cup.value for cup in Cup]},
        )

    @router.get("/day")
    def day(request: Request) -> Response:
        return pages.show(
            request, "day.html", here="day", bench=views.dict(), day=plans.now(), rack=rack_view(port, memory)
        )

    @router.get("/day/sheet")
    def sheet(request: Request) -> Response:
        made = plans.now()
        lines = sheet_lines(made, look_of(request)["language"])
        return pages.show(
            request,
            "sheet.html",
            bench=views.dict(),
            shown={"sheet": lines, "day": made, "slip": slip_view(port, memory)},
        )

    @router.get("/pieces")
    def pieces_page(request: Request) -> Response:
        return pages.show(
            request, "pieces.html", here="pieces", bench=views.dict(), pieces=pieces_view(port, memory)
        )

    return router
