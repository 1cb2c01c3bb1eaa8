"""Oval pour holes and moulds with two: their books and where they are drawn."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from watcher.simulator.bench import on_bench
from watcher.simulator.holes import RISE_MM
from watcher.simulator.samples import odd_bench
from watcher.simulator.scene import Scene
from watcher.simulator.truth import CastingMould

BENCH = odd_bench(width_px=1280, height_px=720)
OVAL, TWIN = BENCH.moulds


@pytest.fixture(scope="module")
def scene() -> Scene:
    return Scene(BENCH)


def seen_by_opencv(points: np.ndarray) -> np.ndarray:
    view, lens = BENCH.view, BENCH.view.lens
    axes = np.array(view.axes)
    matrix = np.array([[lens.fx_px, 0, lens.cx_px], [0, lens.fy_px, lens.cy_px], [0, 0, 1.0]])
    turn, shift = cv2.Rodrigues(axes)[0], -axes @ np.array(view.eye_mm)
    return cv2.projectPoints(points, turn, shift, matrix, np.array(lens.distortion))[0].reshape(-1, 2)


def level(scene: Scene, i: int, time_s: float) -> float:
    found = scene.insides(time_s)[i].level_mm
    assert found is not None
    return found


def test_two_holes_share_one_level_and_pay_for_the_body_together() -> None:
    """By hand: drop times both open areas = f times (wall and floor of the body, and both necks)."""
    mould = CastingMould(TWIN.profile, TWIN.casts, BENCH.slip_per_cake)
    first, last = mould.at(400.0), mould.at(700.0)
    assert first.level_mm is not None and last.level_mm is not None and last.level_mm < 20.0
    grown, middle = last.wall_mm - first.wall_mm, (last.wall_mm + first.wall_mm) / 2
    z = np.linspace(34.0, 96.0, 3000)
    r = np.interp(z, [34, 70, 96], [75, 76, 60])
    body = float((2 * math.pi * (r[:-1] - middle) * np.hypot(np.diff(z), np.diff(r))).sum())
    body += math.pi * (60 - middle) ** 2
    necks = 2 * 2 * math.pi * (18.8 - middle) * (34.0 - (first.level_mm + last.level_mm) / 2)
    depth = (first.level_mm + last.level_mm) / 2
    neck = np.interp(depth, [0, 20, 34], [22, 19.5, 18])
    cake = float(np.interp(depth, last.depths_mm, (first.clay_mm + last.clay_mm) / 2))
    open_mm2 = 2 * math.pi * (neck - cake) ** 2
    paid = (BENCH.slip_per_cake - 1) * grown * (body + necks)
    assert (last.level_mm - first.level_mm) * open_mm2 == pytest.approx(paid, rel=0.06)


def test_an_oval_hole_has_the_area_of_its_ellipse() -> None:
    """A ladle of slip lowers the level by its volume over the open ellipse."""
    cast = OVAL.casts[0]
    robbed_cast = type(cast)(cast.fill_from_s, cast.filled_s, cast.k_mm2_per_min, lost_ml=((150.0, 15.0),))
    kept = CastingMould(OVAL.profile, (cast,), BENCH.slip_per_cake).at(160.0)
    robbed = CastingMould(OVAL.profile, (robbed_cast,), BENCH.slip_per_cake).at(160.0)
    assert kept.level_mm is not None and robbed.level_mm is not None
    middle = (kept.level_mm + robbed.level_mm) / 2
    narrowing = np.interp(middle, [0, 18, 24], [92, 85, 79]) / 92
    cake = float(np.interp(middle, kept.depths_mm, kept.clay_mm))
    open_mm2 = math.pi * (46 * narrowing - cake) * (30 * narrowing - cake)
    assert robbed.level_mm - kept.level_mm == pytest.approx(15_000 / open_mm2, rel=0.05)


@pytest.mark.parametrize(("i", "k", "time_s"), [(0, 0, 400.0), (0, 0, 1200.0), (1, 0, 420.0), (1, 1, 420.0)])
def test_their_slip_lines_lie_where_the_truth_says(scene: Scene, i: int, k: int, time_s: float) -> None:
    mould = BENCH.moulds[i]
    hole, inside = mould.profile.holes[k], scene.insides(time_s)[i]
    picture = cv2.cvtColor(scene.picture(time_s), cv2.COLOR_BGR2GRAY).astype(np.float32)
    depths = np.arange(2.8, 16.0, 0.1)
    diameter = np.interp(depths, *np.array(hole.bore or mould.profile.bore).T)
    top = (hole.bore or mould.profile.bore)[0][1]
    long_mm, short_mm = hole.axes_mm or (top, top)
    clay = np.interp(depths, inside.depths_mm, inside.clay_mm)
    half_long, half_short = diameter / top * long_mm / 2 - clay, diameter / top * short_mm / 2 - clay
    away = math.atan2(mould.seat.y_mm - BENCH.view.eye_mm[1], mould.seat.x_mm - BENCH.view.eye_mm[0])
    rows = []
    for a in away - math.radians(mould.seat.yaw_deg) + np.radians(np.linspace(-35, 35, 31)):
        x, y = hole.centre_mm[0] + half_long * math.cos(a), hole.centre_mm[1] + half_short * math.sin(a)
        spots = seen_by_opencv(on_bench(mould, mould.seat, np.column_stack([x, y, -depths]))).astype(
            np.float32
        )
        rows.append(cv2.remap(picture, spots[None, :, 0], spots[None, :, 1], cv2.INTER_LINEAR)[0])
    profile = cv2.GaussianBlur(np.mean(rows, axis=0)[None], (0, 0), 4)[0]
    found = float(depths[int(np.argmax(np.gradient(profile)))])
    assert 3.3 < level(scene, i, time_s) < 15.0
    assert found == pytest.approx(level(scene, i, time_s) - RISE_MM, abs=0.4)
