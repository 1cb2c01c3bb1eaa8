"""The rim from points of the picture: exact circles in perspective, an unsteady finger, bad taps."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from bench_camera import CAMERA, LENS, TRUE, camera_at, rim_px
from photographed import TrueLens, turned

from watcher.records.layout import Lens
from watcher.setup.rim_fit import NoRim, RimFit, fit_rim, from_tag
from watcher.vision.pose import CameraPose, CardPose


@pytest.mark.parametrize(
    # circle R 20 mm, Z 800 mm, f 1000 px: ellipse's centre minus the projected centre, by exact projection
    ("tilt_deg", "bias_px"),
    [(0.0, 0.0), (30.0, -0.271), (45.0, -0.313), (60.0, -0.271)],
)
def test_the_circles_centre_is_found_where_the_ellipses_centre_is_wrong(tilt_deg, bias_px):
    plain = TrueLens(1280, 720, 1000.0, 640.0, 360.0)
    # the circle is the bench's plane z = 0 about its origin; the camera 800 mm away, tilted against it
    a = np.radians(tilt_deg)
    camera = (
        camera_at((0.0, -800.0 * np.sin(a), 800.0 * np.cos(a)), (0.0, 0.0, 0.0))
        if tilt_deg
        else CameraPose(np.diag([1.0, -1.0, -1.0]), np.array([0.0, 0.0, 800.0]), 0.0, 0.0)
    )
    edge = rim_px((0.0, 0.0, 0.0), 20.0, np.arange(0, 360, 5), plain, camera)
    (_, ellipse_y), _, _ = cv2.fitEllipseDirect(edge.astype(np.float32).reshape(-1, 1, 2))
    middle = plain.project(camera.shift_mm[None])[0]
    assert abs(ellipse_y - middle[1]) == pytest.approx(abs(bias_px), abs=0.006)
    lens = Lens(1280, 720, 1000.0, 1000.0, 640.0, 360.0)
    fit = fit_rim(edge, camera, lens, height_mm=0.0)
    assert isinstance(fit, RimFit)
    assert fit.centre_mm == pytest.approx((0.0, 0.0, 0.0), abs=1e-4)
    assert fit.diameter_mm == pytest.approx(40.0, abs=1e-4)


def test_three_exact_points_and_the_height_give_centre_and_diameter():
    fit = fit_rim(rim_px((40.0, 60.0, 118.0), 27.0, [10, 130, 250]), CAMERA, LENS, height_mm=118.0)
    assert fit.centre_mm == pytest.approx((40.0, 60.0, 118.0), abs=1e-3)
    assert fit.diameter_mm == pytest.approx(54.0, abs=1e-3)
    assert 0.3 < fit.centre_sigma_mm < 3.0


def test_three_exact_points_and_the_calliper_give_the_height():
    fit = fit_rim(rim_px((-70.0, 20.0, 95.0), 31.0, [0, 100, 220]), CAMERA, LENS, diameter_mm=62.0)
    assert fit.centre_mm == pytest.approx((-70.0, 20.0, 95.0), abs=1e-2)
    assert fit.diameter_sigma_mm == 0.0


def test_an_unsteady_finger_misses_by_as_much_as_it_is_told_to():
    rng = np.random.default_rng(11)
    true = np.array([40.0, 60.0, 118.0])
    exact = rim_px(true, 27.0, np.arange(0, 360, 60))
    fits = [
        fit_rim(exact + rng.normal(0.0, 1.5, exact.shape), CAMERA, LENS, height_mm=118.0) for _ in range(200)
    ]
    missed = np.array([np.subtract(fit.centre_mm, true)[:2] for fit in fits])
    worst = np.sqrt(np.linalg.eigvalsh(missed.T @ missed / len(missed))[-1])
    assert worst == pytest.approx(np.median([fit.centre_sigma_mm for fit in fits]), rel=0.25)
    wide = np.array([fit.diameter_mm - 54.0 for fit in fits])
    assert wide.std() == pytest.approx(np.median([fit.diameter_sigma_mm for fit in fits]), rel=0.25)


def test_a_sloping_bench_is_reckoned_with():
    up = np.array([0.05, -0.03, 1.0])
    up /= np.linalg.norm(up)
    side = np.cross(up, [0.0, 1.0, 0.0])
    side /= np.linalg.norm(side)
    centre = np.array([20.0, 30.0, 100.0])
    turns = np.radians(np.arange(0, 360, 40))
    points = centre + 30.0 * (np.cos(turns)[:, None] * side + np.sin(turns)[:, None] * np.cross(up, side))
    px = TRUE.project(points @ CAMERA.rotation.T + CAMERA.shift_mm)
    fit = fit_rim(px, CAMERA, LENS, height_mm=float(centre @ up), up=tuple(up))
    assert fit.centre_mm == pytest.approx(tuple(centre), abs=1e-2)
    assert fit.diameter_mm == pytest.approx(60.0, abs=1e-2)


def test_the_centre_is_told_in_the_cards_own_axes():
    # a card turned by a quarter to the left: its right is the bench's away, its up the bench's left
    card = CardPose(turned(z_deg=90.0), np.array([100.0, 20.0, 80.0]), 0.1)
    assert from_tag((60.0, 50.0, 79.65), card) == pytest.approx((30.0, 40.0, -0.35))


@pytest.mark.parametrize(
    ("points", "how", "said"),
    [
        (rim_px((0, 0, 100.0), 30.0, [0, 90]), {"height_mm": 100.0}, "2 points were given; give at least 3"),
        (rim_px((0, 0, 100.0), 30.0, [0, 90, 180]), {}, "neither the rim's height nor its diameter"),
        (np.array([[600.0, 300.0], [610.0, 310.0], [620.0, 320.0]]), {"height_mm": 100.0}, "on one line"),
        (np.array([[600.0, 300.0]] * 4), {"height_mm": 100.0}, "on one line or on one spot"),
        (
            rim_px((0, 0, 100.0), 30.0, [80, 84, 88]),
            {"height_mm": 100.0},
            "the points leave the rim's centre open",
        ),
        (
            rim_px((0, 0, 100.0), 30.0, range(0, 360, 45)) + np.array([[0, 0], [15, 9]] * 4),
            {"height_mm": 100.0},
            "px about the best circle; tap the rim's edge again",
        ),
        (
            rim_px((0, 0, 100.0), 30.0, range(0, 360, 45)),
            {"height_mm": 100.0, "diameter_mm": 70.0},
            "the rim looks 60.0 mm wide and was measured as 70 mm",
        ),
        (rim_px((0, 0, 100.0), 2.0, range(0, 360, 45)), {"height_mm": 100.0}, "would be 4 mm wide"),
        (
            np.array([[600.0, -2000.0], [700.0, 300.0], [650.0, 340.0]]),
            {"height_mm": 0.0},
            "looks past the bench",
        ),
    ],
)
def test_points_that_tell_no_rim_are_refused_in_a_sentence(points, how, said):
    found = fit_rim(np.asarray(points, float), CAMERA, LENS, **how)
    assert isinstance(found, NoRim)
    assert said in found.why


def test_a_measured_diameter_that_agrees_is_taken():
    fit = fit_rim(
        rim_px((0, 0, 100.0), 30.0, range(0, 360, 45)), CAMERA, LENS, height_mm=100.0, diameter_mm=61.0
    )
    assert isinstance(fit, RimFit)
