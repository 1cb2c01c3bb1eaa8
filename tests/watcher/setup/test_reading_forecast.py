"""What geometry allows, against a study of the vision problem that was made before this code."""

from __future__ import annotations

import csv
import math

import cv2
import numpy as np
import pytest

from watcher.camera.recording import read_recording
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_sight import bench_sight
from watcher.setup.reading_advice import HowWell, forecast, hole_view
from watcher.setup.reading_forecast import (
    HoleView,
    Picture,
    level_bound,
    level_sigma_mm,
    lost_below_mm,
    seen_share,
)

HD = (
    640.0 / math.tan(math.radians(32.5)) / 700.0,
    1.0,
)  # px per mm at 700 mm with a 65 degree view; blur in px
FULL_HD = (960.0 / math.tan(math.radians(32.5)) / 700.0, 1.3)

# Cramer-Rao bounds computed by the study's authors: noise 2.5, half the pixels independent, straight hole:
# radius, angle, depth, then (film known / film free) at contrasts 3, 10, 30, then bias per mm of film
TABLE = [
    (HD, 8, 35, 15, (0.67, 5.7), (0.20, 1.7), (0.07, 0.57), 1.60),
    (HD, 12, 20, 15, (0.86, 2.8), (0.26, 0.83), (0.09, 0.28), 3.44),
    (HD, 12, 35, 15, (0.52, 2.4), (0.16, 0.73), (0.05, 0.24), 1.71),
    (HD, 18, 35, 15, (0.42, 1.5), (0.12, 0.44), (0.04, 0.15), 1.78),
    (HD, 18, 50, 15, (0.31, 1.7), (0.09, 0.50), (0.03, 0.17), 1.00),
    (HD, 25, 50, 15, (0.26, 1.0), (0.08, 0.30), (0.03, 0.10), 1.04),
    (FULL_HD, 12, 35, 15, (0.32, 1.5), (0.10, 0.46), (0.03, 0.15), 1.71),
    (FULL_HD, 18, 35, 15, (0.26, 0.91), (0.08, 0.27), (0.03, 0.09), 1.78),
    (FULL_HD, 18, 50, 15, (0.19, 1.0), (0.06, 0.31), (0.02, 0.10), 1.00),
    (FULL_HD, 25, 50, 15, (0.16, 0.63), (0.05, 0.19), (0.02, 0.06), 1.04),
]


def straight(radius_mm: float, degrees: float, px_per_mm: float = HD[0], deep_mm: float = 120.0) -> HoleView:
    return HoleView(((0.0, 2.0 * radius_mm), (deep_mm, 2.0 * radius_mm)), degrees, px_per_mm)


@pytest.mark.parametrize(("camera", "radius", "degrees", "depth", "c3", "c10", "c30", "bias"), TABLE)
def test_the_bound_is_the_studys(camera, radius, degrees, depth, c3, c10, c30, bias):
    px_per_mm, blur_px = camera
    view = straight(radius, degrees, px_per_mm)
    for contrast, (known, free) in ((3.0, c3), (10.0, c10), (30.0, c30)):
        bound = level_bound(view, depth, Picture(contrast, 2.5, blur_px, 0.5))
        # the table is printed to two figures
        assert bound.film_known_mm == pytest.approx(known, rel=0.04, abs=0.006)
        assert bound.film_free_mm == pytest.approx(free, rel=0.04, abs=0.006)
    assert bound.bias_per_film == pytest.approx(bias, abs=0.015)


def test_film_known_to_a_fifth_of_a_millimetre_costs_what_the_study_says():
    # R 20, 47 degrees, depth 10, contrast 15: 0.16 mm; film known exactly 0.06
    bound = level_bound(straight(20.0, 47.0), 10.0, Picture(15.0, 2.5, 1.0, 0.5))
    assert bound.film_prior_mm == pytest.approx(0.16, abs=0.01)
    assert bound.film_known_mm == pytest.approx(0.06, abs=0.01)


def test_a_straight_hole_shows_what_the_near_rim_leaves_of_it():
    # looking in at 45 degrees the near rim hides as much of the surface as it lies deep
    view = straight(20.0, 45.0)
    for depth in (4.0, 20.0, 30.0, 39.0):
        assert seen_share(view, depth) == pytest.approx(1.0 - depth / 40.0)
    assert seen_share(view, 41.0) == 0.0


def test_the_level_is_lost_where_the_study_says():
    # a quarter of the surface is left at d = 1.5 R cot phi; R 12: 26 mm at 35, 18 at 45, 15 at 50 degrees
    for degrees, wanted in ((35.0, 26.0), (45.0, 18.0), (50.0, 15.0)):
        assert lost_below_mm(straight(12.0, degrees), 0.25) == pytest.approx(wanted, abs=0.6)


def test_the_share_in_view_is_the_renderers(shared_recordings):
    away = []
    for folder in sorted(shared_recordings.iterdir()):
        recording = read_recording(folder)
        image = cv2.imread(str(sorted((folder / "frames").glob("*.jpg"))[0]))
        sight = bench_sight(image, recording.layout.lens, read_bench(folder / "recording.toml"))
        with (folder / "truth_pose.csv").open() as file:
            rows = [row for row in csv.DictReader(file) if row["state"] == "in"]
        places = {row["mould"]: row for row in reversed(rows)}
        with (folder / "truth.csv").open() as file:
            for row in csv.DictReader(file):
                # until the first mould or camera is bumped; nothing seen at all is a hand
                still = row["phase"] == "casting" and row["level_mm"] and float(row["time_s"]) < 600.0
                if not still or not float(row["visible_fraction"]):
                    continue
                place = tuple(float(places[row["mould"]][f"rim_{axis}_mm"]) for axis in "xyz")
                bore = recording.layout.mould(row["mould"]).profile.bore
                view = hole_view(bore, place, tuple(sight.camera.eye_mm()), recording.layout.lens.fx_px)
                away.append(seen_share(view, float(row["level_mm"])) - float(row["visible_fraction"]))
    assert len(away) > 100
    # the renderer's holes are a little narrower by the clay on their walls, and it counts hands
    assert abs(np.median(away)) < 0.05
    assert np.percentile(np.abs(away), 90.0) < 0.12


def test_a_neck_hides_what_lies_below_it_and_a_wide_steep_view_hides_nothing():
    necked = HoleView(((0.0, 60.0), (20.0, 30.0), (40.0, 80.0), (90.0, 80.0)), 45.0, 1.4)
    # at 60 mm the rim leaves (30 + 40 - 60) / 80, the neck 40 mm above (15 + 40 - 40) / 80: the rim is nearer
    assert seen_share(necked, 60.0) == pytest.approx(10.0 / 80.0)
    assert seen_share(necked, 30.0) == pytest.approx((30.0 + 27.5 - 30.0) / 55.0)
    bottle = HoleView(((0.0, 40.0), (10.0, 16.0), (60.0, 16.0), (90.0, 60.0)), 20.0, 1.4)
    # the upper end of a neck 16 mm wide, 80 mm above the slip, leaves the least
    assert seen_share(bottle, 90.0) == pytest.approx((38.0 - 80.0 * math.tan(math.radians(20.0))) / 60.0)
    assert lost_below_mm(straight(60.0, 30.0, deep_mm=50.0)) is None
    assert math.isinf(level_bound(straight(10.0, 60.0), 30.0, Picture()).film_known_mm)
    assert math.isinf(level_sigma_mm(straight(10.0, 60.0), 30.0, Picture()))


def test_a_hole_taken_as_the_prototype_saw_it_is_expected_to_be_read_as_well_as_it_was():
    # rendered bench, radius 23 to 43 mm, 47 to 53 degrees, contrast 37 to 48: RMS 0.26 to 0.34 mm from tags
    for radius in (23.0, 43.0):
        sigma = level_sigma_mm(straight(radius, 50.0), 10.0, Picture(contrast=42.0))
        assert 0.2 < sigma < 0.4


def test_the_view_of_a_hole_follows_from_where_the_camera_stands():
    view = hole_view(((0.0, 40.0), (50.0, 40.0)), (10.0, 20.0, 100.0), (10.0, -480.0, 600.0), 1000.0)
    assert view.from_vertical_deg == pytest.approx(45.0)
    assert view.px_per_mm == pytest.approx(1000.0 / math.hypot(500.0, 500.0))
    sloping = hole_view(
        ((0.0, 40.0), (50.0, 40.0)), (0, 0, 0), (0, -500.0, 500.0), 1000.0, (0.0, -0.17365, 0.98481)
    )
    assert sloping.from_vertical_deg == pytest.approx(35.0, abs=0.01)


def test_a_good_place_needs_no_advice():
    good = forecast(straight(25.0, 45.0, 2.0), 20.0)
    assert good.how_well is HowWell.WELL
    assert good.advice == ()
    assert good.px_per_mm_depth == pytest.approx(2.0 * math.sin(math.radians(45.0)))


@pytest.mark.parametrize(
    ("view", "deepest_mm", "picture", "how_well", "said"),
    [
        (
            straight(12.0, 60.0, 2.0),
            25.0,
            None,
            HowWell.NOT,
            "move the camera up until it looks in at 39 degrees",
        ),
        (straight(25.0, 15.0, 2.0), 20.0, None, HowWell.POORLY, "looks down steeply (15 degrees"),
        (straight(25.0, 45.0, 1.0), 20.0, None, HowWell.FAIRLY, "to about 59 % of its distance"),
        (straight(7.0, 40.0, 2.0), 8.0, None, HowWell.FAIRLY, "The hole is small (14 mm)"),
        (straight(60.0, 65.0, 2.0), 15.0, None, HowWell.WELL, "looks in flat (65 degrees"),
        (
            straight(25.0, 45.0, 2.0),
            20.0,
            Picture(contrast=4.0),
            HowWell.FAIRLY,
            "light the bench from high up",
        ),
        (straight(25.0, 89.0, 2.0), 20.0, None, HowWell.NOT, "raise it"),
        (straight(6.0, 70.0, 2.0), 60.0, None, HowWell.NOT, "no place of the camera shows it"),
    ],
)
def test_what_is_in_the_way_is_said_with_what_helps(view, deepest_mm, picture, how_well, said):
    found = forecast(view, deepest_mm, picture)
    assert said in " ".join(found.advice)
    assert found.how_well is how_well
