"""The eyes on rendered benches with truth, where such recordings are at hand; nothing is known beforehand."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from watcher.camera.recording import read_recording
from watcher.records.frames import Frame
from watcher.records.readings import Contents, HoleSighting, LevelReading
from watcher.vision.drawing import over_frame, straightened
from watcher.vision.look import look_at

RECORDINGS = Path(__file__).resolve().parents[4] / "shared" / "bench_recordings"
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not RECORDINGS.is_dir(), reason="no bench recordings with truth beside the project"),
]
Truth = dict[tuple[float, str], dict[str, str]]


def looked(name: str) -> tuple[Truth, list[tuple[float, HoleSighting]]]:
    folder = RECORDINGS / name
    with (folder / "truth.csv").open(newline="") as file:
        truth = {(round(float(r["time_s"]), 2), r["mould"]): r for r in csv.DictReader(file)}
    recording, eyes, seen = read_recording(folder), None, []
    for moment in recording.moments():
        assert isinstance(moment, Frame)
        sighting, eyes = look_at(moment, recording.layout, eyes, {})
        seen += [(round(moment.taken_s, 2), hole) for hole in sighting.holes]
    return truth, seen


@pytest.mark.parametrize("name", ["public-2", "public-4"])
def test_levels_hold_without_any_knowledge_of_the_cake(name: str) -> None:
    """The film is then only what plaster usually draws, so the bounds here are wider than the bench's own."""
    truth, seen = looked(name)
    errors, eligible, false, empty_wrong = [], 0, 0, 0
    for at_s, hole in seen:
        row = truth[at_s, hole.mould]
        level = hole.reading.level_mm if isinstance(hole.reading, LevelReading) else None
        if row["phase"] == "empty":
            empty_wrong += hole.contents is not Contents.EMPTY
        if row["phase"] in ("empty", "tipped") or (row["phase"] == "casting" and row["visible"] != "1"):
            false += level is not None
        elif row["phase"] == "casting" and float(row["visible_fraction"]) >= 0.15:
            eligible += 1
            if level is not None:
                errors.append(level - float(row["level_mm"]))
    away = np.abs(errors)
    assert false == 0
    assert empty_wrong == 0
    assert len(errors) >= 0.9 * eligible
    assert (away > 2.0).mean() <= 0.04  # after a top-up nobody knows the film here
    assert np.sqrt(np.mean(np.square(errors))) < 1.2


def test_the_found_line_is_drawn_over_the_frame_and_into_the_straightened_hole() -> None:
    recording, eyes = read_recording(RECORDINGS / "public-1"), None
    for k, moment in enumerate(recording.moments()):
        assert isinstance(moment, Frame)
        sighting, eyes = look_at(moment, recording.layout, eyes, {})
        if k == 8:
            break
    hole = sighting.holes[0]
    assert isinstance(hole.reading, LevelReading)
    assert len(hole.rim_rc) > 20
    assert len(hole.line_rc) > 3
    rows = [r for r, _ in hole.rim_rc]
    assert all(min(rows) - 2 < r < max(rows) + 2 for r, _ in hole.line_rc)
    assert not np.array_equal(over_frame(moment.image, sighting), moment.image)
    picture = straightened(moment, eyes, hole)
    assert picture is not None
    assert picture.shape[2] == 3
