"""Run a recording through the very functions that watch the live bench, one moment after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import floor
from time import perf_counter

from watcher.camera.recording import Recording
from watcher.pipeline import Input, advance, glance, look, new_bench
from watcher.records.bench import Bench, BenchEvent
from watcher.records.frames import Frame, NoFrame
from watcher.records.readings import Sighting
from watcher.records.said import Tick
from watcher.vision.glance import StreamEyes
from watcher.vision.memory import Eyes

TICK_S = 1
"""Between two frames the bench is told the time this often, so that no alarm waits for a picture. [s]"""


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment of the recording after the bench has taken it in.

    Attributes
    ----------
    given : Sighting or NoFrame
        What that moment brought.
    frame : Frame or None
        The picture, where there was one.
    bench : Bench
        The present after it.
    events : tuple of BenchEvent
        What happened since the moment before, in order.
    """

    given: Sighting | NoFrame
    frame: Frame | None
    bench: Bench
    events: tuple[BenchEvent, ...]

    @property
    def at_s(self) -> float:
        """The moment, in seconds of the recording."""
        return self.given.at_s if isinstance(self.given, NoFrame) else self.given.taken_s


def replayed(
    recording: Recording,
    moments: Iterator[Frame | NoFrame | Sighting],
    looked: Callable[[float], None] = lambda seconds: None,
) -> Iterator[Instant]:
    """Play a recording into a new bench; nothing of it is kept but the present.

    Parameters
    ----------
    recording : Recording
    moments : iterator
        What `recording.moments()` yields.
    looked : callable
        Told how long each look at a picture took. [s]

    Yields
    ------
    Instant
        One for each moment; it depends on nothing that lies behind it in the recording.
    """
    bench = new_bench(recording.layout, recording.slip, bench_id=recording.folder.name)
    eyes: Eyes | None = None
    streams = StreamEyes()
    before_s: float | None = None
    given: Sighting | NoFrame
    for moment in moments:
        at_s = moment.at_s if isinstance(moment, NoFrame) else moment.taken_s
        happened: list[BenchEvent] = []
        for tick in _ticks(recording, before_s, at_s):
            bench = _taken(bench, tick, happened)
        frame: Frame | None = None
        if isinstance(moment, Frame):
            frame, began = moment, perf_counter()
            given, eyes = look(moment, bench, eyes)
            looked(perf_counter() - began)
            falls, streams = glance(moment, bench, eyes, streams)
            if falls.streams:
                bench = _taken(bench, falls, happened)
        else:
            given = moment
        bench = _taken(bench, given, happened)
        yield Instant(given, frame, bench, tuple(happened))
        before_s = at_s


def _taken(bench: Bench, given: Input, happened: list[BenchEvent]) -> Bench:
    step = advance(bench, given)
    happened.extend(step.events)
    return step.bench


def _ticks(recording: Recording, before_s: float | None, at_s: float) -> Iterator[Tick]:
    """Every whole second after the moment before, up to this one."""
    if before_s is None:
        return
    for tick_s in range(floor(before_s) + TICK_S, floor(at_s) + 1, TICK_S):
        yield Tick(float(tick_s), recording.at(tick_s))
