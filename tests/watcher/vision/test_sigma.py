"""What a level's spread is made of: the clay, how faint the line is, a mark that slip may have left."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from models.mould import checked_mould
from watcher.records.layout import Lens
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading
from watcher.tracking.look import Look
from watcher.vision.film import film_for
from watcher.vision.hmm import Belief
from watcher.vision.holes import HolePlace, shapes
from watcher.vision.level import Line, follow
from watcher.vision.pose import CameraPose, turn
from watcher.vision.spread import faint_mm, sunk_mm
from watcher.vision.strip import plan_strip

LENS = Lens(1280, 720, 1060.0, 1060.0, 640.0, 360.0, (0.0, 0.0, 0.0, 0.0, 0.0))
ROTATION = turn(135.0, 0.0, 0.0)
EYE = np.array([0.0, -420.0, 560.0])
CAMERA = CameraPose(ROTATION, -ROTATION @ EYE, 0.0, 0.05)
BEAKER = shapes(checked_mould("beaker", [[0, 60], [30, 60], [60, 80], [100, 60]]))[0]
STRIP = plan_strip(BEAKER, HolePlace(np.array([0.0, 80.0, 120.0]), 0.0), CAMERA, LENS, (0.0, 0.0, 1.0))
DEPTHS = STRIP.depths_mm


def casting(cake_sigma_mm: float) -> Expected:
    depths = tuple(float(d) for d in range(60))
    return Expected("casting", 600.0, 6.0, 0.2, 0.005, depths, (2.5,) * 60, cake_sigma_mm)


def test_a_clay_whose_thickness_the_bench_does_not_know_widens_the_film() -> None:
    """Independent errors add as squares: half a millimetre of the fit's own, and the little of the rest."""
    sure = film_for(STRIP, casting(0.0), 0.0, 2.0, 600.0)
    unsure = film_for(STRIP, casting(0.5), 0.0, 2.0, 600.0)
    assert np.array_equal(sure.mm, unsure.mm)
    assert unsure.sigma_mm**2 == pytest.approx(sure.sigma_mm**2 + 0.5**2)
    assert sure.sigma_mm < 0.15


def test_the_fit_is_told_the_spread_without_the_clay_that_it_reckons_itself() -> None:
    """3, 4 and 5: 0.5 in all, of which 0.4 is half a millimetre of clay at 0.8 mm per mm."""
    level = LevelReading(5.0, 0.5, 0.1, 1.0, 2.0, 0.8, 0.0, 0.5)
    hole = HoleSighting("beaker", level, Contents.SLIP)
    reading = Look(hole, 600.0, datetime(2026, 5, 5, 9, 0, tzinfo=UTC), "bench").reading
    assert reading is not None
    assert reading.sigma_mm == pytest.approx(0.3)
    assert reading.drift_sigma_mm == 0.1


def test_a_faint_line_claims_less() -> None:
    """On rendered benches lines of 1 to 2 noises were off by 0.7 to 1.2 mm, those of 8 and more by 0.3."""
    assert faint_mm(1.5, 1.0) > 0.6
    assert faint_mm(-1.5, 1.0) == faint_mm(1.5, 1.0)
    assert faint_mm(12.0, 1.0) < 0.05


def test_the_mark_of_a_fill_is_as_uncertain_as_the_slip_could_have_sunk_below_it() -> None:
    pace = 1.0 / 60.0
    assert sunk_mm(-60.0, pace, 60.0) == pytest.approx(0.4)
    assert sunk_mm(-60.0, pace, 0.0) == 0.0
    assert sunk_mm(20.0, pace, 60.0) == 0.0


@pytest.mark.parametrize(("forecast", "deeper"), [(None, True), ((6.0, 0.2), False)])
def test_of_two_edges_alike_the_one_where_the_bench_expects_the_level_is_believed(
    forecast: tuple[float, float] | None, deeper: bool
) -> None:
    """One edge at 5.4 mm, where slip that stands at 6 mm is seen to climb; one a little stronger at 9.4."""
    log = 20.0 * np.exp(-0.5 * ((DEPTHS - 5.4) / 0.5) ** 2) + 24.0 * np.exp(
        -0.5 * ((DEPTHS - 9.4) / 0.5) ** 2
    )
    rows = np.where((DEPTHS > 3.0) & (DEPTHS < 14.0), 1.0, 0.0)
    belief = Belief(rows / rows.sum(), 0.0)
    possible = np.ones(DEPTHS.size, dtype=bool)
    line = Line(log, 24.0, 1.0, None)
    after = follow(belief, line, STRIP, possible, 0.0, 0.005, False, forecast)
    at_mm = float(DEPTHS[int(np.argmax(after.rows))])
    assert math.isclose(at_mm, 9.4 if deeper else 5.4, abs_tol=0.5)
