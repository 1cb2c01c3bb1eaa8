"""Tags drawn by an independent rule (area coverage in linear light, blur, sRGB) and their corners."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from watcher.records.layout import Lens, SheetTag
from watcher.vision.pose import camera_from_sheet, sheet_corners, square, turn
from watcher.vision.tags import find_tags, measure_tag

LENS = Lens(640, 480, 600.0, 600.0, 319.5, 239.5)


def draw_tags(
    world: list[tuple[int, np.ndarray]], rotation: np.ndarray, shift: np.ndarray, blur_px: float
) -> np.ndarray:
    """Draw tags (id, corners (4, 3)) on a grey-white ground; light is blurred before it is coded."""
    over = 6
    light = np.full((480 * over, 640 * over), 0.62, np.float32)
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    for tag, corners in world:
        pattern = cv2.aruco.generateImageMarker(book, tag, 800).astype(np.float32) / 255.0
        pattern = 0.02 + 0.6 * pattern
        inside = corners @ rotation.T + shift
        xy = inside[:, :2] / inside[:, 2:] * 600.0 + np.array([319.5, 239.5])
        target = ((xy + 0.5) * over - 0.5).astype(np.float32)
        source = np.array([[-0.5, -0.5], [799.5, -0.5], [799.5, 799.5], [-0.5, 799.5]], np.float32)
        warp = cv2.getPerspectiveTransform(source, target)
        drawn = cv2.warpPerspective(pattern, warp, (640 * over, 480 * over), flags=cv2.INTER_AREA)
        covered = cv2.warpPerspective(np.ones_like(pattern), warp, (640 * over, 480 * over))
        light = np.where(covered > 0.5, drawn, light)
    light = cv2.GaussianBlur(light, (0, 0), blur_px * over)
    light = cv2.resize(light, (640, 480), interpolation=cv2.INTER_AREA)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    grey = np.clip(np.round(255.0 * coded), 0, 255).astype(np.uint8)
    return np.repeat(grey[:, :, None], 3, axis=2)


SHEET = tuple(
    SheetTag(i, 60.0, (x, y, 0.0))
    for i, (x, y) in enumerate([(-62.0, 62.0), (62.0, 62.0), (-62.0, -62.0), (62.0, -62.0)])
)
ROTATION = turn(135.0, 0.0, 8.0)
SHIFT = np.array([6.0, -4.0, 560.0])


@pytest.fixture(scope="module")
def picture() -> np.ndarray:
    return draw_tags([(t.tag_id, sheet_corners(t)) for t in SHEET], ROTATION, SHIFT, 1.1)


def true_corners(tag: SheetTag) -> np.ndarray:
    inside = sheet_corners(tag) @ ROTATION.T + SHIFT
    return inside[:, :2] / inside[:, 2:] * 600.0 + np.array([319.5, 239.5])


def test_corners_of_a_blurred_tag_are_found_where_they_were_drawn(picture: np.ndarray) -> None:
    found = find_tags(picture, "DICT_APRILTAG_36h11", frozenset(range(4)))
    for tag in SHEET:
        seen = measure_tag(picture, found[tag.tag_id], LENS, 2)
        assert seen is not None
        away = np.abs(seen.corners_px - true_corners(tag)).max()
        assert away < 0.12


def test_half_way_in_the_cameras_gamma_would_read_the_tag_too_small(picture: np.ndarray) -> None:
    """The trap itself: OpenCV's sub-pixel corners on the coded picture lie inside the black square."""
    found = find_tags(picture, "DICT_APRILTAG_36h11", frozenset(range(4)))
    grey = np.ascontiguousarray(picture[..., 0])
    for tag in SHEET:
        corners = found[tag.tag_id].astype(np.float32).reshape(-1, 1, 2)
        criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 50, 0.001)
        plain = cv2.cornerSubPix(grey, corners, (4, 4), (-1, -1), criteria).reshape(4, 2)
        ours = measure_tag(picture, found[tag.tag_id], LENS, 2)
        assert ours is not None
        true = true_corners(tag)
        assert np.abs(ours.corners_px - true).mean() < 0.5 * np.abs(plain - true).mean()


def test_the_camera_is_found_from_the_sheet(picture: np.ndarray) -> None:
    found = find_tags(picture, "DICT_APRILTAG_36h11", frozenset(range(4)))
    seen = {k: measure_tag(picture, v, LENS, 2) for k, v in found.items()}
    camera = camera_from_sheet({k: v.corners for k, v in seen.items() if v is not None}, SHEET, 600.0)
    assert camera is not None
    assert np.allclose(camera.eye_mm(), -ROTATION.T @ SHIFT, atol=1.0)
    assert camera.fit_px < 0.1


def test_sheet_corners_that_fit_no_sheet_give_no_camera(picture: np.ndarray) -> None:
    found = find_tags(picture, "DICT_APRILTAG_36h11", frozenset(range(4)))
    seen = {k: measure_tag(picture, v, LENS, 2) for k, v in found.items()}
    corners = {k: v.corners for k, v in seen.items() if v is not None}
    corners[2] = corners[2] + np.array([0.03, 0.0])
    assert camera_from_sheet(corners, SHEET, 600.0) is None


def test_a_tags_square_runs_round_from_top_left() -> None:
    assert square(20.0).tolist() == [[-10, 10, 0], [10, 10, 0], [10, -10, 0], [-10, -10, 0]]
