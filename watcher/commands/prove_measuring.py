"""A recording measured for its proof: the very lines of `tipbell measure`, and what is to be drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter

from watcher.camera.recording import Recording
from watcher.camera.recording_rows import PictureRow
from watcher.commands.measure_tables import EVENTS_HEAD, READINGS_HEAD, event_line, reading_lines
from watcher.commands.replaying import Instant, replayed
from watcher.commands.stopwatch import Stopwatch, timed
from watcher.proof.measured_lines import Lines, by_moment, key, line_of
from watcher.proof.truth_tables import Happened
from watcher.records.frames import NoFrame
from watcher.records.readings import Pixels


@dataclass(frozen=True, slots=True)
class Found:
    """What is to be drawn of one mould in one picture: rim and line, (row, col). [px]."""

    rim_rc: Pixels
    line_rc: Pixels


@dataclass(frozen=True, slots=True)
class Measurement:
    """One recording as `tipbell measure` has it.

    Attributes
    ----------
    lines : mapping
        By moment and mould.
    said : tuple of Happened
        Its events.
    found : dict
        What to draw, by moment and mould.
    pictures : dict of float to PictureRow
        The picture of each moment, in hundredths of a second.
    watch : Stopwatch
        What each step took.
    whole_s : float
        Everything from the first file to the last line. [s]
    """

    lines: Lines
    said: tuple[Happened, ...]
    found: dict[tuple[float, str], Found]
    pictures: dict[float, PictureRow]
    watch: Stopwatch
    whole_s: float


def measured(recording: Recording, advanced: Callable[[], None] = lambda: None) -> Measurement:
    """Measure a recording in one thread, with a stopwatch.

    Parameters
    ----------
    recording : Recording
    advanced : callable
        Told after every moment.
    """
    watch = Stopwatch()
    rows: list[dict[str, str]] = []
    said: list[Happened] = []
    found: dict[tuple[float, str], Found] = {}
    began = perf_counter()
    with timed(watch):
        for instant in replayed(recording, recording.moments(watch.decode_s.append), watch.look_s.append):
            for event in instant.events:
                told = dict(zip(EVENTS_HEAD, event_line(event), strict=True))
                said.append(Happened(float(told["time_s"]), told["mould"], told["event"]))
            if instant.at_s < recording.times_s[0]:
                continue
            rows.extend(dict(zip(READINGS_HEAD, line, strict=True)) for line in reading_lines(instant))
            found.update(_found(instant))
            advanced()
    pictures = {round(row.time_s, 2): row for row in recording.pictures}
    lines = by_moment(line_of(row) for row in rows)
    return Measurement(lines, tuple(said), found, pictures, watch, perf_counter() - began)


def _found(instant: Instant) -> dict[tuple[float, str], Found]:
    if isinstance(instant.given, NoFrame):
        return {}
    return {key(instant.at_s, hole.mould): Found(hole.rim_rc, hole.line_rc) for hole in instant.given.holes}
