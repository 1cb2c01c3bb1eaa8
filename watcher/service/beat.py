"""Beats that stand a clock being set: neither an hour's silence nor a flood of what was missed.

The scheduler goes by the clock on the wall. Set back by an hour, it would sleep for that hour, and no mould
would be called; set forward by days (a small computer without a clock of its own does so at its first
contact with the network), it would count every second of them. A `Beat` never counts what was missed, and
`Beats.look_at_the_clock`, called from a thread that does not go by that clock, wakes the scheduler.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_MISSED, JobExecutionEvent
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.base import BaseTrigger

from watcher.service.clock_watch import ClockWatch

_LOG = logging.getLogger(__name__)


class Beat(BaseTrigger):  # type: ignore[misc]
    """Due every so many seconds; a beat that comes late is made up once.

    Parameters
    ----------
    every_s : float
        [s]
    """

    def __init__(self, every_s: float) -> None:
        self._every = timedelta(seconds=every_s)

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime:
        """Return the next moment; always later than now, and never more than one beat later."""
        if previous_fire_time is None:
            return now + self._every
        due = previous_fire_time + self._every
        return due if now < due <= now + self._every else now + self._every


class Beats:
    """What is done again and again, each on its own beat.

    Jobs on one lane share a thread, so that they never run at once; a lane that is slow holds up no other.

    Parameters
    ----------
    clock : ClockWatch
    lanes : tuple of str
        Names of the threads.
    """

    def __init__(self, clock: ClockWatch, lanes: tuple[str, ...]) -> None:
        self._clock = clock
        self._late: dict[str, str] = {}
        self._scheduler = BackgroundScheduler(
            executors={lane: ThreadPoolExecutor(1) for lane in lanes},
            # late by however much: done once, and nothing is dropped because its moment has passed
            job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
            timezone="UTC",
        )
        self._scheduler.add_listener(self._report, EVENT_JOB_ERROR | EVENT_JOB_MISSED)

    def add(
        self, name: str, do: Callable[[], Any], *, every_s: float, lane: str, at_once: bool = False
    ) -> None:
        """Let something be done on a beat.

        Parameters
        ----------
        name : str
            Its fixed name, for the log.
        do : callable
        every_s : float
            [s]
        lane : str
            The thread that it shares.
        at_once : bool
            Due at the start as well: what is rare would else never come on a computer often restarted.
        """
        self._scheduler.add_job(self._guarded(name, do), Beat(every_s), id=name, executor=lane)
        if at_once:
            self._scheduler.add_job(self._guarded(name, do), id=f"{name}-first", executor=lane)

    def start(self) -> None:
        """Begin."""
        self._scheduler.start()

    def stop(self) -> None:
        """End, once what is being done is done."""
        self._scheduler.shutdown(wait=True)

    def look_at_the_clock(self, now: datetime) -> None:
        """Bring every beat in line with a clock that was set; to be called once a second or so."""
        if self._clock.look() != 0.0:
            for job in self._scheduler.get_jobs():
                job.modify(next_run_time=now)

    def trouble(self) -> str:
        """Return a plain sentence while something on a beat fails; empty otherwise."""
        late = dict(self._late)
        return "; ".join(f"{name} fails ({why}): see the log" for name, why in late.items())

    def _guarded(self, name: str, do: Callable[[], Any]) -> Callable[[], None]:
        def run() -> None:
            do()
            self._late.pop(name, None)

        return run

    def _report(self, event: JobExecutionEvent) -> None:
        name = event.job_id.removesuffix("-first")
        if event.exception is not None:
            self._late[name] = type(event.exception).__name__
            _LOG.error("event=beat_failed beat=%s", name, exc_info=event.exception)
        else:
            _LOG.warning("event=beat_missed beat=%s", name)
