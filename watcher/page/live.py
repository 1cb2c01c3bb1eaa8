"""The live stream of the bench: the whole present whenever it changes, and a heartbeat in between."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from fastapi import APIRouter
from fastapi.sse import EventSourceResponse, ServerSentEvent

from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.views import BenchViews

LOOK_EVERY_S = 0.25
"""How often the stream looks whether the bench changed; an alert is on the page this much later."""

BEAT_EVERY_S = 1.0
"""A page that hears nothing for a few of these knows that the server is dead."""

BACK_AFTER_MS = 1500
"""How long a browser waits before it calls again after a broken stream."""


def live_routes(port: BenchPort, views: BenchViews) -> APIRouter:
    """Return the route of the stream. Events: `bench` (as /bench.json), `beat` ({"now"}), `end`."""
    router = APIRouter()

    @router.get("/live", response_class=EventSourceResponse, summary="The bench as server-sent events")
    async def live() -> AsyncIterator[ServerSentEvent]:
        told = ""
        quiet_s = BEAT_EVERY_S
        while not port.stopping():
            newest = views.json()
            if newest.key != told:
                told, quiet_s = newest.key, 0.0
                yield ServerSentEvent(raw_data=newest.text, event="bench", retry=BACK_AFTER_MS)
            elif quiet_s >= BEAT_EVERY_S:
                quiet_s = 0.0
                yield ServerSentEvent(data={"now": iso(port.now())}, event="beat")
            await asyncio.sleep(LOOK_EVERY_S)
            quiet_s += LOOK_EVERY_S
        yield ServerSentEvent(data={}, event="end")

    return router
