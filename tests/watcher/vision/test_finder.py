"""The finder on a real photograph: a cup of coffee, an opaque liquid below a round rim."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
import skimage.data
from skimage.measure import EllipseModel

from watcher.records.readings import Missed
from watcher.vision.finder import LineInRim, Rim, find_rims, line_in_rim, rim_at

# Read by eye off the picture at three times its size, (x, y) in px.
INNER_RIM = [(194, 110), (389, 110), (292, 193), (211, 62), (360, 50), (222, 173), (357, 176), (290, 32)]
LIQUID = [
    (205, 140), (213, 123), (226, 108), (250, 100), (267, 96), (287, 95),
    (300, 96), (317, 99), (333, 106), (350, 119), (363, 137), (368, 153),
]  # fmt: skip


@pytest.fixture(scope="module")
def coffee() -> np.ndarray:
    return cv2.cvtColor(skimage.data.coffee(), cv2.COLOR_RGB2BGR)


@pytest.fixture(scope="module")
def rim(coffee: np.ndarray) -> Rim:
    found = rim_at(coffee, 150.0, 290.0)
    assert isinstance(found, Rim)
    return found


def ellipse_by_skimage(points: list[tuple[int, int]]) -> tuple[float, float, float, float]:
    model = (
        EllipseModel.from_estimate(np.array(points, float))
        if hasattr(EllipseModel, "from_estimate")
        else None
    )
    assert model
    (xc, yc), (a, b) = model.center, model.axis_lengths
    return float(xc), float(yc), float(max(a, b)), float(min(a, b))


def test_the_rim_of_the_cup_is_found_where_the_eye_puts_it(rim: Rim) -> None:
    x, y, long_px, short_px = ellipse_by_skimage(INNER_RIM)
    assert math.hypot(rim.centre_rc[1] - x, rim.centre_rc[0] - y) < 4.0
    assert rim.long_px == pytest.approx(long_px, rel=0.05)
    assert rim.short_px == pytest.approx(short_px, rel=0.06)


def test_the_liquids_line_lies_on_points_read_by_eye(coffee: np.ndarray, rim: Rim) -> None:
    line = line_in_rim(coffee, rim)
    assert isinstance(line, LineInRim)
    away = [np.hypot(line.line_rc[:, 1] - x, line.line_rc[:, 0] - y).min() for x, y in LIQUID]
    assert np.median(away) < 4.0


def test_the_drop_in_rim_radii_agrees_with_the_points_read_by_eye(coffee: np.ndarray, rim: Rim) -> None:
    """By hand: the liquid is a circle like the rim; far edge and width give its centre; shift / sin(view)."""
    _, y, long_px, short_px = ellipse_by_skimage(INNER_RIM)
    flat = short_px / long_px
    width = 0.5 * (max(p[0] for p in LIQUID) - min(p[0] for p in LIQUID))
    far = min(p[1] for p in LIQUID)
    drop = (far + flat * width - y) / (long_px * math.sqrt(1.0 - flat**2))
    line = line_in_rim(coffee, rim)
    assert isinstance(line, LineInRim)
    assert 0.0 < line.sigma < 0.15
    assert abs(line.drop - drop) < 2.0 * math.hypot(line.sigma, 0.05)


def as_taken(picture: np.ndarray, how: str) -> tuple[np.ndarray, float, bool]:
    """The same cup as another camera would have it: picture, its scale, whether it is mirrored."""
    if how == "mirrored":
        return np.ascontiguousarray(picture[:, ::-1]), 1.0, True
    if how == "smaller":
        return cv2.resize(picture, None, fx=0.7, fy=0.7, interpolation=cv2.INTER_AREA), 0.7, False
    if how == "packed hard":
        packed = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 35])[1]
        return np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)), 1.0, False
    if how == "noisy":
        noise = np.random.default_rng(8).normal(0.0, 8.0, picture.shape)
        return (picture + noise).clip(0, 255).astype(np.uint8), 1.0, False
    return (picture * 0.55).astype(np.uint8), 1.0, False


@pytest.mark.parametrize("how", ["mirrored", "smaller", "packed hard", "noisy", "dim"])
def test_the_drop_is_the_same_within_its_sigma_however_the_cup_was_taken(
    coffee: np.ndarray, rim: Rim, how: str
) -> None:
    """The points read by eye again decide, scaled and mirrored as the picture was."""
    picture, scale, mirrored = as_taken(coffee, how)
    col = (coffee.shape[1] - 1 - 290.0 if mirrored else 290.0) * scale
    found = rim_at(picture, 150.0 * scale, col)
    assert isinstance(found, Rim)
    assert found.long_px == pytest.approx(rim.long_px * scale, rel=0.04)
    line, plain = line_in_rim(picture, found), line_in_rim(coffee, rim)
    assert isinstance(line, LineInRim) and isinstance(plain, LineInRim)
    assert abs(line.drop - plain.drop) < 2.0 * math.hypot(line.sigma, plain.sigma)
    if how != "packed hard":  # there an inner edge of the foam is taken, whose drop is the same
        points = [((coffee.shape[1] - 1 - x if mirrored else x) * scale, y * scale) for x, y in LIQUID]
        away = [np.hypot(line.line_rc[:, 1] - x, line.line_rc[:, 0] - y).min() for x, y in points]
        assert np.median(away) < 4.0


def test_rims_come_best_first_and_the_cup_is_among_the_first(coffee: np.ndarray) -> None:
    rims = find_rims(coffee)
    assert rims
    assert any(abs(r.centre_rc[0] - 113) < 8 and abs(r.centre_rc[1] - 291) < 8 for r in rims[:3])


def test_a_picture_without_rims_gives_none() -> None:
    noise = np.random.default_rng(5).normal(128, 6, (300, 400, 3)).clip(0, 255).astype(np.uint8)
    assert rim_at(noise, 150.0, 200.0) is Missed.CARD_LOST


def test_a_drawn_hole_with_a_known_line_is_read() -> None:
    """Drawn by OpenCV: a rim of half axes 90 and 60 px, a liquid of 0.85 the radius, 40 px further down."""
    picture = np.full((320, 420, 3), 205, np.uint8)
    mask = np.zeros((320, 420), np.uint8)
    cv2.ellipse(mask, (210, 140), (90, 60), 0, 0, 360, 255, -1)
    inside = np.full_like(picture, 110)
    cv2.ellipse(inside, (210, 180), (76, 51), 0, 0, 360, (150, 180, 200), -1)
    picture[mask > 0] = inside[mask > 0]
    picture = cv2.GaussianBlur(picture, (0, 0), 1.0)
    rim = rim_at(picture, 140.0, 210.0)
    assert isinstance(rim, Rim)
    line = line_in_rim(picture, rim)
    assert isinstance(line, LineInRim)
    true = 40.0 / (90.0 * math.sqrt(1.0 - (60.0 / 90.0) ** 2))
    assert line.drop == pytest.approx(true, abs=0.06)
