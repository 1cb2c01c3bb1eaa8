"""A recording of pictures from end to end: what is written of its first half does not hang on the second."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from watcher.commands.measure import measure

SHOWN = 26


@pytest.fixture(scope="module")
def beginning(shared_recordings, tmp_path_factory) -> Path:
    """The first frames of a calm bench: empty, the pours, the first minutes."""
    return cut(shared_recordings / "public-1", tmp_path_factory.mktemp("beginning") / "r", SHOWN)


def cut(whole: Path, folder: Path, frames: int) -> Path:
    """Copy the first frames of a recording; leave its truth behind."""
    (folder / "frames").mkdir(parents=True)
    shutil.copy(whole / "recording.toml", folder)
    lines = (whole / "frames.csv").read_text().splitlines(keepends=True)[: frames + 1]
    (folder / "frames.csv").write_text("".join(lines))
    for line in lines[1:]:
        name = line.split(",")[0]
        shutil.copy(whole / name, folder / name)
    return folder


def test_the_first_half_of_the_pictures_alone_gives_the_same_lines(beginning, tmp_path):
    measure(beginning, tmp_path / "whole", timings=False, pictures=None)
    measure(cut(beginning, tmp_path / "r", SHOWN // 2), tmp_path / "half", timings=False, pictures=None)
    half = (tmp_path / "half" / "readings.csv").read_text().splitlines()
    assert len(half) == 1 + 4 * SHOWN // 2
    assert half == (tmp_path / "whole" / "readings.csv").read_text().splitlines()[: len(half)]
    events = (tmp_path / "half" / "events.csv").read_text().splitlines()
    assert len(events) > 3
    end_s = float(half[-1].split(",")[0])
    whole = (tmp_path / "whole" / "events.csv").read_text().splitlines()
    assert events == [whole[0], *(line for line in whole[1:] if float(line.split(",")[0]) <= end_s)]


def test_pictures_with_what_was_found_drawn_in_are_written_on_request(beginning, tmp_path):
    measure(cut(beginning, tmp_path / "r", 3), tmp_path / "out", timings=False, pictures=tmp_path / "seen")
    drawn = sorted((tmp_path / "seen").iterdir())
    assert [path.name for path in drawn] == ["000000.jpg", "000001.jpg", "000002.jpg"]
    assert drawn[0].read_bytes() != (beginning / "frames" / "000000.jpg").read_bytes()


def test_a_picture_cut_short_in_the_middle_leaves_its_neighbours_as_they_are(beginning, tmp_path):
    folder = cut(beginning, tmp_path / "r", 12)
    bad = folder / "frames" / "000006.jpg"
    bad.write_bytes(bad.read_bytes()[:-4000])
    measure(folder, tmp_path / "out", timings=False, pictures=None)
    with (tmp_path / "out" / "readings.csv").open(newline="") as table:
        lines = [line for line in csv.DictReader(table) if line["mould"] == "bud vase"]
    assert [line["seen"] for line in lines[5:8]] == ["1", "0", "1"]
    assert "000006.jpg" in lines[6]["why"]
