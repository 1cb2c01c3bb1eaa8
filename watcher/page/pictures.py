"""The JPEGs of the page: the bench and each pour hole, never kept by a browser."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from watcher.page.port import BenchPort, Picture
from watcher.page.refusals import GET_REFUSALS, PageRefusal

MOST_BENCH_PICTURE_BYTES = 40_000
"""The bench picture goes to phones once a second or so; a larger one is the service's mistake."""

_JPEG = {200: {"content": {"image/jpeg": {}}, "description": "a JPEG"}, **GET_REFUSALS}


def picture_routes(port: BenchPort) -> APIRouter:
    """Return the routes of the pictures. `?v=` only makes each picture's address its own; it is not read."""
    router = APIRouter()

    @router.get(
        "/picture.jpg", response_class=Response, responses=_JPEG, summary="The newest picture of the bench"
    )
    def bench_picture(v: str = "") -> Response:
        return _answer(port.picture(), "there is no picture of the bench yet")

    @router.get(
        "/hole/{name:path}.jpg",
        response_class=Response,
        responses=_JPEG,
        summary="The newest crop of a mould's pour hole, with the found line",
    )
    def hole_picture(name: str, v: str = "") -> Response:
        if name not in {mould.name for mould in port.bench().layout.moulds}:
            raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench")
        return _answer(port.hole_picture(name), "there is no picture of this pour hole yet")

    return router


def _answer(picture: Picture | None, missing: str) -> Response:
    if picture is None:
        raise PageRefusal(404, "no_picture", missing)
    return Response(picture.jpeg, media_type="image/jpeg", headers={"cache-control": "no-store"})
