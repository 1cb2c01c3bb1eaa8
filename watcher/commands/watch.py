"""`tipbell watch`: watch a bench day and night: camera, page and calls in one process."""

from __future__ import annotations

import logging
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from watcher.alerts.senders import UnusableChannel
from watcher.camera.address import AddressError
from watcher.clock import ComputerClock
from watcher.commands.refused import Refused
from watcher.service.assembly import assembled
from watcher.service.logs import keep_log
from watcher.service.setting_up_beside import Beside
from watcher.service.setting_up_first import FirstSetup
from watcher.service.watchdog import Watchdog
from watcher.service.watching import watch as go_on_watching
from watcher.settings import PageSettings, Settings, read_settings
from watcher.storage.engine import JournalUnusable


def watch(path: Path, *, port: int | None = None) -> None:
    """Watch until stopped; where there is no bench yet, serve the set-up page first.

    Parameters
    ----------
    path : Path
        The settings file.
    port : int, optional
        Of the page while there are no settings.

    Raises
    ------
    SettingsError, RecordingError, Refused
        Each with one sentence for the caster.
    """
    stopping = _Stopping()
    while not stopping.asked:
        if not path.exists():
            if not _set_up(path, PageSettings().port if port is None else port, stopping):
                break
            continue
        settings = read_settings(path)
        if not settings.bench.file.exists() and not _set_up(path, settings.page.port, stopping):
            break
        try:
            if not _watched(path, settings, stopping):
                break
        except (AddressError, JournalUnusable, UnusableChannel) as fault:
            raise Refused(str(fault)) from None
    print("Tipbell has stopped.", flush=True)


class _Stopping:
    """Whether somebody asked to stop, and what is to be told when they do."""

    def __init__(self) -> None:
        self.asked = False
        self._tell: Callable[[], None] = lambda: None
        signal.signal(signal.SIGINT, self._stop)
        signal.signal(signal.SIGTERM, self._stop)

    def tell(self, stop: Callable[[], None]) -> None:
        self._tell = stop
        if self.asked:
            stop()

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.asked = True
        self._tell()


def _set_up(path: Path, port: int, stopping: _Stopping) -> bool:
    """Serve the set-up page until a bench can be watched."""
    first = FirstSetup(path, port)
    stopping.tell(first.stop)
    watchdog = Watchdog(os.environ, ComputerClock().now_s)

    def told(address: str) -> None:
        line = f"No bench is set up in {path.resolve().parent} yet; set it up at {address}"
        print(line, flush=True)
        watchdog.ready(line)

    try:
        return first.serve(told)
    finally:
        watchdog.close(stopping=stopping.asked)


def _watched(path: Path, settings: Settings, stopping: _Stopping) -> bool:
    """Watch; True: the settings were changed on the page, so everything is to be assembled anew."""
    anew: list[bool] = []
    with _logged_to(settings), assembled(settings, Beside(path, lambda: anew.append(True))) as parts:
        running = parts.running
        watchdog = Watchdog(os.environ, lambda: running.bench().now_s)
        stopping.tell(running.stop)
        print(f"Tipbell watches {settings.bench.name}; the page is at {parts.web.address}", flush=True)
        watchdog.ready(f"Watching {settings.bench.name}; the page is at {parts.web.address}")
        try:
            go_on_watching(parts)
        finally:
            watchdog.close(stopping=stopping.asked)
    return bool(anew) and not stopping.asked


@contextmanager
def _logged_to(settings: Settings) -> Iterator[None]:
    """Log one line an event, key=value, into files that rotate."""
    handler = keep_log(settings.memory.folder)
    for chatty in ("apscheduler", "alembic"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    try:
        yield
    finally:
        logging.getLogger().removeHandler(handler)
        handler.close()
