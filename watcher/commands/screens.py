"""`tipbell screens`: pictures of the page as it is, while a recording plays."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from math import floor
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING
from urllib.parse import quote

from watcher.camera.recording import Recording, read_recording
from watcher.commands.refused import Refused
from watcher.desk.memory import BenchMemory
from watcher.page.app import make_app
from watcher.pipeline import new_bench
from watcher.service.playing import moment_s
from watcher.service.running import RunningBench
from watcher.service.web import Web
from watcher.storage.crops import Crops
from watcher.storage.journal import open_journal

if TYPE_CHECKING:
    from playwright.sync_api import Page

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SETTLE_MS = 1500
"""So long the page is left alone before its picture is taken: picture and curves come after the text."""
QUALITY = 82
JUST_AFTER_S = 2.0
"""The page is shown so long after the last picture before the moment asked for. [s]"""


@dataclass(frozen=True, slots=True)
class _Shot:
    """One picture: its file, the page's path ("{mould}": the one shown), its size, dark, the whole page."""

    file: str
    path: str
    width_px: int
    height_px: int
    dark: bool = False
    whole: bool = False


SHOTS = (
    _Shot("page.jpg", "", 1440, 900, whole=True),
    _Shot("phone.jpg", "", 390, 844),
    _Shot("mould.jpg", "mould/{mould}", 1280, 800, whole=True),
    _Shot("dark.jpg", "", 390, 844, dark=True),
)


def screens(recording: Path, out: Path, *, at_s: float) -> None:
    """Play a recording up to a moment, serve the page, and take its pictures.

    Parameters
    ----------
    recording : Path
    out : Path
        Made if it is not there.
    at_s : float
        Second of the recording that is shown, or just after the last picture before it.

    Raises
    ------
    RecordingError
        The recording cannot be used.
    Refused
        There is no browser, or nothing to drive one with.
    """
    browser = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if browser is None:
        raise Refused("pictures of the page need Chromium; install it and try again")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        raise Refused(
            "pictures of the page need playwright; it comes with the packages of the tests"
        ) from None
    out.mkdir(parents=True, exist_ok=True)
    played = read_recording(recording)
    at_s = max([t for t in played.times_s if t <= at_s], default=played.times_s[0]) + JUST_AFTER_S
    with (
        TemporaryDirectory(prefix="tipbell-screens-") as memory,
        _served(played, at_s, Path(memory)) as (address, mould),
        sync_playwright() as driver,
    ):
        window = driver.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        try:
            for shot in SHOTS:
                page = window.new_page(
                    viewport={"width": shot.width_px, "height": shot.height_px},
                    color_scheme="dark" if shot.dark else "light",
                    locale="en-GB",
                )
                _take(page, address + shot.path.format(mould=quote(mould)), out / shot.file, shot.whole)
                page.close()
        finally:
            window.close()


def _take(page: Page, address: str, file: Path, whole: bool) -> None:
    page.goto(address)
    page.wait_for_timeout(SETTLE_MS)  # the live stream never ends, so there is no quiet to wait for
    page.screenshot(path=str(file), type="jpeg", quality=QUALITY, full_page=whole)
    print(file)


@contextmanager
def _served(played: Recording, at_s: float, folder: Path) -> Iterator[tuple[str, str]]:
    """Serve the page of a bench that stands still at a moment; with its mould that is nearest to its tip."""
    journal = open_journal(f"sqlite:///{folder / 'journal.db'}", played.folder.name)

    def now() -> tuple[float, datetime]:
        return at_s, played.at(at_s)

    running = RunningBench(
        new_bench(played.layout, played.slip, bench_id=played.folder.name), now=now, carry_out=journal.add
    )
    before_s = played.times_s[0] - 1.0
    for given in played.moments():
        if moment_s(given) > at_s:
            break
        _tick(running, played, before_s, moment_s(given))
        running.take(given)
        before_s = moment_s(given)
    _tick(running, played, before_s, at_s)
    memory = BenchMemory(journal, Crops(folder / "crops"), running.zone)
    web = Web(make_app(running, memory=memory))
    try:
        yield web.address, _shown(running)
    finally:
        running.stop()
        web.close()
        journal.close()


def _tick(running: RunningBench, played: Recording, after_s: float, until_s: float) -> None:
    for second in range(floor(after_s) + 1, floor(until_s) + 1):
        running.tick(float(second), played.at(second))


def _shown(running: RunningBench) -> str:
    casting = [state for state in running.bench().moulds.values() if state.cast is not None]
    with_curve = [state for state in casting if state.last_read_s is not None and state.cast is not None]
    oldest = sorted(with_curve, key=lambda state: state.cast.began_s if state.cast is not None else 0.0)
    return oldest[-1].name if oldest else next(iter(running.bench().moulds))
