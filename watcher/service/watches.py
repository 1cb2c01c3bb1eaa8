"""What watches the computer that watches the bench: its clock, its disk, its silence in the first days."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

from watcher.clock import WALL_CLOCK_DOUBT_S, Clock
from watcher.records.notices import Kind
from watcher.service.clock_watch import ClockWatch
from watcher.service.disk_watch import DiskWatch
from watcher.settings import Settings


class Watches:
    """Clock and disk, for the troubles on the page and for calls.

    Parameters
    ----------
    settings : Settings
    clock : Clock
    doubt_s : float
        By how much the clock may be wrong against the run before. [s]
    """

    def __init__(self, settings: Settings, clock: Clock, doubt_s: float) -> None:
        self.clock = ClockWatch(clock, max(0.0, doubt_s - WALL_CLOCK_DOUBT_S))
        self._disk = DiskWatch(settings.memory.folder, clock.now_s)
        self._now_at = clock.now_at
        day, zone = settings.calls.silent_until, ZoneInfo(settings.bench.zone)
        self._silent = None if day is None else datetime.combine(day, time(), zone).astimezone(UTC)
        self._silent_why = f"calls are off until {day}: this bench only records" if day is not None else ""

    @property
    def parts(self) -> tuple[Callable[[], str], ...]:
        """What each complains of."""
        return (self._disk.why, self.clock.why, self._silence)

    def faults(self) -> Mapping[Kind, str]:
        """Return what of it is worth a call, with the reason."""
        found = {Kind.DISK_FILLING: self._disk.why(), Kind.CLOCK_STEPPED: self.clock.why()}
        return {kind: why for kind, why in found.items() if why}

    def _silence(self) -> str:
        return self._silent_why if self._silent is not None and self._now_at() < self._silent else ""
