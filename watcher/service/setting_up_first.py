"""The first start: no settings yet, so the set-up page is served alone until a bench can be watched."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Event

from watcher.clock import ComputerClock
from watcher.page.access.access import Access
from watcher.page.setup.app import make_setup_app
from watcher.service.setting_up import first_desks
from watcher.service.web import Web


class FirstSetup:
    """The set-up page of a folder without a bench.

    Parameters
    ----------
    settings_path : Path
        Where the settings will be.
    port : int
        Of the page; 0 takes a free one.
    """

    def __init__(self, settings_path: Path, port: int) -> None:
        self._settings_path = settings_path
        self._port = port
        self._over = Event()
        self._ready = False

    def stop(self) -> None:
        """End without a bench."""
        self._over.set()

    def serve(self, told: Callable[[str], None]) -> bool:
        """Serve until a bench can be watched (True) or it is told to stop (False).

        Parameters
        ----------
        told : callable
            Given the page's address once it answers.

        Raises
        ------
        OSError
            The port is taken.
        """
        clock = ComputerClock()
        home = self._settings_path.resolve().parent
        desks = first_desks(self._settings_path, clock, self._begin, port=self._port, roots=(home,))
        try:
            web = Web(make_setup_app(desks, Access(clock, "setup")), port=self._port)
            try:
                told(f"{web.address}setup")
                self._over.wait()
            finally:
                web.close()
        finally:
            desks.camera.close()
        return self._ready

    def _begin(self) -> None:
        self._ready = True
        self._over.set()
