"""A simulated session on disk: read back by the recording's own reader, and its share in view by geometry."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from models.mould import MouldProfile
from watcher.camera.recording import read_recording
from watcher.records.frames import Frame
from watcher.simulator.bench import Seat, SimBench
from watcher.simulator.faults import Faults, Hand, Outage
from watcher.simulator.recorder import write_recording
from watcher.simulator.samples import odd_bench, sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.sight import hand_covers, seen_share
from watcher.simulator.truth import Inside
from watcher.simulator.viewing import looking_at

TIMES = [5.0, 45.0, 90.0, 400.0, 700.0]


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def test_it_reads_back_as_the_bench_that_was_drawn(tmp_path: Path) -> None:
    bench = odd_bench(width_px=480, height_px=320)
    write_recording(Scene(bench, Faults(outages=(Outage(40.0, 50.0),))), tmp_path, TIMES)
    recording = read_recording(tmp_path)
    assert recording.times_s == (5.0, 90.0, 400.0, 700.0)
    assert recording.slip.specific_gravity == bench.specific_gravity
    for read, mould in zip(recording.layout.moulds, bench.moulds, strict=True):
        assert read.profile.bore == mould.profile.bore
        assert [h.axes_mm for h in read.profile.holes] == [h.axes_mm for h in mould.profile.holes]
        assert [h.centre_mm for h in read.profile.holes] == [h.centre_mm for h in mould.profile.holes]
        assert read.card is not None and read.card.rim_centre_from_tag_mm == pytest.approx(
            (-mould.card_xy_mm[0], -mould.card_xy_mm[1], -0.35)
        )
    frames = [moment for moment in recording.moments() if isinstance(moment, Frame)]
    assert len(frames) == 4 and frames[0].image.shape == (320, 480, 3)


def test_its_truth_tells_of_every_mould_at_every_moment_and_its_events_of_the_cast(tmp_path: Path) -> None:
    scene = Scene(sample_bench(2, width_px=320, height_px=240))
    write_recording(scene, tmp_path, TIMES)
    truth = rows(tmp_path / "truth.csv")
    assert len(truth) == len(TIMES) * 2
    deep = [float(r["level_mm"]) for r in truth if r["mould"] == "tea cup" and r["phase"] == "casting"]
    assert deep == sorted(deep) and len(deep) == 3
    happened = {(e["mould"], e["event"]): float(e["time_s"]) for e in rows(tmp_path / "events.csv")}
    assert happened["tea cup", "filling"] == 40.0 and happened["tea cup", "filled"] == 80.0
    ready = happened["tea cup", "ready"]
    wanted = scene.bench.moulds[0].profile.target_wall_mm
    assert wanted is not None
    assert scene.insides(ready)[0].wall_mm == pytest.approx(wanted[0], abs=0.02)


def straight(radius_mm: float, away_mm: float, up_mm: float) -> SimBench:
    """One straight hole seen from far away."""
    bench = sample_bench(1)
    profile = MouldProfile("tube", ((0.0, 2 * radius_mm), (120.0, 2 * radius_mm)))
    mould = replace(bench.moulds[0], profile=profile, seat=Seat(0.0, 0.0), height_mm=140.0)
    view = looking_at(
        replace(bench.view.lens, fx_px=9000.0, fy_px=9000.0), (0, -away_mm, up_mm), (0, 0, 140.0)
    )
    return replace(bench, view=view, moulds=(mould,))


@pytest.mark.parametrize("depth_mm", [6.0, 15.0, 25.0, 45.0])
def test_the_share_in_view_is_that_of_two_equal_circles(depth_mm: float) -> None:
    """From far away the rim hides what lies beyond arccos(d tan(angle) / 2R) from the far side (geometry)."""
    bench = straight(20.0, 6000.0, 6140.0)
    depths = np.arange(0.25, 120.0, 0.5)
    inside = Inside("casting", depth_mm, depth_mm + 1.0, 0.0, depths, np.zeros_like(depths))
    share = seen_share(bench.view, bench.moulds[0], bench.moulds[0].seat, inside, ())
    ratio = depth_mm * math.tan(math.radians(45.0)) / 40.0
    expected = math.acos(ratio) / math.pi if ratio < 1 else 0.0
    assert share == pytest.approx(expected, abs=0.03)


def test_a_hand_over_the_hole_leaves_nothing_to_see() -> None:
    bench = sample_bench(1, width_px=640, height_px=400)
    mould = bench.moulds[0]
    hand = Hand(0.0, 10.0, (mould.seat.x_mm, mould.seat.y_mm - 25.0, mould.height_mm + 40.0))
    inside = Scene(bench).insides(300.0)[0]
    assert seen_share(bench.view, mould, mould.seat, inside, ()) > 0.4
    assert seen_share(bench.view, mould, mould.seat, inside, (hand,)) < 0.15
    assert hand_covers(bench.view, mould, mould.seat, (hand,))
    assert not hand_covers(bench.view, mould, mould.seat, ())
