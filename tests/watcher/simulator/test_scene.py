"""What the simulator draws, judged with OpenCV: tags where they should be, slip where the truth has it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

import watcher.simulator
from watcher.simulator.bench import CARD_LIFT_MM, SimBench, on_bench
from watcher.simulator.faults import Bump, Faults, Hand, LightChange, Nudge
from watcher.simulator.holes import RISE_MM
from watcher.simulator.samples import sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.viewing import View

BENCH = sample_bench(3, width_px=960, height_px=600)


@pytest.fixture(scope="module")
def calm() -> Scene:
    return Scene(BENCH)


def seen_by_opencv(view: View, points: np.ndarray) -> np.ndarray:
    axes, lens = np.array(view.axes), view.lens
    matrix = np.array([[lens.fx_px, 0, lens.cx_px], [0, lens.fy_px, lens.cy_px], [0, 0, 1.0]])
    turn, shift = cv2.Rodrigues(axes)[0], -axes @ np.array(view.eye_mm)
    return cv2.projectPoints(points, turn, shift, matrix, np.array(lens.distortion))[0].reshape(-1, 2)


def tags_in(picture: np.ndarray) -> dict[int, np.ndarray]:
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
    larger = cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    corners, ids, _ = detector.detectMarkers(larger)
    found = {} if ids is None else dict(zip(ids.ravel().tolist(), corners, strict=True))
    return {tag_id: (square.reshape(4, 2) + 0.5) / 2 - 0.5 for tag_id, square in found.items()}


def card_corners(bench: SimBench, i: int) -> np.ndarray:
    mould = bench.moulds[i]
    h = mould.tag_mm / 2
    square = np.array([[-h, h], [h, h], [h, -h], [-h, -h]]) + mould.card_xy_mm
    return on_bench(mould, mould.seat, np.column_stack([square, np.full(4, CARD_LIFT_MM)]))


def edge_depth_mm(scene: Scene, i: int, time_s: float) -> float:
    """Depth of the strongest change of brightness down the far wall, found from the picture alone."""
    mould, view = scene.bench.moulds[i], scene.bench.view
    inside = scene.insides(time_s)[i]
    picture = cv2.cvtColor(scene.picture(time_s), cv2.COLOR_BGR2GRAY).astype(np.float32)
    depths = np.arange(2.8, 14.0, 0.1)
    away = np.array([mould.seat.x_mm, mould.seat.y_mm]) - view.eye_mm[:2]
    middle = np.arctan2(away[1], away[0])
    free = mould.profile.radius_mm(depths) - np.interp(depths, inside.depths_mm, inside.clay_mm)
    rows = []
    for a in middle + np.radians(np.linspace(-40, 40, 31)):
        x, y = mould.seat.x_mm + free * np.cos(a), mould.seat.y_mm + free * np.sin(a)
        spots = seen_by_opencv(view, np.column_stack([x, y, mould.height_mm - depths])).astype(np.float32)
        rows.append(cv2.remap(picture, spots[None, :, 0], spots[None, :, 1], cv2.INTER_LINEAR)[0])
    profile = cv2.GaussianBlur(np.mean(rows, axis=0)[None], (0, 0), 4)[0]
    return float(depths[int(np.argmax(np.gradient(profile)))])


def test_every_tag_is_decoded_where_opencv_projects_it(calm: Scene) -> None:
    found = tags_in(calm.picture(0.0))
    for tag in BENCH.sheet:
        h, (x, y, _) = tag.size_mm / 2, tag.centre_mm
        square = np.array([[x - h, y + h, 0], [x + h, y + h, 0], [x + h, y - h, 0], [x - h, y - h, 0]])
        assert np.abs(found[tag.tag_id] - seen_by_opencv(BENCH.view, square)).max() < 1.0
    for i, mould in enumerate(BENCH.moulds):
        expected = seen_by_opencv(BENCH.view, card_corners(BENCH, i))
        assert np.abs(found[mould.tag_id] - expected).max() < 1.0


@pytest.mark.parametrize(("i", "time_s"), [(0, 400.0), (0, 1200.0), (2, 900.0), (2, 2400.0)])
def test_the_slip_line_lies_where_the_truth_says(calm: Scene, i: int, time_s: float) -> None:
    level = calm.insides(time_s)[i].level_mm
    assert level is not None and 3.5 < level < 13.0
    assert edge_depth_mm(calm, i, time_s) == pytest.approx(level - RISE_MM, abs=0.4)


def test_a_deep_level_in_a_narrow_hole_is_out_of_sight(calm: Scene) -> None:
    """Beyond twice the radius over the tangent of the view the far wall's line is hidden (geometry)."""
    mould, view = BENCH.moulds[1], BENCH.view
    away = np.array([mould.seat.x_mm, mould.seat.y_mm, mould.height_mm]) - view.eye_mm
    steep = np.hypot(away[0], away[1]) / -away[2]
    level = calm.insides(1500.0)[1].level_mm
    radius = float(mould.profile.radius_mm(0.0))
    assert level is not None and level > 2 * radius / steep
    rim = seen_by_opencv(view, on_bench(mould, mould.seat, np.zeros((1, 3))))[0]
    picture = calm.picture(1500.0)
    hole = picture[int(rim[1]) - 2 : int(rim[1]) + 3, int(rim[0]) - 3 : int(rim[0]) + 4]
    assert hole.mean() < 0.85 * np.mean(BENCH.clay)


def test_a_knocked_camera_shows_the_sheet_where_its_new_place_says(calm: Scene) -> None:
    bump = Bump(100.0, (10.0, -8.0, 5.0), (0.8, 1.2, -0.5))
    scene = Scene(BENCH, Faults(bumps=(bump,)))
    knocked = scene.faults.view(BENCH, 200.0)
    found = tags_in(scene.picture(200.0))
    for tag in BENCH.sheet:
        middle = seen_by_opencv(knocked, np.array([tag.centre_mm]))[0]
        assert np.hypot(*(found[tag.tag_id].mean(axis=0) - middle)) < 0.8
        before = seen_by_opencv(BENCH.view, np.array([tag.centre_mm]))[0]
        assert np.hypot(*(middle - before)) > 5.0


def test_a_nudged_mould_moves_its_card_and_a_lifted_one_is_gone() -> None:
    nudges = (Nudge(100.0, "tea cup", (9.0, 5.0), 4.0), Nudge(100.0, "sauce bowl", there=False))
    found = tags_in(Scene(BENCH, Faults(nudges=nudges)).picture(150.0))
    still = tags_in(Scene(BENCH).picture(150.0))
    assert np.hypot(*(found[320] - still[320]).mean(axis=0)) > 4.0
    assert 322 in still and 322 not in found
    assert np.abs(found[321] - still[321]).max() < 0.7


def test_a_mould_pushed_before_another_hides_its_pour_hole() -> None:
    """The sauce bowl is pushed onto the line of sight to the bottle's hole, nearer to the camera."""
    bowl, bottle = BENCH.moulds[2], BENCH.moulds[1]
    eye, hole = np.array(BENCH.view.eye_mm), on_bench(bottle, bottle.seat, np.zeros((1, 3)))[0]
    tall = replace(bowl, height_mm=260.0)
    bench = replace(BENCH, moulds=(BENCH.moulds[0], bottle, tall))
    toward = (eye - hole)[:2] / np.hypot(*(eye - hole)[:2])
    place = hole[:2] + toward * (bottle.half_mm + bowl.half_mm * 1.5)
    push = tuple(float(v) for v in place - (bowl.seat.x_mm, bowl.seat.y_mm))
    free = Scene(bench).picture(300.0)
    hidden = Scene(bench, Faults(nudges=(Nudge(0.0, "sauce bowl", (push[0], push[1])),))).picture(300.0)
    x, y = seen_by_opencv(BENCH.view, hole[None])[0].astype(int)
    assert abs(free[y, x].astype(float) - np.array(BENCH.clay)).max() < 60
    side = hidden[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3).mean(axis=0)
    assert np.ptp(side) < 14 and side.mean() > 110


def test_a_lamp_brightens_and_a_hand_covers_the_hole_below_it() -> None:
    mould = BENCH.moulds[0]
    over = (mould.seat.x_mm, mould.seat.y_mm - 25.0, mould.height_mm + 40.0)
    faults = Faults((Hand(200.0, 220.0, over),), (LightChange(300.0, 400.0, (0.9, 1.0, 1.12)),))
    scene = Scene(BENCH, faults)
    rim = seen_by_opencv(BENCH.view, on_bench(mould, mould.seat, np.zeros((1, 3))))[0].astype(int)
    hidden, free, lit = scene.picture(210.0), scene.picture(250.0), scene.picture(350.0)
    skin = hidden[rim[1] - 3 : rim[1] + 4, rim[0] - 3 : rim[0] + 4].reshape(-1, 3).mean(axis=0)
    assert skin == pytest.approx(np.array(Hand(0, 0, over).skin), abs=6.0)
    assert lit[..., 2].mean() > 1.05 * free[..., 2].mean()
    assert lit[..., 0].mean() < 0.95 * free[..., 0].mean()


def test_the_same_moment_gives_the_same_picture_and_going_back_works(calm: Scene) -> None:
    first = calm.picture(420.0)
    calm.picture(900.0)
    assert np.array_equal(calm.picture(420.0), first)
    assert not np.array_equal(calm.picture(421.0), first)


def test_noise_is_as_strong_as_asked() -> None:
    scene = Scene(BENCH)
    a, b = scene.picture(0.0).astype(float), scene.picture(1.0).astype(float)
    assert (a - b).std() / np.sqrt(2) == pytest.approx(BENCH.noise, rel=0.1)


def test_the_simulator_shares_no_code_with_the_eyes() -> None:
    for path in Path(watcher.simulator.__file__).parent.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "watcher.vision" not in text and "watcher.tracking" not in text, path.name
