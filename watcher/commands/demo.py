"""`tipbell demo`: play a recording at speed and serve the page."""

from __future__ import annotations

import signal
import threading
import webbrowser
from datetime import datetime
from pathlib import Path
from types import FrameType

from watcher.alerts.channels import Channel
from watcher.alerts.senders import Senders
from watcher.camera.recording import Recording, read_recording
from watcher.clock import ComputerClock
from watcher.page.app import make_app
from watcher.pipeline import new_bench
from watcher.records.bench import Step
from watcher.records.said import Said
from watcher.service.pace import Pace
from watcher.service.playing import play
from watcher.service.running import RunningBench
from watcher.service.telling import Telling
from watcher.service.web import Web


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
    running, pace = _running(played, speed, telling)
    web = Web(make_app(running), port=port)
    print(f"Tipbell shows {recording.name} at {web.address}  ({speed:g} times as fast as it was)", flush=True)
    print("Stop with Ctrl-C.", flush=True)
    _stop_on_signal(running)
    if browser:
        threading.Timer(0.5, webbrowser.open, (web.address,)).start()
    try:
        play(running, played.moments(), pace)
    finally:
        running.stop()
        web.close()
        if telling is not None:
            telling.close()


def _running(played: Recording, speed: float, telling: Telling | None) -> tuple[RunningBench, Pace]:
    """Put the recording's bench on a clock of its own."""
    times_s = played.times_s
    pace = Pace(ComputerClock(), played.started_at, first_s=times_s[0] - 1.0, last_s=times_s[-1], speed=speed)

    def now() -> tuple[float, datetime]:
        return pace.now_s(), pace.at(pace.now_s())

    def carry_out(step: Step, said: Said | None) -> None:
        if telling is not None:
            telling.tell(step.to_send, step.bench)

    bench = new_bench(played.layout, played.slip, bench_id=played.folder.name)
    return RunningBench(bench, now=now, carry_out=carry_out), pace


def _stop_on_signal(running: RunningBench) -> None:
    def stop(number: int, frame: FrameType | None) -> None:
        running.stop()

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
