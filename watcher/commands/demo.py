"""`tipbell demo`: play a recording at speed and serve the page."""

from __future__ import annotations

import signal
import threading
import webbrowser
from datetime import datetime
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FrameType

from watcher.alerts.channels import Channel
from watcher.alerts.senders import Senders
from watcher.camera.recording import Recording, read_recording
from watcher.clock import ComputerClock
from watcher.desk.memory import BenchMemory
from watcher.page.app import make_app
from watcher.page.port import PastCast
from watcher.pipeline import new_bench
from watcher.records.bench import Step
from watcher.records.said import Said
from watcher.service.assembly import HISTORY, past_cast
from watcher.service.hole_crops import HoleCrops
from watcher.service.pace import Pace
from watcher.service.playing import play
from watcher.service.running import RunningBench
from watcher.service.telling import Telling
from watcher.service.web import Web
from watcher.storage.crops import Crops
from watcher.storage.journal import Journal, open_journal


def demo(recording: Path, *, port: int, speed: float, browser: bool, notify: tuple[str, ...]) -> None:
    """Play a recording and serve the page until stopped.

    Parameters
    ----------
    recording : Path
        Folder of the recording.
    port : int
        Port of the page; 0 takes a free one.
    speed : float
        Recorded seconds to a real second.
    browser : bool
        Open the page in the computer's browser.
    notify : tuple of str
        Addresses that alerts are sent to as well, as apprise writes them.
    """
    played = read_recording(recording)
    for remark in played.remarks:
        print(remark)
    telling = (
        Telling(Senders([Channel(f"channel {i}", url) for i, url in enumerate(notify, 1)]))
        if notify
        else None
    )
    with TemporaryDirectory(prefix="tipbell-demo-") as folder:  # a played session is forgotten when it ends
        journal = open_journal(f"sqlite:///{folder}/journal.db", played.folder.name)
        try:
            crops = Crops(Path(folder) / "crops")
            _serve(played, recording.name, speed, port, browser, telling, journal, crops)
        finally:
            journal.close()
            if telling is not None:
                telling.close()


def _serve(
    played: Recording,
    name: str,
    speed: float,
    port: int,
    browser: bool,
    telling: Telling | None,
    journal: Journal,
    crops: Crops,
) -> None:
    """Play a recording behind the page until it is stopped."""
    running, pace = _running(played, speed, telling, journal)
    web = Web(make_app(running, memory=BenchMemory(journal, crops, running.zone)), port=port)
    print(f"Tipbell shows {name} at {web.address}  ({speed:g} times as fast as it was)", flush=True)
    print("Stop with Ctrl-C.", flush=True)
    _stop_on_signal(running)
    if browser:
        threading.Timer(0.5, webbrowser.open, (web.address,)).start()
    try:
        play(running, played.moments(), pace, HoleCrops(crops))
    finally:
        running.stop()
        web.close()


def _running(
    played: Recording, speed: float, telling: Telling | None, journal: Journal
) -> tuple[RunningBench, Pace]:
    """Put the recording's bench on a clock of its own."""
    times_s = played.times_s
    pace = Pace(ComputerClock(), played.started_at, first_s=times_s[0] - 1.0, last_s=times_s[-1], speed=speed)

    def now() -> tuple[float, datetime]:
        return pace.now_s(), pace.at(pace.now_s())

    def carry_out(step: Step, said: Said | None) -> None:
        journal.add(step, said)
        if telling is not None:
            telling.tell(step.to_send, step.bench)

    bench = new_bench(played.layout, played.slip, bench_id=played.folder.name)
    history = partial(_history, journal)
    return RunningBench(bench, now=now, carry_out=carry_out, history=history), pace


def _history(journal: Journal, mould: str) -> tuple[PastCast, ...]:
    return tuple(map(past_cast, journal.casts(mould, HISTORY)))


def _stop_on_signal(running: RunningBench) -> None:
    def stop(number: int, frame: FrameType | None) -> None:
        running.stop()

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
