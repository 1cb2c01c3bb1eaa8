"""The single steps of a soak: a picture drawn, a look, the post waited for, the journal asked."""

from __future__ import annotations

from datetime import datetime
from threading import Event
from time import perf_counter

from sqlalchemy import Connection, select

from watcher.commands.soak_truth import Told
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.service.assembly import Assembled
from watcher.simulator.scene import Scene
from watcher.simulator.source import taken_of
from watcher.simulator.working_day import WorkingDay
from watcher.storage.schema import ALERTS, CASTS


class Drawn:
    """A day as pictures."""

    def __init__(self, plan: WorkingDay) -> None:
        self._scene = Scene(plan.bench, plan.faults)

    def look(self, time_s: float, taken_s: float, taken_at: datetime) -> Frame | NoFrame:
        """Return the picture of a moment, or why there is none."""
        return taken_of(self._scene, time_s, taken_s, taken_at)


def look_once(parts: Assembled) -> None:
    """Let the service take what is shown, as a beat of the running one does."""
    given = parts.source.newest()
    parts.running.take(given)
    if isinstance(given, Frame):
        parts.crops.keep(given, parts.running.bench())
    parts.outside.tell()


def post_out(parts: Assembled) -> None:
    """Wait for the post: told seconds pass in no time, in which no letter could leave."""
    outbox = parts.journal.outbox
    if not outbox.waiting():
        return
    parts.journal.write(lambda connection: None)  # letters may leave once they are written
    until, nap = perf_counter() + 10.0, Event()
    while outbox.waiting() and perf_counter() < until:
        nap.wait(0.002)


def in_the_dark(parts: Assembled, now_s: float, now_at: datetime) -> NoFrame:
    """Return what a camera gives at night."""
    return NoFrame(parts.running.bench().layout.camera, now_s, now_at, Blind.BLACK, "night")


def journalled(parts: Assembled, since_s: float) -> tuple[list[Told], list[tuple[str, float, float | None]]]:
    """Return what the journal holds of a shift: alerts, and casts as (mould, began, tipped)."""
    parts.journal.write(lambda connection: None)

    def read(connection: Connection) -> tuple[list[Told], list[tuple[str, float, float | None]]]:
        own = parts.journal.bench_id
        alerts = select(ALERTS).where(ALERTS.c.bench_id == own, ALERTS.c.at_s >= since_s)
        casts = select(CASTS).where(
            CASTS.c.bench_id == own, CASTS.c.began_s >= since_s, CASTS.c.taken_back.is_(False)
        )
        told = [Told(row.mould, row.kind, row.at_s) for row in connection.execute(alerts)]
        return told, [(row.mould, row.began_s, row.tipped_s) for row in connection.execute(casts)]

    return parts.journal.ask(read)
