"""`tipbell measure`: levels, walls, ready times and events of a recording, each from what lies before it."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Protocol

from rich.console import Console
from rich.progress import Progress

from watcher.camera.recording import Recording, read_recording
from watcher.commands.measure_pictures import draw
from watcher.commands.measure_tables import EVENTS_HEAD, READINGS_HEAD, event_line, reading_lines
from watcher.commands.refused import Refused
from watcher.commands.replaying import replayed
from watcher.commands.stopwatch import Stopwatch, timed
from watcher.records.frames import NoFrame

PART = ".part"
"""What a table's name ends with until it is whole: a measurement that was stopped leaves none behind."""


class Table(Protocol):
    """An open table of text."""

    def writerow(self, row: Iterable[str], /) -> object:
        """Write one line."""

    def writerows(self, rows: Iterable[Iterable[str]], /) -> object:
        """Write some lines."""


def measure(recording: Path, out: Path, *, timings: bool, pictures: Path | None) -> None:
    """Measure a recording and write the tables.

    Parameters
    ----------
    recording : Path
        Folder of the recording.
    out : Path
        Folder for ``readings.csv`` and ``events.csv``; made if it is not there.
    timings : bool
        Also write ``timings.json``; OpenCV then works in one thread.
    pictures : Path or None
        Folder for the frames with what was found drawn in.

    Raises
    ------
    RecordingError
        The recording cannot be used.
    Refused
        The tables cannot be written there.
    """
    played = read_recording(recording)
    for remark in played.remarks:
        _say(remark)
    _make_folder(out, played)
    if pictures is not None:
        _make_folder(pictures, played)
    watch = Stopwatch()
    with (
        timed(watch) if timings else nullcontext(),
        _tables(out) as (readings, events),
        _progress(played) as advanced,
    ):
        readings.writerow(READINGS_HEAD)
        events.writerow(EVENTS_HEAD)
        moments = played.moments(watch.decode_s.append)
        for instant in replayed(played, moments, watch.look_s.append):
            events.writerows(map(event_line, instant.events))
            if instant.at_s < played.times_s[0]:
                continue
            readings.writerows(reading_lines(instant))
            if isinstance(instant.given, NoFrame):
                _say(f"passed over {instant.given.detail}")
            if pictures is not None:
                draw(instant, pictures)
            advanced()
    if timings:
        figures = watch.figures(len(played.layout.moulds))
        (out / "timings.json").write_text(json.dumps(figures, indent=2) + "\n", encoding="utf-8")


def _make_folder(folder: Path, played: Recording) -> None:
    own = {played.folder.resolve()} | {(played.folder / row.file).resolve().parent for row in played.pictures}
    if folder.resolve() in own:
        raise Refused(f"{folder} belongs to the recording; give another folder, or its own files are lost")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise Refused(f"{folder} cannot be made a folder ({fault.strerror}); give one to write to") from fault


@contextmanager
def _tables(out: Path) -> Iterator[tuple[Table, Table]]:
    names = ("readings.csv", "events.csv")
    parts = [out / f"{name}{PART}" for name in names]
    try:
        with (
            parts[0].open("w", newline="", encoding="utf-8") as first,
            parts[1].open("w", newline="", encoding="utf-8") as second,
        ):
            yield csv.writer(first, lineterminator="\n"), csv.writer(second, lineterminator="\n")
        for name, part in zip(names, parts, strict=True):
            part.replace(out / name)
    finally:
        for part in parts:
            part.unlink(missing_ok=True)


@contextmanager
def _progress(played: Recording) -> Iterator[Callable[[], None]]:
    """Show how far it has come, on a terminal only: a log has no use for a bar."""
    console = Console(stderr=True)
    with Progress(console=console, disable=not console.is_terminal, transient=True) as progress:
        task = progress.add_task(f"measuring {played.folder.name}", total=len(played.times_s))
        yield lambda: progress.advance(task)


def _say(sentence: str) -> None:
    print(f"tipbell: {sentence}", file=sys.stderr)
