"""The lens fit against OpenCV's published calibration, and against constants put into made corner sets."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from watcher.setup.lens_fit import CornerSet, fit_lens

TABLE = Path(__file__).resolve().parents[2] / "known_values" / "opencv_left_corners.csv"


def published_corners() -> list[CornerSet]:
    rows = np.genfromtxt(TABLE, delimiter=",", comments="#", skip_header=4, usecols=(2, 3)).reshape(13, 54, 2)
    board = np.zeros((54, 3))
    board[:, :2] = np.mgrid[0:9, 0:6].T.reshape(-1, 2) * 25.0
    return [CornerSet(board, view) for view in rows]


def test_opencvs_own_pictures_give_its_published_lens():
    fit = fit_lens(published_corners(), 640, 480, square=True, third=True)
    # opencv/opencv samples/data/left_intrinsics.yml: f 535.9157, c (342.2832, 235.5708),
    # D (-.266373, -.038589, .00178319, -.000281221, .238392), 0.39259 px over all, per view .16 to 1.18
    assert fit.lens.fx_px == fit.lens.fy_px == pytest.approx(535.9157, abs=0.05)
    assert (fit.lens.cx_px, fit.lens.cy_px) == pytest.approx((342.2832, 235.5708), abs=0.05)
    assert fit.lens.distortion == pytest.approx(
        (-0.266373, -0.038589, 0.00178319, -0.000281221, 0.238392), abs=1e-3
    )
    assert fit.fit_px == pytest.approx(0.39259, abs=0.001)
    assert fit.view_fit_px[0] == pytest.approx(0.192965, abs=0.001)
    assert fit.view_fit_px[1] == pytest.approx(1.18204820, abs=0.003)


def test_left_to_itself_the_fit_finds_those_pixels_square_and_the_same_focal_length():
    fit = fit_lens(published_corners(), 640, 480)
    assert fit.lens.fx_px == fit.lens.fy_px == pytest.approx(535.9157, rel=0.004)


def made_views(fx: float, fy: float, bent: tuple[float, ...], noise_px: float) -> list[CornerSet]:
    """Corner sets of a known lens, projected by OpenCV's own projection."""
    rng = np.random.default_rng(3)
    board = np.zeros((40, 3))
    board[:, :2] = np.mgrid[0:8, 0:5].T.reshape(-1, 2) * 28.0 - (98.0, 56.0)
    matrix = np.array([[fx, 0.0, 650.0], [0.0, fy, 350.0], [0.0, 0.0, 1.0]])
    views = []
    for _ in range(20):
        turn = rng.uniform(-0.6, 0.6, 3)
        place = np.array([rng.uniform(-150, 150), rng.uniform(-70, 70), rng.uniform(350, 700)])
        pixels = cv2.projectPoints(board, turn, place, matrix, np.array(bent))[0].reshape(-1, 2)
        views.append(CornerSet(board, pixels + rng.normal(0.0, noise_px, pixels.shape)))
    return views


def test_a_known_lens_comes_back_within_its_own_spread():
    fit = fit_lens(made_views(1060.0, 1060.0, (-0.1, 0.05, 0.0005, -0.0005, 0.0), 0.2), 1280, 720)
    assert abs(fit.lens.fx_px - 1060.0) < 3.0 * fit.focal_sigma_px < 6.0
    assert np.hypot(fit.lens.cx_px - 650.0, fit.lens.cy_px - 350.0) < 3.0 * fit.centre_sigma_px
    assert fit.lens.distortion[4] == 0.0  # the third number is not told by these views, and is left out
    assert fit.fit_px == pytest.approx(0.2 * np.sqrt(2.0), rel=0.1)


def test_pixels_that_are_not_square_are_believed_when_the_views_say_so():
    fit = fit_lens(made_views(1060.0, 1100.0, (-0.1, 0.05, 0.0, 0.0, 0.0), 0.2), 1280, 720)
    assert fit.lens.fy_px / fit.lens.fx_px == pytest.approx(1100.0 / 1060.0, abs=0.002)
