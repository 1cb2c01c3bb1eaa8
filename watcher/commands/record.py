"""`tipbell record`: a recording out of a video of the bench, to be measured and replayed like any other."""

from __future__ import annotations

import csv
import tomllib
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console
from rich.progress import Progress, TextColumn

from watcher.camera.recording_file import read_bench_file
from watcher.camera.video import VideoError, video_frames
from watcher.commands.picture_files import write_picture
from watcher.commands.refused import Refused
from watcher.records.frames import Frame
from watcher.records.layout import Lens

_UNKNOWN = datetime.fromtimestamp(0.0, UTC)  # only the seconds since the video's start are kept


def record(video: Path, bench: Path, out: Path, *, start: datetime | None, every_s: float) -> None:
    """Write a video's pictures, their moments and the bench's description as a recording.

    Parameters
    ----------
    video : Path
    bench : Path
        The bench's file, as the set-up writes it; its lens is that of the video's camera.
    out : Path
        The recording's folder: new, or empty.
    start : datetime or None
        When the video begins; UTC where it bears no zone. None: it ended when its file was last written.
    every_s : float
        Pictures nearer together than this are left out, 0.2 to 600. [s]

    Raises
    ------
    RecordingError
        The bench's file is not as wanted.
    Refused
        Video, folder or the pictures' size; one sentence.
    """
    lens, text = _described(bench)
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise Refused(f"{out} is there already; give a new folder, so that nothing of it is written over")
    pictures = out / "frames"
    console = Console(stderr=True)
    rows: list[tuple[str, str]] = []
    shown = Progress(
        TextColumn("{task.description}"), console=console, disable=not console.is_terminal, transient=True
    )
    try:
        with shown as progress:
            task = progress.add_task("pictures: 0", total=None)
            for frame in video_frames(video, "video", _UNKNOWN, every_s=every_s):
                _check_size(frame, lens, video, bench)
                pictures.mkdir(parents=True, exist_ok=True)
                name = f"{len(rows):06d}.jpg"
                write_picture(pictures / name, frame.image)
                rows.append((f"frames/{name}", f"{frame.taken_s:.3f}"))
                progress.update(task, description=f"pictures: {len(rows)}")
    except VideoError as fault:
        raise Refused(str(fault)) from fault
    if not rows:
        raise Refused(f"{video} holds no picture that can be read")
    begins = _begins(video, start, float(rows[-1][1]))
    (out / "recording.toml").write_text(f'[clock]\nstart = "{begins}"\n\n{text}', encoding="utf-8")
    with (out / "frames.csv").open("w", newline="", encoding="utf-8") as opened:
        table = csv.writer(opened, lineterminator="\n")
        table.writerow(("file", "time_s"))
        table.writerows(rows)
    print(f"wrote {len(rows)} pictures to {out}, the first of {begins}")


def _described(bench: Path) -> tuple[Lens, str]:
    lens = read_bench_file(bench).layout.lens
    text = bench.read_text(encoding="utf-8")
    if "clock" in tomllib.loads(text):
        raise Refused(f"{bench} has a [clock]: it is a recording's; give the bench's own file, without one")
    assert lens is not None  # a bench's file without one is refused above
    return lens, text


def _check_size(frame: Frame, lens: Lens, video: Path, bench: Path) -> None:
    rows, columns = frame.image.shape[:2]
    if (columns, rows) != (lens.width_px, lens.height_px):
        raise Refused(
            f"{video} is {columns} x {rows} px, the lens of {bench} holds for {lens.width_px} x"
            f" {lens.height_px}; give the file of the bench that this camera looks at"
        )


def _begins(video: Path, start: datetime | None, length_s: float) -> str:
    if start is None:
        start = datetime.fromtimestamp(video.stat().st_mtime - length_s, UTC)
    elif start.tzinfo is None:
        start = start.replace(tzinfo=UTC)
    return start.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
