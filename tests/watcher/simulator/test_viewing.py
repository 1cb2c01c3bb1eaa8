"""The simulated camera against OpenCV's own projection."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from watcher.records.layout import Lens
from watcher.simulator.viewing import View, looking_at

LENS = Lens(1280, 720, 1040.0, 1055.0, 633.2, 366.9, (-0.14, 0.05, 0.0006, -0.0005, 0.01))
EYE, TARGET = (40.0, -470.0, 610.0), (-20.0, 130.0, 60.0)


def opencv_picture(view: View, points: np.ndarray) -> np.ndarray:
    """Where OpenCV puts bench points."""
    axes = np.array(view.axes)
    matrix = np.array(
        [[view.lens.fx_px, 0, view.lens.cx_px], [0, view.lens.fy_px, view.lens.cy_px], [0, 0, 1.0]]
    )
    turn, shift = cv2.Rodrigues(axes)[0], -axes @ np.array(view.eye_mm)
    return cv2.projectPoints(points, turn, shift, matrix, np.array(view.lens.distortion))[0].reshape(-1, 2)


def circle(radius_mm: float, height_mm: float) -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, 90)
    return np.column_stack([radius_mm * np.cos(a), 120 + radius_mm * np.sin(a), np.full(90, height_mm)])


@pytest.mark.parametrize("knocked", [False, True])
@pytest.mark.parametrize(("radius_mm", "height_mm"), [(11.0, 150.0), (55.0, 80.0), (240.0, 0.0)])
def test_circles_are_drawn_where_opencv_projects_them(
    radius_mm: float, height_mm: float, knocked: bool
) -> None:
    view = looking_at(LENS, EYE, TARGET)
    if knocked:
        view = view.moved((12.0, -9.0, 6.0), (1.5, -2.0, 0.8))
    points = circle(radius_mm, height_mm)
    assert np.abs(view.project(points) - opencv_picture(view, points)).max() < 1e-6


def test_a_ray_goes_back_to_the_point_that_it_was_projected_from() -> None:
    view = looking_at(LENS, EYE, TARGET)
    points = circle(200.0, 90.0)
    rays = view.rays(view.project(points))
    share = (90.0 - EYE[2]) / rays[:, 2]
    assert np.abs(np.array(EYE) + share[:, None] * rays - points).max() < 0.01


def test_the_camera_stands_level_and_sees_its_target_in_the_middle_of_the_lens() -> None:
    view = looking_at(LENS, EYE, TARGET)
    seen = view.project(np.array([TARGET, (TARGET[0] + 10, TARGET[1], TARGET[2])]))
    assert seen[0] == pytest.approx((LENS.cx_px, LENS.cy_px), abs=1e-6)
    assert view.axes[0][2] == pytest.approx(0.0, abs=1e-12)
    assert seen[1][0] > seen[0][0]


def test_a_camera_cannot_look_straight_down() -> None:
    with pytest.raises(ValueError, match="straight down"):
        looking_at(LENS, (0.0, 0.0, 500.0), (0.0, 0.0, 0.0))
