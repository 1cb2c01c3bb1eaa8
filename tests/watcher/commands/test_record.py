"""`tipbell record`: a video of the bench becomes a recording that can be measured like any other."""

from __future__ import annotations

import csv
import re
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.camera.recording import read_recording

SESSION = Path(__file__).resolve().parents[3] / "sample_frames" / "morning_bench"
PICTURES = 8


def run(*asked: object):
    """Call the command as somebody at a prompt would."""
    return CliRunner().invoke(app, [str(one) for one in asked])


@pytest.fixture(scope="module")
def filmed(ffmpeg_path: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first pictures of the sample session as a film of one picture in 4 s, and the bench's own file."""
    folder = tmp_path_factory.mktemp("film")
    described = (SESSION / "recording.toml").read_text(encoding="utf-8")
    (folder / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    for k, path in enumerate(sorted((SESSION / "frames").glob("*.jpg"))[:PICTURES]):
        (folder / f"{k:03d}.jpg").write_bytes(path.read_bytes())
    made = [ffmpeg_path, "-loglevel", "error", "-framerate", "0.25", "-i", str(folder / "%03d.jpg")]
    subprocess.run([*made, "-c:v", "mpeg4", "-q:v", "2", str(folder / "bench.mp4")], check=True)
    return folder


def test_a_video_becomes_a_recording_with_its_own_moments_and_is_measured(
    filmed: Path, tmp_path: Path
) -> None:
    out = tmp_path / "taken"
    done = run(
        "record", filmed / "bench.mp4", "--bench", filmed / "bench.toml", "--out", out,
        "--start", "2026-03-05T07:00:00", "--every", 4,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    played = read_recording(out)
    assert list(played.times_s) == pytest.approx([4.0 * k for k in range(PICTURES)], abs=0.02)
    assert 'start = "2026-03-05T07:00:00Z"' in (out / "recording.toml").read_text(encoding="utf-8")
    kept = cv2.imread(str(out / "frames" / "000003.jpg")).astype(float)
    given = cv2.imread(str(filmed / "003.jpg")).astype(float)
    assert np.abs(kept - given).mean() < 4.0
    assert run("measure", out, "--out", tmp_path / "tables").exit_code == 0
    with (tmp_path / "tables" / "readings.csv").open(newline="") as table:
        rows = list(csv.DictReader(table))
    assert len(rows) == PICTURES * len(played.layout.moulds)
    assert {row["phase"] for row in rows} - {"absent"}  # moulds were found in it


def test_what_cannot_become_a_recording_is_refused_in_a_sentence_and_nothing_is_written_over(
    filmed: Path, tmp_path: Path
) -> None:
    there = tmp_path / "there"
    there.mkdir()
    (there / "notes.txt").write_text("mine")
    small = tmp_path / "small.toml"
    text = (filmed / "bench.toml").read_text(encoding="utf-8")
    small.write_text(re.sub(r"width = \d+", "width = 640", text), encoding="utf-8")
    (tmp_path / "text.mp4").write_text("not a video")
    for video, bench, out, why in (
        (filmed / "bench.mp4", filmed / "bench.toml", there, "is there already"),
        (filmed / "bench.mp4", small, tmp_path / "new", "the lens of"),
        (tmp_path / "text.mp4", filmed / "bench.toml", tmp_path / "new", "is not a video"),
        (tmp_path / "none.mp4", filmed / "bench.toml", tmp_path / "new", "there is no file"),
        (filmed / "bench.mp4", SESSION / "recording.toml", tmp_path / "new", "[clock]"),
    ):
        done = run("record", video, "--bench", bench, "--out", out)
        assert done.exit_code == 2 and why in done.output, (why, done.output)
        assert len(done.output.strip().splitlines()) == 1
    assert [path.name for path in there.iterdir()] == ["notes.txt"]
    assert not (tmp_path / "new").exists()
