"""A simulated camera behaves as any frame source does."""

from __future__ import annotations

import tracemalloc
from datetime import UTC, datetime, timedelta

import cv2
import numpy as np
import pytest

from watcher.clock import ToldClock
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.simulator.faults import Faults, Outage
from watcher.simulator.samples import crowded_bench, sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.source import SimulatedCamera

START = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
BENCH = sample_bench(1, width_px=320, height_px=240)


def at(clock: ToldClock, second: float) -> None:
    clock.tell(5000.0 + second, START + timedelta(seconds=second))


def camera(faults: Faults | None = None) -> tuple[SimulatedCamera, ToldClock]:
    clock = ToldClock(5000.0, START)
    return SimulatedCamera(Scene(BENCH, faults), clock, period_s=5.0), clock


def test_the_same_frame_comes_until_the_next_is_due() -> None:
    source, clock = camera()
    first = source.newest()
    at(clock, 4.9)
    again = source.newest()
    at(clock, 12.0)
    later = source.newest()
    assert isinstance(first, Frame) and again is first
    assert isinstance(later, Frame) and later.taken_s == 5010.0
    assert later.taken_at == START + timedelta(seconds=10)
    assert later.image.shape == (240, 320, 3) and later.image.dtype == np.uint8
    assert not later.image.flags.writeable


def test_an_outage_is_an_answer_with_its_reason_and_ends_by_itself() -> None:
    source, clock = camera(Faults(outages=(Outage(10.0, 20.0, Blind.UNPLUGGED),)))
    at(clock, 11.0)
    gone = source.newest()
    at(clock, 21.0)
    assert isinstance(gone, NoFrame) and gone.why is Blind.UNPLUGGED and gone.at_s == 5010.0
    assert isinstance(source.newest(), Frame)


def test_a_camera_needs_a_period() -> None:
    with pytest.raises(ValueError, match="above 0 s, not 0"):
        SimulatedCamera(Scene(BENCH), ToldClock(0.0, START), period_s=0.0)


def test_a_sample_bench_has_one_to_six_moulds() -> None:
    with pytest.raises(ValueError, match="1 to 6 moulds, not 7"):
        sample_bench(7)


def test_twenty_four_moulds_stand_in_one_picture_and_none_hides_anothers_card() -> None:
    bench = crowded_bench()
    picture = Scene(bench).picture(900.0)
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
    found = set(detector.detectMarkers(picture)[1].ravel().tolist())
    assert {mould.tag_id for mould in bench.moulds} | {tag.tag_id for tag in bench.sheet} <= found


def test_a_long_watch_holds_no_more_memory_than_a_short_one() -> None:
    scene = Scene(BENCH)
    for k in range(20):
        scene.picture(k * 5.0)
    tracemalloc.start()
    for k in range(20, 60):
        scene.picture(k * 5.0)
    early = tracemalloc.get_traced_memory()[0]
    for k in range(60, 360):
        scene.picture(k * 5.0)
    late = tracemalloc.get_traced_memory()[0]
    tracemalloc.stop()
    assert late - early < 50_000
