"""A drawing brought to the page: the one thing that is sent as a file."""

from __future__ import annotations

import asyncio
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.requests import ClientDisconnect

from watcher.page.guard import DRAWING_KIND, DRAWING_PATH, MOST_DRAWING_BYTES
from watcher.page.refusals import REFUSALS, PageRefusal
from watcher.page.setup.answers import or_refuse
from watcher.page.setup.port import SetupPort
from watcher.page.setup.shown import Told
from watcher.page.setup.typed import DrawingTyped
from watcher.page.shapes import ErrorShape

_POSTS: dict[int | str, dict[str, Any]] = {
    **REFUSALS,
    411: {"model": ErrorShape, "description": "of no length"},
    413: {"model": ErrorShape, "description": f"longer than {MOST_DRAWING_BYTES} bytes"},
    415: {"model": ErrorShape, "description": "not sent as a file"},
    503: {
        "model": ErrorShape,
        "description": "another drawing is being read, or it cannot be written down now",
    },
}
_FILE = {"requestBody": {"required": True, "content": {DRAWING_KIND: {"schema": {"type": "string"}}}}}


def drawing_post(port: SetupPort) -> APIRouter:
    """Return the route that takes a mould's STL; one at a time, as each takes much memory."""
    router = APIRouter(responses=_POSTS)
    at_work = asyncio.Lock()

    @router.post(DRAWING_PATH, summary="Take in a mould's drawing, an STL", openapi_extra=_FILE)
    async def drawing(request: Request, typed: Annotated[DrawingTyped, Query()]) -> Told:
        if at_work.locked():
            raise PageRefusal(503, "busy", "another drawing is being read; send this one again in a moment")
        async with at_work:
            try:
                data = await request.body()
            except ClientDisconnect:
                raise PageRefusal(400, "bad_length", "the file did not come as long as it was said") from None
            with or_refuse():
                return await asyncio.to_thread(port.profiles.bring_drawing, typed, data)

    return router
