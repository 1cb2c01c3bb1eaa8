"""A video file gives its frames at the moments that stand in it."""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from watcher.camera.video import VideoError, video_frames

NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


def test_frames_come_at_their_own_moments_and_no_nearer_than_asked(ffmpeg_path: str, tmp_path: Path) -> None:
    # 25 frames a second for 4 s, by ffmpeg; the moments follow from that
    made = [
        ffmpeg_path,
        "-loglevel",
        "error",
        "-f",
        "lavfi",
        "-i",
        "testsrc2=size=160x120:rate=25:duration=4",
    ]
    subprocess.run([*made, "-c:v", "mpeg4", str(tmp_path / "bench.mp4")], check=True)
    frames = list(video_frames(tmp_path / "bench.mp4", "left", NOON, every_s=1.0))
    assert [frame.taken_s for frame in frames] == pytest.approx([0.0, 1.0, 2.0, 3.0], abs=0.045)
    assert frames[2].taken_at - NOON == timedelta(seconds=frames[2].taken_s)
    assert frames[0].image.shape == (120, 160, 3)
    assert not frames[0].image.flags.writeable


def test_what_is_no_video_is_refused_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(VideoError, match="no file"):
        next(video_frames(tmp_path / "none.mp4", "left", NOON))
    (tmp_path / "text.mp4").write_text("not a video")
    with pytest.raises(VideoError, match="not a video"):
        next(video_frames(tmp_path / "text.mp4", "left", NOON))
