"""Holes, strips and cards against OpenCV's projection and plain geometry."""

from __future__ import annotations

import math
from types import MappingProxyType

import cv2
import numpy as np
import pytest

from models.mould import checked_mould
from watcher.records.layout import Lens, SheetTag
from watcher.vision.holes import HolePlace, level_tilt, shapes, visible, wall_points
from watcher.vision.lens import to_pixels, to_rays, usable_lens
from watcher.vision.lighting import LINEAR
from watcher.vision.pose import CameraPose, card_from_corners, sheet_corners, square, turn
from watcher.vision.strip import pixels_at, plan_strip

LENS = Lens(1280, 720, 1060.0, 1050.0, 640.0, 355.0, (-0.12, 0.05, 0.0006, -0.0008, 0.01))
ROTATION = turn(135.0, 0.0, 4.0)
EYE = np.array([20.0, -420.0, 560.0])
CAMERA = CameraPose(ROTATION, -ROTATION @ EYE, 0.0, 0.05)
JUG = shapes(checked_mould("jug", [[0, 60], [30, 52], [60, 80], [100, 60]]))[0]
PLACE = HolePlace(np.array([30.0, 80.0, 120.0]), 0.3)
UP = (0.0, 0.0, 1.0)


def by_opencv(points: np.ndarray) -> np.ndarray:
    matrix = np.array([[1060.0, 0, 640.0], [0, 1050.0, 355.0], [0, 0, 1]])
    turned = cv2.Rodrigues(CAMERA.rotation)[0]
    return cv2.projectPoints(points, turned, CAMERA.shift_mm, matrix, np.array(LENS.distortion))[0].reshape(
        -1, 2
    )


def test_points_fall_where_opencv_projects_them() -> None:
    points = np.random.default_rng(1).uniform(-150.0, 200.0, (40, 3))
    assert np.allclose(to_pixels(CAMERA.to_camera(points), LENS), by_opencv(points), atol=1e-6)


def test_rays_undo_the_projection() -> None:
    points = CAMERA.to_camera(np.random.default_rng(2).uniform(-120.0, 120.0, (30, 3)))
    rays = to_rays(to_pixels(points, LENS), LENS)
    assert np.allclose(rays, points[:, :2] / points[:, 2:], atol=1e-4)


def test_grey_levels_become_light_as_iec_61966_2_1_has_it() -> None:
    """Three levels by the standard's formula, worked by hand."""
    assert LINEAR[0] == 0.0
    assert LINEAR[10] == pytest.approx(10 / 255 / 12.92, rel=1e-5)
    assert LINEAR[188] == pytest.approx(((188 / 255 + 0.055) / 1.055) ** 2.4, rel=1e-5)


def test_the_strips_rows_are_circles_of_the_bore_less_the_film() -> None:
    strip = plan_strip(JUG, PLACE, CAMERA, LENS, UP)
    film = np.full(strip.depths_mm.size, 1.7)
    pixels = pixels_at(strip, film, np.zeros(2))
    j, k = 60, 20
    depth = strip.depths_mm[j]
    away = PLACE.rim_mm[:2] - EYE[:2]
    azimuth = math.atan2(away[1], away[0]) + strip.psi[k]
    radius = np.interp(depth, [0, 30, 60], [30, 26, 40]) - 1.7
    point = PLACE.rim_mm + np.array([radius * math.cos(azimuth), radius * math.sin(azimuth), -depth])
    assert np.allclose(pixels[j, k], by_opencv(point[None])[0], atol=0.05)


def test_the_near_rim_hides_the_far_wall_below_the_depth_that_geometry_gives() -> None:
    """Straight below the far rim, the ray to the eye passes the rim plane 2R nearer at d = 2R / tan(view)."""
    straight = shapes(checked_mould("tube", [[0, 40], [90, 40]]))[0]
    away = PLACE.rim_mm - EYE
    far = math.atan2(away[1], away[0])
    depths = np.arange(0.0, 80.0, 0.25)
    points = wall_points(straight, PLACE, depths, np.array([far, far + 0.01]), np.zeros(depths.size), UP)
    seen = visible(straight, PLACE, points, EYE, np.zeros(depths.size), depths, 0.0)[:, 0]
    last = depths[np.flatnonzero(seen)[-1]]
    across = math.hypot(away[0], away[1]) + 20.0
    expected = next(d for d in depths if (across * d / (-away[2] + d)) > 40.0)
    assert last == pytest.approx(expected, abs=0.5)


def test_on_a_sloping_bench_the_liquids_edge_leans_by_the_slope() -> None:
    """Two degrees down along +x: the surface stands 2 R tan(2 deg) higher at one side than opposite."""
    up = (math.sin(math.radians(2.0)), 0.0, math.cos(math.radians(2.0)))
    tilt = level_tilt(up, np.array([0.0, math.pi]))
    assert tilt[0] - tilt[1] == pytest.approx(2.0 * math.tan(math.radians(2.0)))


@pytest.mark.parametrize("tilt_deg", [0.0, 90.0])
def test_a_card_flat_on_top_or_upright_on_the_side_is_placed(tilt_deg: float) -> None:
    rotation = turn(tilt_deg, 0.0, 12.0)
    centre = np.array([-60.0, 90.0, 130.0])
    corners = square(30.0) @ rotation.T + centre
    inside = CAMERA.to_camera(corners)
    card = card_from_corners(inside[:, :2] / inside[:, 2:], 30.0, CAMERA, 1060.0)
    assert card is not None
    assert np.allclose(card.centre_mm, centre, atol=0.1)
    assert np.allclose(card.rotation, rotation, atol=0.01)


def test_noise_moves_the_rim_of_a_level_card_less_in_the_picture_than_a_free_card_would() -> None:
    """The trap: a tag's tilt is weak; left free it throws the rim's centre, imposed level it does not."""
    rng = np.random.default_rng(4)
    rotation, centre = turn(0.0, 0.0, 5.0), np.array([120.0, 150.0, 140.0])
    to_rim = np.array([50.0, 48.0, -0.35])
    inside = CAMERA.to_camera(square(26.0) @ rotation.T + centre)
    plane = inside[:, :2] / inside[:, 2:]
    ours, free = [], []
    for _ in range(40):
        noisy = plane + rng.normal(0.0, 0.1 / 1060.0, (4, 2))
        card = card_from_corners(noisy, 26.0, CAMERA, 1060.0)
        assert card is not None
        ours.append(by_opencv((card.centre_mm + card.rotation @ to_rim)[None])[0])
        _, rvec, tvec = cv2.solvePnP(
            square(26.0), noisy.reshape(-1, 1, 2), np.eye(3), np.zeros(5), flags=cv2.SOLVEPNP_IPPE_SQUARE
        )
        loose = CAMERA.rotation.T @ cv2.Rodrigues(rvec)[0]
        at = CAMERA.rotation.T @ (tvec.ravel() - CAMERA.shift_mm)
        free.append(by_opencv((at + loose @ to_rim)[None])[0])
    assert np.std(ours, axis=0).max() < 0.9 * np.std(free, axis=0).max()


def test_a_strip_of_tags_on_a_wall_stands_upright() -> None:
    tag = SheetTag(7, 40.0, (0.0, 300.0, 60.0), rotation_deg=(90.0, 0.0, 0.0))
    corners = sheet_corners(tag)
    assert np.allclose(corners[:, 1], 300.0)
    assert np.allclose(corners[0], [-20.0, 300.0, 80.0])


def test_a_lens_measured_at_another_size_is_scaled_and_another_shape_refused() -> None:
    half = usable_lens(Lens(1280, 720, 1000.0, 1000.0, 639.5, 359.5), 360, 640)
    assert half.fx_px == 500.0
    assert half.cx_px == pytest.approx(319.5)
    with pytest.raises(ValueError, match="640 x 480"):
        usable_lens(Lens(1280, 720, 1000.0, 1000.0, 639.5, 359.5), 480, 640)


def test_memory_cannot_be_changed_in_place() -> None:
    from watcher.vision.memory import Eyes

    eyes = Eyes()
    assert isinstance(eyes.moulds, MappingProxyType)
    with pytest.raises(AttributeError):
        eyes.looks = 3
