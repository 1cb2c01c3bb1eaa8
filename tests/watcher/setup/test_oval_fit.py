"""An oval rim from its points: exact, shaky, and not an oval at all."""

from __future__ import annotations

import numpy as np
import pytest
from bench_camera import CAMERA, LENS, TRUE, rim_px

from watcher.setup.oval_fit import OvalFit, fit_oval
from watcher.setup.rim_fit import NoRim

CENTRE, AXES, TURN = (40.0, 60.0, 118.0), (70.0, 44.0), 25.0


def oval_px(degrees, turn_deg=TURN, axes=AXES):
    t, a = np.radians(degrees), np.radians(turn_deg)
    own = np.column_stack((0.5 * axes[0] * np.cos(t), 0.5 * axes[1] * np.sin(t)))
    flat = own @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    points = np.column_stack((flat, np.zeros(len(t)))) + CENTRE
    return TRUE.project(points @ CAMERA.rotation.T + CAMERA.shift_mm)


@pytest.mark.parametrize("turn_deg", [0.0, 25.0, 89.0, -40.0])
def test_exact_points_give_centre_axes_and_turn(turn_deg):
    fit = fit_oval(oval_px(range(0, 360, 51), turn_deg), CAMERA, LENS, 118.0)
    assert isinstance(fit, OvalFit)
    assert fit.centre_mm == pytest.approx(CENTRE, abs=0.01)
    assert fit.axes_mm == pytest.approx(AXES, abs=0.02)
    assert fit.turn_deg == pytest.approx(turn_deg, abs=0.05)


def test_shaky_taps_miss_by_as_much_as_the_spread_says():
    rng = np.random.default_rng(4)
    exact = oval_px(range(0, 360, 45))
    fits = [fit_oval(exact + rng.normal(0.0, 1.5, exact.shape), CAMERA, LENS, 118.0) for _ in range(100)]
    missed = np.array([np.subtract(fit.centre_mm, CENTRE)[:2] for fit in fits])
    worst = np.sqrt(np.linalg.eigvalsh(missed.T @ missed / len(missed))[-1])
    assert worst == pytest.approx(np.median([fit.centre_sigma_mm for fit in fits]), rel=0.3)


def test_a_round_hole_is_an_oval_of_equal_axes():
    fit = fit_oval(rim_px(CENTRE, 25.0, range(0, 360, 40)), CAMERA, LENS, 118.0)
    assert fit.axes_mm == pytest.approx((50.0, 50.0), abs=0.02)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        (oval_px([0, 90, 180, 270]), "4 points were given; an oval needs at least 5"),
        (np.array([[600.0 + 10.0 * n, 300.0 + 5.0 * n] for n in range(6)]), "on one line"),
        (oval_px([10, 14, 18, 22, 26, 30]), "do not tell an oval"),
        (oval_px(range(0, 360, 45)) + np.array([[0, 0], [18, 9]] * 4), "px about the best oval"),
        (np.array([[600.0, -2000.0], *oval_px(range(0, 360, 72))]), "looks past the bench"),
    ],
)
def test_points_that_tell_no_oval_are_refused(points, said):
    found = fit_oval(np.asarray(points, float), CAMERA, LENS, 118.0)
    assert isinstance(found, NoRim)
    assert said in found.why
