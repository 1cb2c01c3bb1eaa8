"""`tipbell watch`: watch a bench day and night: camera, page and calls in one process."""

from __future__ import annotations

import logging
import os
import signal
from pathlib import Path
from types import FrameType

from watcher.alerts.senders import UnusableChannel
from watcher.camera.address import AddressError
from watcher.commands.refused import Refused
from watcher.service.assembly import assembled
from watcher.service.logs import keep_log
from watcher.service.running import RunningBench
from watcher.service.watchdog import Watchdog
from watcher.service.watching import watch as go_on_watching
from watcher.settings import Settings, read_settings
from watcher.storage.engine import JournalUnusable


def watch(path: Path) -> None:
    """Watch until stopped.

    Parameters
    ----------
    path : Path
        The settings file.

    Raises
    ------
    SettingsError, RecordingError, Refused
        Each with one sentence for the caster.
    """
    settings = read_settings(path)
    try:
        _log_to(settings)
        with assembled(settings) as parts:
            running = parts.running
            watchdog = Watchdog(os.environ, lambda: running.bench().now_s)
            _stop_on_signal(running)
            print(f"Tipbell watches {settings.bench.name}; the page is at {parts.web.address}", flush=True)
            watchdog.ready(f"Watching {settings.bench.name}; the page is at {parts.web.address}")
            try:
                go_on_watching(parts)
            finally:
                watchdog.stopping()
    except (AddressError, JournalUnusable, UnusableChannel) as fault:
        raise Refused(str(fault)) from None
    print("Tipbell has stopped.", flush=True)


def _log_to(settings: Settings) -> None:
    """Log one line an event, key=value, into files that rotate."""
    keep_log(settings.memory.folder)
    for chatty in ("apscheduler", "alembic"):
        logging.getLogger(chatty).setLevel(logging.WARNING)


def _stop_on_signal(running: RunningBench) -> None:
    def stop(number: int, frame: FrameType | None) -> None:
        running.stop()

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
