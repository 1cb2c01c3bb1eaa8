"""What looking costs: drawn benches, decoded, looked at and taken in, one after the other in one thread."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import get_clock_info, perf_counter, process_time

import cv2
import numpy as np

from models.slip import Slip
from watcher.commands.prove_drawn import CAST_S, EMPTY_S, POUR_S, benches_to_time, long_day
from watcher.commands.prove_recording import took
from watcher.pipeline import advance, look, new_bench
from watcher.proof.results import LongRun, SpeedRow
from watcher.records.bench import Bench
from watcher.records.frames import Frame, Image
from watcher.records.said import Tick
from watcher.simulator.bench import SimBench
from watcher.simulator.scene import Scene
from watcher.vision.memory import Eyes

QUALITY = 88
EVERY_S = 15.0
AT_REST = 40
"""So many frames are timed once every mould is full: twice the looks between two searches for tags."""
DAY_EVERY_S = 5.0
PARTS = 20
"""A long run is told in so many parts."""
FINE_S = 1e-5
seconds = process_time if get_clock_info("process_time").resolution < FINE_S else perf_counter
"""Processor time, which other work on the machine hardly bends; where it is counted coarsely, the clock's."""
STARTED = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)


class _Timed:
    """A drawn bench under the very functions that watch a live one, each timed."""

    def __init__(self, drawn: SimBench) -> None:
        self.scene = Scene(drawn)
        self.bench: Bench = new_bench(
            drawn.layout(), Slip(drawn.specific_gravity, drawn.cake_solids_fraction), bench_id="drawn"
        )
        self.eyes: Eyes | None = None
        self.decode_s: list[float] = []
        self.look_s: list[float] = []
        self.advance_s: list[float] = []
        self.casts = 0
        self._before_s: float | None = None

    def take(self, at_s: float) -> None:
        """Draw and encode a picture, then decode it, look at it and take it in."""
        jpeg = cv2.imencode(".jpg", self.scene.picture(at_s), [cv2.IMWRITE_JPEG_QUALITY, QUALITY])[1]
        began = seconds()
        image: Image = np.asarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR), dtype=np.uint8)
        decoded = seconds()
        image.flags.writeable = False
        at = STARTED + timedelta(seconds=at_s)
        sighting, self.eyes = look(Frame("drawn", image, at_s, at), self.bench, self.eyes)
        looked = seconds()
        self._tick(at_s)
        step = advance(self.bench, sighting)
        self.bench = step.bench
        self.casts += sum(event.event == "filled" for event in step.events)
        self.decode_s.append(decoded - began)
        self.look_s.append(looked - decoded)
        self.advance_s.append(seconds() - looked)

    def _tick(self, at_s: float) -> None:
        """Let every second between two pictures pass, as it does when a recording is replayed."""
        if self._before_s is not None:
            for second in range(int(self._before_s) + 1, int(at_s) + 1):
                self.bench = advance(
                    self.bench, Tick(float(second), STARTED + timedelta(seconds=second))
                ).bench
        self._before_s = at_s

    def found(self) -> int:
        """Count the moulds whose hole was looked into in the last picture."""
        assert self.eyes is not None
        return sum(bool(memory.plans) for memory in self.eyes.moulds.values())


def time_benches(advanced: Callable[[], None] = lambda: None) -> tuple[SpeedRow, ...]:
    """Time the looks at every bench of `benches_to_time`, at rest."""
    with _one_thread():
        return tuple(_row(drawn, advanced) for drawn in benches_to_time())


def time_long_run(frames: int, advanced: Callable[[], None] = lambda: None) -> LongRun:
    """Take in so many frames, five seconds apart, of a bench that casts all day."""
    run = _Timed(long_day(frames * DAY_EVERY_S))
    memory: list[tuple[float, float]] = []
    costs: list[tuple[float, float]] = []
    part = max(1, frames // PARTS)
    with _one_thread():
        for n in range(frames):
            run.take(n * DAY_EVERY_S)
            advanced()
            if (n + 1) % part == 0:
                memory += [(float(n + 1), mb) for mb in (resident_mb("self"),) if mb is not None]
                sums = [
                    sum(times[n + 1 - part : n + 1]) for times in (run.decode_s, run.look_s, run.advance_s)
                ]
                costs.append((n + 1 - part / 2.0, 1e3 * sum(sums) / part))
    cycle = math.ceil((POUR_S + CAST_S + EMPTY_S) / DAY_EVERY_S)
    whole_s = sum(run.decode_s) + sum(run.look_s) + sum(run.advance_s)
    return LongRun(frames, len(run.bench.moulds), run.casts, cycle, whole_s, tuple(memory), tuple(costs))


def resident_mb(process: str) -> float | None:
    """Resident memory of a process, by its number or "self"; None where the system tells none. [MB]."""
    try:
        lines = Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    return next((float(line.split()[1]) / 1024.0 for line in lines if line.startswith("VmRSS:")), None)


def worked_s(process: str) -> float | None:
    """Processor time that a process has used; None where the system tells none. [s]."""
    try:
        told = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
        return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")
    except (OSError, AttributeError):
        return None


def _row(drawn: SimBench, advanced: Callable[[], None]) -> SpeedRow:
    timed = _Timed(drawn)
    full_s = max(cast.filled_s for mould in drawn.moulds for cast in mould.casts)
    first = int(full_s / EVERY_S) + 3
    for n in range(first + AT_REST):
        timed.take(n * EVERY_S)
    advanced()
    decode, look_, advance_ = (took(t[first:]) for t in (timed.decode_s, timed.look_s, timed.advance_s))
    assert decode is not None and look_ is not None and advance_ is not None
    lens = drawn.view.lens
    return SpeedRow(
        lens.width_px,
        lens.height_px,
        len(drawn.moulds),
        timed.found(),
        decode,
        look_,
        advance_,
        1e3 * timed.look_s[0],
    )


@contextmanager
def _one_thread() -> Iterator[None]:
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        yield
    finally:
        cv2.setNumThreads(before)
