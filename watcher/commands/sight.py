"""`tipbell sight`: what one picture tells of the bench, and how well every hole will be read from there."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.commands.picture_files import read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_sight import NoBench, bench_sight
from watcher.setup.found_words import falls, of_bench, of_hole
from watcher.setup.holes_ahead import holes_ahead
from watcher.setup.mould_picture import tags_picture
from watcher.vision.lens import usable_lens


def sight(shot: Path, bench: Path, *, drawing: Path | None = None) -> None:
    """Say where the camera stands, how the sheet lies, and how well every hole will be read.

    Parameters
    ----------
    shot : Path
        A picture of the bench.
    bench : Path
        The bench's file.
    drawing : Path, optional
        Where the picture goes with all cards drawn in.

    Raises
    ------
    Refused
        With one sentence.
    """
    image = read_picture(shot)
    try:
        described, tags = read_bench_file(bench), read_bench(bench)
        lens = usable_lens(described.layout.lens, *image.shape[:2])
    except (RecordingError, BadValue, ValueError) as fault:
        raise Refused(str(fault)) from fault
    seen = bench_sight(image, lens, tags)
    if isinstance(seen, NoBench):
        raise Refused(seen.why)
    for line in of_bench(seen):
        print(line)
    for hole in holes_ahead(seen, described.layout, lens, falls(described.layout, described.slip)):
        for line in of_hole(hole):
            print(line)
    if drawing:
        write_picture(drawing, tags_picture(image, seen.found))
        print(f"wrote {drawing}")
