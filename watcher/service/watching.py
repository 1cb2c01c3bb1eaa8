"""Watch a bench for as long as it takes: looks and ticks on one thread, at their own beats."""

from __future__ import annotations

import logging

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_MISSED, JobExecutionEvent
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler

from watcher.records.frames import Frame
from watcher.service.assembly import Assembled

log = logging.getLogger(__name__)

TICK_S = 1.0
UPKEEP_H = 1


def watch(parts: Assembled) -> None:
    """Look and tick until told to stop.

    Looks and ticks share a pool of one thread, so there is never a second opinion about the bench; what keeps
    the disk in order has its own, for it may take long. A beat
    that comes late is made up once, not as often as it was missed; one that fails is logged.
    """
    scheduler = BackgroundScheduler(
        executors={"default": ThreadPoolExecutor(1), "upkeep": ThreadPoolExecutor(1)},
        job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
        timezone="UTC",
    )
    beats = _Beats(parts)
    scheduler.add_job(beats.tick, "interval", seconds=TICK_S, id="tick")
    scheduler.add_job(beats.look, "interval", seconds=parts.look_every_s, id="look")
    scheduler.add_job(parts.upkeep.do, "interval", hours=UPKEEP_H, id="upkeep", executor="upkeep")
    scheduler.add_listener(_report, EVENT_JOB_ERROR | EVENT_JOB_MISSED)
    scheduler.start()
    try:
        while not parts.running.wait(60.0):
            pass
    finally:
        scheduler.shutdown(wait=True)


class _Beats:
    """What is done at each beat. The newest frame is looked at once."""

    def __init__(self, parts: Assembled) -> None:
        self._parts = parts
        self._looked_s: float | None = None

    def tick(self) -> None:
        clock = self._parts.clock
        self._parts.running.tick(clock.now_s(), clock.now_at())

    def look(self) -> None:
        given = self._parts.source.newest()
        if isinstance(given, Frame):
            if given.taken_s == self._looked_s:
                return
            self._looked_s = given.taken_s
        self._parts.running.take(given)
        if isinstance(given, Frame):
            self._parts.crops.keep(given, self._parts.running.bench())
        self._parts.outside.tell()


def _report(event: JobExecutionEvent) -> None:
    if event.exception is not None:
        log.error("event=beat_failed beat=%s", event.job_id, exc_info=event.exception)
    else:
        log.warning("event=beat_missed beat=%s", event.job_id)
