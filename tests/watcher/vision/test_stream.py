"""Truth: the simulator's own way of the stream, drawn over the hole; and a rendered pour with its path."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from drawn_pours import circles, half, poured, stays

from watcher.camera.recording import read_recording
from watcher.commands.replaying import replayed
from watcher.simulator.workshop import workshop

SAMPLE = Path(__file__).parents[3] / "sample_frames" / "one_pour"
WAYS = {"stays": stays, "circles": circles, "half": half}


def _across(mould, way_xy):
    """Where the stream truly is, sideways as the camera of the workshop sees it from (0, -620)."""
    far = math.atan2(mould.y_mm + 620.0, mould.x_mm)
    return float(np.dot((math.sin(far), -math.cos(far)), way_xy))


def _pour(way, mould, **more):
    moments = list(poured(WAYS[way], mould, **more))
    part = workshop(4).moulds[mould]
    errors, missed = [], 0
    for one in moments:
        mine = [s for s in one.seen.streams if s.mould == part.name]
        if one.true_mm is None:
            assert not mine or one.at_s > 50.0, one.at_s
        elif mine:
            errors.append(mine[0].across_mm - _across(part.seat, one.true_mm))
        else:
            missed += 1
        assert all(s.mould == part.name for s in one.seen.streams), (one.at_s, one.seen)
    return part.name, moments, np.array(errors), missed


@pytest.mark.slow
@pytest.mark.parametrize(
    ("way", "mould", "hand"),
    [("stays", 0, False), ("circles", 1, True), ("half", 2, False), ("stays", 3, True)],
)
def test_a_stream_is_followed_and_staying_on_one_spot_is_told(way, mould, hand):
    name, moments, errors, missed = _pour(way, mould, hand=hand)
    assert missed <= 0.2 * (errors.size + missed)
    assert np.median(np.abs(errors)) < 2.0
    assert np.mean(np.abs(errors) < 5.0) > 0.8
    events = [e for one in moments for e in one.events if e.mould == name]
    filled = [e for e in events if e.event == "filled"]
    assert len(filled) == 1 and filled[0].detail.endswith(" mm")
    spots = [e for e in events if e.event == "one_spot"]
    if way == "circles":
        assert not spots
    else:
        (spot,) = spots
        assert float(spot.detail.split()[0]) == pytest.approx(39.0 if way == "stays" else 21.0, abs=4.0)


@pytest.mark.slow
def test_looks_five_seconds_apart_still_tell_a_stream_that_stays():
    name, moments, errors, _ = _pour("stays", 1, glance_s=None)
    assert errors.size >= 5
    assert [e.event for one in moments for e in one.events if e.mould == name].count("one_spot") == 1


@pytest.mark.slow
def test_a_rendered_pour_that_stays_for_half_of_it_is_told_so():
    recording = read_recording(SAMPLE)
    with (SAMPLE / "streams.csv").open() as file:
        truth = {
            float(row["time_s"]): (float(row["x_mm"]), float(row["y_mm"])) for row in csv.DictReader(file)
        }
    last = None
    for instant in replayed(recording, recording.moments()):
        last = instant.bench.moulds["decanter"]
    points = {p.at_s: p.across_mm for p in last.stream}
    # path-traced pictures: the way of the stream is laid out by the script that rendered them
    assert len(points.keys() & truth.keys()) >= 0.85 * len(truth)
    assert last.one_spot is not None
    assert last.one_spot.lasted_s == pytest.approx(18.0, abs=3.0)
