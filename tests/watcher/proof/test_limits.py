"""Limits and plain rivals, held against sums done by hand, published fits and pictures made for it."""

from __future__ import annotations

import math
from importlib.resources import files

import numpy as np
import pytest

from models.mould import checked_mould
from models.slip import Slip
from watcher.proof.calibration import expected_by_chance, of_levels, of_votes
from watcher.proof.cast_score import RangeVote
from watcher.proof.edge_limit import TrueLine, edge_limit, line_contrast, pixel_noise
from watcher.proof.level_score import LevelError
from watcher.proof.measured_lines import MeasuredLine, by_moment
from watcher.proof.plain_times import flat_drop_mm, plain_times, root_fit_s
from watcher.proof.results import SoakProof, straight_line
from watcher.proof.strongest_edge import strongest_edge_mm
from watcher.proof.threshold_level import threshold_level_mm
from watcher.proof.true_view import Camera, TrueHole
from watcher.proof.truth_tables import Happened, TrueCast, TrueRow, Truth
from watcher.proof.water_balance import drop_and_slope, error_cost
from watcher.records.layout import Lens, PlacedMould
from watcher.setup.reading_forecast import HoleView

CUP = checked_mould("cup", [[0.0, 60.0], [100.0, 60.0]], target_wall_mm=3.0)
SLIP = Slip(1.75, 0.637)
# phi_s = 0.75 / 1.6; f = 0.637 / 0.46875 - 1
F = 0.358933


def looking_down(degrees: float) -> TrueHole:
    """A cup of 60 mm whose rim's centre is the origin, 700 mm from a camera at an angle from the vertical."""
    a = math.radians(degrees)
    eye = np.array([0.0, -700.0 * math.sin(a), 700.0 * math.cos(a)])
    ahead = -eye / 700.0
    right = np.array([1.0, 0.0, 0.0])
    rotation = np.stack((right, np.cross(ahead, right), ahead))
    lens = Lens(1280, 720, 1000.0, 1000.0, 639.5, 359.5)
    return TrueHole(Camera(rotation, -rotation @ eye, lens), (0.0, 0.0, 0.0), PlacedMould("cup", CUP))


def painted(hole: TrueHole, level_mm: float, *, wall: int, slip: int) -> np.ndarray:
    """The hole as flat tones: plaster round it, its far wall, and the slip's surface at a level."""
    import cv2

    image = np.full((720, 1280, 3), 230, np.uint8)
    inside = np.zeros((720, 1280), np.uint8)
    cv2.fillPoly(inside, [np.round(hole.ring_px(0.0)).astype(np.int32)], 1)
    surface = np.zeros_like(inside)
    cv2.fillPoly(surface, [np.round(hole.ring_px(level_mm)).astype(np.int32)], 1)
    image[inside > 0] = wall
    image[(inside > 0) & (surface > 0)] = slip
    return image


def test_the_far_point_lies_where_a_pinhole_puts_it():
    # at 0 degrees from the side: f R / Z = 1000 x 30 / 700 from the middle, straight up in the picture
    hole = looking_down(1e-6)
    far = hole.ring_px(0.0)[0]
    assert far == pytest.approx((639.5, 359.5 - 1000.0 * 30.0 / 700.0), abs=0.01)


@pytest.mark.parametrize("level_mm", [6.0, 12.0, 20.0])
def test_the_blob_reads_a_dark_wall_over_bright_slip(level_mm):
    hole = looking_down(45.0)
    read = threshold_level_mm(painted(hole, level_mm, wall=90, slip=180), hole)
    assert read == pytest.approx(level_mm, abs=1.0)  # the far wall's perspective is taken as straight


@pytest.mark.parametrize("level_mm", [6.0, 12.0, 20.0])
def test_the_strongest_edge_reads_it_too_and_also_where_slip_and_wall_change_their_tones(level_mm):
    hole = looking_down(45.0)
    for wall, slip in ((90, 180), (180, 110)):
        read = strongest_edge_mm(painted(hole, level_mm, wall=wall, slip=slip), hole)
        assert read == pytest.approx(level_mm, abs=0.7)


def test_contrast_is_the_step_across_the_true_line():
    hole = looking_down(45.0)
    image = painted(hole, 12.0, wall=90, slip=150)
    assert line_contrast(image, hole, 12.0, 0.0) == pytest.approx(60.0, abs=1.0)


@pytest.mark.parametrize("sigma", [1.5, 4.0])
def test_noise_is_what_was_put_in(sigma):
    rng = np.random.default_rng(3)
    x = np.linspace(90.0, 170.0, 1280)[None, :, None] * np.ones((720, 1, 3))
    one, two = (
        np.clip(x + rng.normal(0, sigma, (720, 1280, 1)), 0, 255).round().astype(np.uint8) for _ in "ab"
    )
    # rounding adds 1/12 to the variance
    assert pixel_noise(one, two) == pytest.approx(math.hypot(sigma, 12**-0.5), rel=0.03)


def test_the_bound_of_a_line_is_the_published_studys():
    # vision study, table of bounds: R 18, 50 degrees, depth 15, C 30, noise 2.5, 1.44 px/mm: 0.03 mm
    px_per_mm = 640.0 / math.tan(math.radians(32.5)) / 700.0
    view = HoleView(((0.0, 36.0), (120.0, 36.0)), 50.0, px_per_mm)
    limit = edge_limit(TrueLine("cup", 0.0, view, 15.0, 30.0), 2.5)
    assert limit is not None and limit.known_mm == pytest.approx(0.03, abs=0.006)
    hidden = HoleView(((0.0, 20.0), (120.0, 20.0)), 60.0, px_per_mm)
    assert edge_limit(TrueLine("cup", 0.0, hidden, 30.0, 30.0), 2.5) is None


def test_the_flat_drop_is_that_of_a_calculator():
    # A = pi 60 (100 - 3) + pi 30^2, a = pi 30^2: A / a = (5820 + 900) / 900; h = f L A / a
    assert flat_drop_mm(CUP, SLIP) == pytest.approx(F * 3.0 * 6720.0 / 900.0, rel=1e-3)


def test_a_root_law_is_found_again():
    levels = [(t, 2.0 + 0.5 * math.sqrt(t - 100.0)) for t in (110.0, 150.0, 200.0, 300.0)]
    # 10 mm of drop: sqrt(t - 100) = 20
    assert root_fit_s(levels, 100.0, 10.0) == pytest.approx(500.0)
    assert root_fit_s(levels[:2], 100.0, 10.0) is None
    assert root_fit_s([(t, 5.0) for t, _ in levels], 100.0, 10.0) is None


def test_the_plain_rivals_guess_from_levels_read_and_from_the_cast_before():
    drop = flat_drop_mm(CUP, SLIP)
    assert drop is not None
    b = drop / math.sqrt(500.0)  # comes due 500 s after full by the root law itself
    story = [("filling", 60.0), ("filled", 100.0), ("ready", 600.0), ("tipped", 700.0)]
    second = [("filling", 1000.0), ("filled", 1040.0), ("ready", 1665.0), ("tipped", 1700.0)]
    events = tuple(Happened(t, "cup", e) for e, t in story + second)
    times = [float(t) for t in range(100, 700, 20)]
    rows = tuple(TrueRow(t, "cup", "casting", 3.0, 1.0, True, 1.0, True) for t in (*times, 1690.0))
    lines = by_moment(MeasuredLine(t, "cup", True, 3.0 + b * math.sqrt(t - 100.0), 0.1) for t in times)
    found = plain_times(Truth(rows, events, (), True), lines, (CUP,), SLIP)
    assert found.root_half == (pytest.approx(0.0, abs=1e-9), 1.0)  # the second cast has no levels
    assert found.root_calls[0] == pytest.approx(0.0, abs=0.05)
    assert found.last_time == (pytest.approx(-0.2),)  # 500 s where 625 s were needed


def test_a_tenth_of_a_millimetre_costs_what_the_balance_of_volume_says():
    # thin wall in a wide cup: nothing closes, so dL/dz = a / (f A)
    wide = checked_mould("tub", [[0.0, 400.0], [100.0, 400.0]], target_wall_mm=0.5)
    fall = drop_and_slope(wide, SLIP, 0.5, 3.0)
    assert fall is not None
    # a bore without a spare: the mean wall counts the strip above the slip as well
    a, wetted = math.pi * 200.0**2, math.pi * 400.0 * 100.0 + math.pi * 200.0**2
    assert fall[1] == pytest.approx(a / (F * wetted), rel=0.02)
    assert fall[0] < F * 0.5 * wetted / a  # the pour has grown some of it


def test_minutes_are_those_of_the_true_fall():
    cast = TrueCast("cup", 1, 60.0, 100.0, 700.0, math.inf, math.inf)
    rows = tuple(
        TrueRow(t, "cup", "casting", 3.0 + (t - 100.0) / 300.0, 1.0, True, 1.0, True)
        for t in np.arange(100.0, 800.0, 20.0)
    )
    cost = error_cost(CUP, SLIP, cast, Truth(rows, (), (), True))
    assert cost is not None and cost.minutes == pytest.approx(0.5)  # 0.2 mm a minute
    assert cost.share == pytest.approx(0.05)


def test_right_ranges_are_held_as_often_as_they_claim_and_narrow_ones_less():
    rng = np.random.default_rng(5)
    errors = [LevelError(0.0, "cup", float(e), 0.3) for e in rng.normal(0, 0.3, 4000)]
    curve = of_levels(errors)
    assert np.allclose(curve.held, curve.claimed, atol=0.03)
    narrow = of_levels([LevelError(0.0, "cup", e.error_mm, 0.15) for e in errors])
    # half the sigma: of 80 % ranges hold P(|z| < 0.64) = 47.8 % (normal table)
    assert narrow.held[narrow.claimed.index(0.8)] == pytest.approx(0.478, abs=0.03)


def test_votes_are_stretched_on_each_side_by_its_own_width_and_a_blank_holds_nothing():
    votes = [
        RangeVote("cup", 0.5, 90.0, 100.0, 130.0, 125.0),
        RangeVote("cup", 0.5, 90.0, 100.0, 130.0, 85.0),
        RangeVote("cup", 0.5, None, None, None, 100.0),
    ]
    curve = of_votes("moment", votes)
    assert curve.held[curve.claimed.index(0.8)] == pytest.approx(1 / 3)
    # 25 of 30 up are 1.07 sigma (71.5 %), 15 of 10 down 1.92 sigma (94.5 %)
    assert curve.held[curve.claimed.index(0.7)] == 0.0
    assert curve.held[curve.claimed.index(0.95)] == pytest.approx(2 / 3)


def test_chance_allows_few_votes_more_than_many():
    few, many = expected_by_chance(20), expected_by_chance(2000)
    assert few[0] < many[0] < 0.8 < many[1] < few[1]
    # 2000 votes: normal approximation, 0.8 -+ 1.645 sqrt(0.16 / 2000)
    assert many == (pytest.approx(0.7853, abs=0.002), pytest.approx(0.8147, abs=0.002))


def test_a_straight_line_is_the_certified_one():
    # NIST StRD Norris: slope 1.00211681802045 (sd 0.000429796848), intercept -0.262323073774029
    path = files("scipy") / "stats" / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.is_file():
        pytest.skip("scipy came without its tests' data")
    lines = path.read_text(encoding="utf-8").splitlines()[60:]
    rows = [row.split() for row in lines if row.strip()]
    line = straight_line([(float(x), float(y)) for y, x in rows])
    assert line is not None and len(rows) == 36
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.slope_sigma == pytest.approx(0.000429796848, rel=1e-6)
    assert line.start == pytest.approx(-0.262323073774029, rel=1e-9)
    assert straight_line([(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)]) is None


def test_memory_is_flat_when_it_surely_grows_by_less_than_a_megabyte_a_day():
    def after(*mb: float) -> bool | None:
        days = tuple((float(day), size) for day, size in enumerate(mb, start=1))
        return SoakProof(len(mb), 4, 10, 0, 0, 0, 0, 3, days, 0).flat()

    # the first day fills caches and does not count
    assert after(100.0, 200.0, 200.1, 199.9, 200.0, 200.1) is True
    assert after(100.0, 200.0, 203.1, 205.9, 209.0, 212.1) is False
    assert after(100.0, 200.0, 210.0, 195.0, 212.0, 199.0) is None  # it wanders too much to tell
    assert after(100.0, 200.0) is None
