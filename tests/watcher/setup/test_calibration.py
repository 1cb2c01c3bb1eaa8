"""The lens from photographs of the printed board; poor sets refused with what is missing."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from board_photographs import BOARD_LENS, BOARD_POSES, board_shot, printed_board
from photographed import FlatPage, TrueLens, facing, photograph

from watcher.setup.board_view import BoardView, NoView, moved_px, see_board
from watcher.setup.calibration import LensFound, LensRefused, calibrate
from watcher.setup.coverage import Stance, coverage, is_new, stance
from watcher.setup.lens_board import LensBoard

BOARD = LensBoard()
LENS, POSES = BOARD_LENS, BOARD_POSES
shot = board_shot


@pytest.fixture(scope="module")
def printed() -> tuple[np.ndarray, float]:
    return printed_board()


@pytest.fixture(scope="module")
def views(printed) -> list[BoardView]:
    found = [see_board(shot(printed, *pose, seed=n), BOARD, f"view {n}") for n, pose in enumerate(POSES)]
    assert all(isinstance(one, BoardView) for one in found)
    return found


def test_ten_photographs_of_the_printed_board_give_the_lens_that_took_them(views):
    found = calibrate(views, BOARD)
    assert isinstance(found, LensFound)
    assert found.lens.fx_px == pytest.approx(1060.0, rel=0.003)
    assert (found.lens.cx_px, found.lens.cy_px) == pytest.approx((651.2, 352.7), abs=4.0)
    assert found.fit.fit_px < 0.2
    # what counts: where the lens sends the edge of the picture, against the lens that took it
    edge = np.array([[x, y, 1.0] for x in (-0.5, 0.0, 0.5) for y in (-0.28, 0.0, 0.28)])
    mine = found.lens
    matrix = np.array([[mine.fx_px, 0, mine.cx_px], [0, mine.fy_px, mine.cy_px], [0, 0, 1.0]])
    seen = cv2.projectPoints(edge, np.zeros(3), np.zeros(3), matrix, np.array(mine.distortion))[0].reshape(
        -1, 2
    )
    assert np.abs(seen - LENS.project(edge)).max() < 3.0


def test_a_set_without_tilted_views_is_refused_and_says_which(views):
    refused = calibrate([views[0], views[9], *views[3:9]], BOARD)
    assert isinstance(refused, LensFound)  # the corner views are tilted too
    flat = calibrate([views[0], views[9]], BOARD)
    assert isinstance(flat, LensRefused)
    assert "the board with its left side tilted back" in flat.missing
    assert "the board in the lower right corner of the picture" in flat.missing
    assert "6 more views" in flat.missing
    assert flat.why.startswith("still missing: ")


def test_each_missing_view_is_named_alone(views):
    stances = [stance(view, BOARD) for view in views]
    assert coverage(views, stances).missing == ()
    near_left_out = coverage(views[1:], stances[1:]).missing
    assert near_left_out == ("the board near, filling a third of the picture",)
    corner_left_out = [n for n in range(len(views)) if n != 5]
    assert coverage([views[n] for n in corner_left_out], [stances[n] for n in corner_left_out]).missing == (
        "the board in the upper left corner of the picture",
    )
    assert coverage([], []).missing[-1] == "8 more views"


def test_a_tilt_is_told_by_the_side_that_lies_back(views):
    stances = [stance(view, BOARD) for view in views]
    for pose, found in zip(POSES, stances, strict=True):
        axes = facing(*pose[0])
        normal = axes[:, 2]
        wanted = np.degrees(np.arcsin([normal[0], normal[1]]))
        assert found.tilt_deg == pytest.approx(wanted, abs=2.5)
    right_back = facing(0, -32, 0)[:, 0]
    assert right_back[2] > 0.0  # going right along this page leads away from the camera
    assert stances[2].tilt_deg[0] == pytest.approx(32.0, abs=2.5)


def test_a_view_like_the_last_one_is_not_new():
    one = Stance((0.5, 0.5), 0.1, (0.0, 0.0))
    assert is_new(one, [])
    assert not is_new(Stance((0.55, 0.5), 0.11, (3.0, 2.0)), [one])
    assert is_new(Stance((0.65, 0.5), 0.1, (0.0, 0.0)), [one])
    assert is_new(Stance((0.5, 0.5), 0.14, (0.0, 0.0)), [one])
    assert is_new(Stance((0.5, 0.5), 0.1, (0.0, -12.0)), [one])


@pytest.mark.parametrize("blur_px", [0.8, 1.5, 2.0])
def test_the_blur_is_measured_in_pixels(printed, blur_px):
    view = see_board(shot(printed, *POSES[0], blur=blur_px), BOARD)
    assert isinstance(view, BoardView)
    # pixels of picture and raster, and straight interpolation in both, add about half a pixel in quadrature
    assert view.blur_px == pytest.approx(np.hypot(blur_px, 0.5), rel=0.12)


def test_a_blurred_board_is_refused_in_a_sentence(printed):
    view = see_board(shot(printed, *POSES[0], blur=2.8), BOARD, "view 7")
    assert isinstance(view, NoView)
    assert view.why.startswith("the board is blurred (by ") and view.name == "view 7"


def test_a_board_shaken_one_way_is_refused_too(printed):
    image = shot(printed, *POSES[0])
    shaken = cv2.filter2D(image, -1, np.full((1, 15), 1 / 15))
    view = see_board(shaken, BOARD)
    assert isinstance(view, NoView) and "blurred" in view.why


def test_no_board_and_half_a_board_have_their_sentences(printed):
    assert "not in the picture" in see_board(np.full((720, 1280, 3), 90, np.uint8), BOARD).why
    image = shot(printed, *POSES[0])
    image[:, 480:] = 90
    assert "of the board's corners can be read; show at least 10" in see_board(image, BOARD).why


def test_pictures_of_two_sizes_are_refused(views):
    odd = BoardView("odd", views[0].ids, views[0].corners_px, 640, 360, 1.0)
    refused = calibrate([*views, odd], BOARD)
    assert isinstance(refused, LensRefused) and "different sizes" in refused.why


def test_a_view_that_does_not_fit_is_left_out_by_name(views):
    # a board that moved while half of its corners were taken
    spoilt = views[9].corners_px.copy()
    spoilt[::2, 0] += 4.0
    odd = BoardView("moved", views[9].ids, spoilt, 1280, 720, 1.0)
    found = calibrate([*views, odd], BOARD)
    assert isinstance(found, LensFound)
    assert found.left_out == ("moved",)
    assert found.lens.fx_px == pytest.approx(1060.0, rel=0.003)


def test_a_bent_board_is_refused(views):
    rng = np.random.default_rng(5)
    bent = [
        BoardView(v.name, v.ids, v.corners_px + rng.normal(0.0, 1.5, v.corners_px.shape), 1280, 720, 1.0)
        for v in views
    ]
    refused = calibrate(bent, BOARD)
    assert isinstance(refused, LensRefused)
    assert "px about the best lens" in refused.why


def test_how_far_the_board_moved_between_two_pictures(views):
    later = BoardView("later", views[0].ids[3:], np.add(views[0].corners_px[3:], (2.0, -5.0)), 1280, 720, 1.0)
    assert moved_px(views[0], later) == pytest.approx(5.0)


def test_a_cheap_cameras_small_noisy_pictures_of_the_board_are_read(printed):
    raster, px_per_mm = printed
    cheap = TrueLens(640, 480, 520.0, 322.0, 236.0, (-0.22, 0.08, 0.001, -0.0008, 0.0))
    for turned, place in (
        ((0, 32, 0), (-30, 0, 420)),
        ((10, -20, 0), (150, -105, 500)),
        ((0, 5, 90), (0, 0, 620)),
    ):
        page = FlatPage(raster, px_per_mm, np.array(place, float), facing(*turned))
        image = photograph(cheap, [page], blur=1.3, noise=4.0)
        image = cv2.imdecode(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 70])[1], cv2.IMREAD_COLOR)
        view = see_board(image, BOARD)
        assert isinstance(view, BoardView)
        # where the lens itself puts the corners: board from its upper left, its middle 5 mm above the page's
        flat = BOARD.corners_mm()[view.ids] - (0.5 * 7 * 36.0, 0.5 * 5 * 36.0 + 5.0, 0.0)
        flat = flat * (1.0, -1.0, 0.0)
        inside = flat @ page.axes.T + page.centre
        assert np.sqrt(((view.corners_px - cheap.project(inside)) ** 2).mean()) < 0.35
