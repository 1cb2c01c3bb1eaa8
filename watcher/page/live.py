"""The live stream of the bench: the whole present whenever it changes, and a heartbeat in between."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from fastapi import APIRouter
from fastapi.sse import EventSourceResponse, ServerSentEvent

from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import GET_REFUSALS
from watcher.page.views import BenchViews

LOOK_EVERY_S = 0.25
"""How often the stream looks whether the bench changed; an alert is on the page this much later."""

BEAT_EVERY_S = 1.0
"""A page that hears nothing for a few of these knows that the server is dead."""

BACK_AFTER_MS = 1500
"""How long a browser waits before it calls again after a broken stream."""


def live_routes(port: BenchPort, views: BenchViews) -> APIRouter:
    """Return the route of the stream.

    Its events are `bench` (as /bench.json), `beat` ({"now", "still_s"}: seconds of real time for which the
    bench has not moved on, whatever the pace of its own clock) and `end`.
    """
    router = APIRouter()

    @router.get(
        "/live",
        response_class=EventSourceResponse,
        responses={401: GET_REFUSALS[401], 403: GET_REFUSALS[403]},
        summary="The bench as server-sent events",
    )
    async def live() -> AsyncIterator[ServerSentEvent]:
        told = ""
        quiet_s = BEAT_EVERY_S
        present, moved_at = port.bench(), _steady_s()
        while not port.stopping():
            # In a thread: a new picture may have to be made for it.
            newest = await asyncio.to_thread(views.json)
            if port.bench() is not present:
                present, moved_at = port.bench(), _steady_s()
            if newest.key != told:
                told = newest.key
                yield ServerSentEvent(raw_data=newest.text, event="bench", retry=BACK_AFTER_MS)
            if quiet_s >= BEAT_EVERY_S:
                quiet_s = 0.0
                still_s = round(_steady_s() - moved_at, 1)
                yield ServerSentEvent(data={"now": iso(port.now()), "still_s": still_s}, event="beat")
            await asyncio.sleep(LOOK_EVERY_S)
            quiet_s += LOOK_EVERY_S
        yield ServerSentEvent(data={}, event="end")

    return router


def _steady_s() -> float:
    return asyncio.get_running_loop().time()
