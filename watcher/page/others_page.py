"""The page of the other benches."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from watcher.page.others import Others, others_view
from watcher.page.pages import Pages
from watcher.page.port import BenchPort
from watcher.page.views import BenchViews


def others_pages(port: BenchPort, views: BenchViews, others: Others | None, *, remembers: bool) -> APIRouter:
    """Return the route of that page."""
    router = APIRouter(include_in_schema=False)
    pages = Pages(port, {"benches.html": "benches.js"}, remembers=remembers)

    @router.get("/benches")
    def benches(request: Request) -> Response:
        return pages.show(
            request, "benches.html", here="benches", bench=views.dict(), others=others_view(port, others)
        )

    return router
