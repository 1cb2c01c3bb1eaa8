"""`tipbell sight`: what one picture tells of the bench, and how well every hole will be read from there."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from models.slip import Slip
from models.target_check import check_target
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.commands.picture_files import read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.records.layout import BenchLayout
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_sight import BenchSight, NoBench, bench_sight
from watcher.setup.holes_ahead import HoleAhead, holes_ahead
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
    for line in _of_bench(seen):
        print(line)
    for hole in holes_ahead(seen, described.layout, lens, _falls(described.layout, described.slip)):
        for line in _of_hole(hole):
            print(line)
    if drawing:
        write_picture(drawing, tags_picture(image, seen.found))
        print(f"wrote {drawing}")


def _of_bench(seen: BenchSight) -> list[str]:
    x, y, z = seen.camera.eye_mm()
    place = f"the camera stands {z:.0f} mm above, {abs(y):.0f} mm before and {abs(x):.0f} mm beside the sheet"
    if seen.check is not None:
        place += f"; known to {seen.check.place_sigma_mm:.1f} mm and {seen.check.turn_sigma_deg:.2f} degrees"
    return [place, *(f"note: {line}" for line in seen.warnings)]


def _falls(layout: BenchLayout, slip: Slip) -> dict[str, float]:
    """How far the slip will sink in moulds that have a wanted wall, in mm below the rim."""
    falls = {}
    for mould in layout.moulds:
        if mould.profile.target_wall_mm is None:
            continue
        try:
            asked = check_target(mould.profile, slip, mould.profile.target_wall_mm[0])
        except BadValue:
            continue
        # with a top-up due the level never falls below the neck
        deepest = mould.profile.neck_mm if asked.top_up_at else asked.drop_mm
        falls[mould.name] = min(max(deepest, 5.0), mould.profile.depth_mm)
    return falls


def _of_hole(hole: HoleAhead) -> list[str]:
    lines = [f"note: {line}" for line in hole.warnings]
    if hole.reading is None:
        return lines
    reading = hole.reading
    about = f", a level to about {reading.level_sigma_mm:.2f} mm" if reading.level_sigma_mm < 10.0 else ""
    lost = "" if reading.lost_below_mm is None else f", lost below {reading.lost_below_mm:.0f} mm"
    lines.append(
        f"{hole.name}: {reading.how_well.value} read{about}{lost} "
        f"(seen {reading.from_vertical_deg:.0f} degrees from the vertical)"
    )
    return lines + [f"  {line}" for line in reading.advice]
