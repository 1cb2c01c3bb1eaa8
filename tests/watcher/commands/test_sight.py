"""`tipbell sight`: the camera's place, and how well each hole will be read, before the first pour."""

from __future__ import annotations

import csv
import re

import cv2
import pytest
from drawn_bench import drawn_bench, mould_top

from watcher.camera.recording import read_recording
from watcher.commands.refused import Refused
from watcher.commands.sight import sight
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_sight import bench_sight
from watcher.setup.holes_ahead import holes_ahead

BENCH = """
[camera]
width = 1280
height = 720
fx = 1060.0
fy = 1060.0
cx = 639.5
cy = 359.5
distortion = [-0.06, 0.03, 0.0004, -0.0006, 0.0]

[slip]
specific_gravity = 1.75
cake_solids_fraction = 0.62
"""
SHEET = """
[[sheet]]
id = {id}
size_mm = 60.0
centre_mm = [{x}, {y}, 0.0]
"""
MOULD = """
[[mould]]
name = "{name}"
tag_id = {card}
tag_size_mm = 26.0
rim_centre_from_tag_mm = [20.0, 50.0, 0.0]
bore = [[0.0, {wide}], [110.0, {wide}]]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("bench")
    text = BENCH + "".join(
        SHEET.format(id=n, x=x, y=y) for n, (x, y) in enumerate([(-98, 58), (98, 58), (-98, -58), (98, -58)])
    )
    text += MOULD.format(name="cream jug", card=12, wide=56.0) + MOULD.format(name="tube", card=13, wide=16.0)
    text += MOULD.format(name="gone", card=14, wide=56.0)
    (made / "bench.toml").write_text(text, encoding="utf-8")
    tops = [
        (mould_top(12, 26.0, (-20.0, -50.0), 56.0), (-120.0, 210.0, 90.0), 0.0),
        (mould_top(13, 26.0, (-20.0, -50.0), 16.0), (130.0, 190.0, 70.0), 0.0),
    ]
    cv2.imwrite(str(made / "shot.png"), drawn_bench(*tops))
    return made


def test_each_hole_gets_its_line_and_what_would_help(folder, capsys):
    sight(folder / "shot.png", folder / "bench.toml", drawing=folder / "cards.png")
    said = capsys.readouterr().out.splitlines()
    # the drawn camera stands at (30, -480, 520)
    above, before, beside = (
        float(part.split(" mm ")[0].split()[-1]) for part in re.split("stands|,|and", said[0])[1:4]
    )
    assert (above, before, beside) == pytest.approx((520.0, 480.0, 30.0), abs=2.5)
    assert "; known to " in said[0] and said[0].endswith(" degrees")
    assert any(line.startswith("cream jug: well read, a level to about 0.") for line in said)
    assert any(line.startswith("tube: ") and "lost below" in line for line in said)
    assert any("move the camera up until it looks in at" in line for line in said)
    assert any("the card of 'gone' (number 14) is not to be seen" in line for line in said)
    assert cv2.imread(str(folder / "cards.png")) is not None


def test_a_file_that_is_no_bench_is_refused(folder):
    with pytest.raises(Refused, match=r"no\.toml is not in"):
        sight(folder / "shot.png", folder / "no.toml")


def test_the_depth_at_which_the_level_is_lost_is_the_renderers(shared_recordings):
    """Narrow bottles: between the last level of which 15 % was in view and the first of which less was."""
    folder = shared_recordings / "public-4"
    recording = read_recording(folder)
    image = cv2.imread(str(sorted((folder / "frames").glob("*.jpg"))[0]))
    lens = recording.layout.lens
    seen = bench_sight(image, lens, read_bench(folder / "recording.toml"))
    ahead = {hole.name: hole.reading.lost_below_mm for hole in holes_ahead(seen, recording.layout, lens, {})}
    checked = 0
    for name, lost_mm in ahead.items():
        with (folder / "truth.csv").open() as file:
            rows = [
                (float(row["level_mm"]), float(row["visible_fraction"]))
                for row in csv.DictReader(file)
                if row["mould"] == name and row["phase"] == "casting" and row["level_mm"]
            ]
        in_view = [level for level, share in rows if share >= 0.15]
        hidden = [level for level, share in rows if level > max(in_view)]
        if hidden:
            # the clay on the wall, left out before the pour, brings it a few mm nearer
            assert max(in_view) - 1.0 < lost_mm < min(hidden) + 5.0
            checked += 1
    assert checked >= 3
