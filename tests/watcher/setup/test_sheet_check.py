"""A sheet that curls or was stretched by the printer is noticed and put into words."""

from __future__ import annotations

import numpy as np
import pytest
from bench_camera import CAMERA

from watcher.setup.bench_sheet import bench_sheet
from watcher.setup.sheet_check import check_sheet
from watcher.vision.pose import camera_from_sheet

SQUARE = np.array([[-0.5, 0.5], [0.5, 0.5], [0.5, -0.5], [-0.5, -0.5]])


def seen(height=lambda x, y: 0.0 * x, stretch=0.0, noise_px=0.05, seed=1, scale=1.0):
    """Straightened corners of the sheet as it really lies."""
    rng = np.random.default_rng(seed)
    found = {}
    for tag in bench_sheet():
        x, y = (SQUARE * tag.size_mm + tag.centre_mm[:2]).T * scale
        points = np.column_stack((x, y * (1.0 + stretch), height(x, y)))
        inside = points @ CAMERA.rotation.T + CAMERA.shift_mm
        plane = inside[:, :2] / inside[:, 2:]
        found[tag.tag_id] = plane + rng.normal(0.0, noise_px, plane.shape) / 1060.0
    return found


def checked(**how):
    return check_sheet(seen(**how), bench_sheet(), CAMERA, 1060.0)


def test_a_flat_square_sheet_has_no_warning_whatever_the_noise():
    for seed in range(10):
        found = checked(seed=seed)
        assert found.warnings == ()
        assert found.bulge_mm < 1.0
        assert found.fit_px < 0.12


@pytest.mark.parametrize(
    # a sheet that bows up between its ends, one that lifts along its long side, one twisted
    "height",
    [
        lambda x, y: 6.0 * (x / 128.0) ** 2,
        lambda x, y: 6.0 * (y / 88.0) ** 2,
        lambda x, y: 4.0 * x * y / (128.0 * 88.0),
    ],
)
def test_a_sheet_that_is_not_flat_is_noticed(height):
    found = checked(height=height)
    assert any("the bench sheet is not flat" in said and "tape it down" in said for said in found.warnings)
    x, y = np.array([SQUARE * t.size_mm + t.centre_mm[:2] for t in bench_sheet()]).reshape(-1, 2).T
    plane = np.column_stack((x, y, np.ones_like(x)))
    off = height(x, y) - plane @ np.linalg.lstsq(plane, height(x, y), rcond=None)[0]
    assert found.bulge_mm == pytest.approx(np.abs(off).max(), abs=max(0.8, 3.0 * found.bulge_sigma_mm))


def test_a_print_longer_one_way_is_noticed():
    found = checked(stretch=0.02)
    assert found.stretch == pytest.approx(0.02, abs=4.0 * found.stretch_sigma)
    assert any("2.0 % too long one way" in said or "1.9 % too long" in said for said in found.warnings)


def test_a_print_smaller_as_a_whole_cannot_be_told_from_a_camera_further_away():
    assert checked(scale=0.95).warnings == ()


def test_the_cameras_place_scatters_by_as_much_as_it_is_said_to():
    said, places, turns = [], [], []
    for seed in range(60):
        corners = seen(seed=seed, noise_px=0.08)
        found = camera_from_sheet(corners, bench_sheet(), 1060.0)
        places.append(found.eye_mm() - CAMERA.eye_mm())
        between = np.trace(found.rotation @ CAMERA.rotation.T)
        turns.append(np.degrees(np.arccos(np.clip(0.5 * (between - 1.0), -1.0, 1.0))))
        said.append(check_sheet(corners, bench_sheet(), found, 1060.0))
    worst = np.sqrt(np.linalg.eigvalsh(np.cov(np.array(places).T))[-1])
    assert np.median([one.place_sigma_mm for one in said]) == pytest.approx(worst, rel=0.35)
    # the spread is about the worst axis, the turn found about all three
    assert 0.6 < np.sqrt(np.mean(np.square(turns))) / np.median([one.turn_sigma_deg for one in said]) < 2.0


def test_two_tags_tell_nothing_of_bending():
    two = {tag: corners for tag, corners in seen().items() if tag < 2}
    assert check_sheet(two, bench_sheet(), CAMERA, 1060.0) is None
