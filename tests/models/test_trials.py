"""The calibration trials: their truth against the root law, and the ranges against their truth."""

import math

import numpy as np
import pytest

from models.trial_readings import EMPTY, POURING, look_at_trial, read_trial
from models.trial_table import calibration_table
from models.trial_truth import TrialCast, run_trial
from models.trials import Known, draw, judge
from tests.models.trial_limit import least_sigma

TUBE = TrialCast(((0.0, 60.0), (100.0, 60.0)), 40.0, 0.3, 1.2, 0.0, 1e6, 0.0, 30.0, 3.0, 0.0)


def test_the_ideal_trial_follows_the_root_law():
    run = run_trial(TUBE, until_wall_mm=4.0)
    early, late = run.wall_at(200.0), run.wall_at(600.0)
    # K 1.2 mm2/min: the square of the wall grows by 8 mm2 in 400 s, less what the pour's stagger leaves
    assert late**2 - early**2 == pytest.approx(8.0, rel=0.01)
    assert run.time_of(late) == pytest.approx(600.0, abs=1.0)
    assert run.time_of(50.0) is None


def test_the_trial_s_drop_is_the_water_of_its_cake():
    run = run_trial(TUBE, until_wall_mm=4.5)
    # tube of radius 30, sharp corner: A dz = f d(cake), summed over rows with an even wall (over 2 mm)
    late = run.wall_mm > 2.0
    wall, level = run.wall_mm[late], run.level_mm[late]
    ring = math.pi * np.diff(30.0**2 - (30.0 - wall) ** 2) * (100.0 - level[1:])
    floor = np.diff(math.pi * (30.0 - wall) ** 2 * wall)
    free = math.pi * (30.0 - 0.5 * (wall[1:] + wall[:-1])) ** 2
    assert level[-1] - level[0] == pytest.approx(float((0.3 * (ring + floor) / free).sum()), rel=0.03)


def test_looks_tell_only_what_a_camera_could_know():
    rng = np.random.default_rng(2)
    run = run_trial(TUBE, until_wall_mm=3.0)
    looks = look_at_trial(run, TUBE, 400.0, rng)
    assert {look.filling for look in looks} <= {EMPTY, POURING, 1}
    series = read_trial(looks, 200.0)
    part = series.fillings[0]
    assert part.earliest_s <= 0.0 <= part.latest_s
    assert part.times_s.max() <= 200.0


def test_the_same_seed_draws_the_same_cast():
    a = draw(Known.FIVE, np.random.default_rng(5))
    b = draw(Known.FIVE, np.random.default_rng(5))
    assert a.ready_s == b.ready_s
    assert a.prior == b.prior


@pytest.mark.slow
def test_ranges_hold_the_truth_four_times_in_five():
    # 500 casts, the table of DEVELOPERS.md; of 125 casts the share that an honest range holds scatters by 3.6
    # points (binomial), so each row is held to 3 of those, and all rows together to 75-87 %
    table = calibration_table(125, seed=20)
    for row in table:
        assert 0.69 <= row.ready_held <= 0.91, row
        assert 0.69 <= row.wall_held <= 0.91, row
    assert 0.75 <= np.mean([row.ready_held for row in table]) <= 0.87
    by_known = {(row.known, row.share): row for row in table}
    half = by_known[(Known.EXACT, 0.5)]
    assert half.ready_median < 0.10  # wanted: 0.04, which nobody can reach on these casts: see below
    assert half.root_fit_median is not None
    assert half.ready_median < 0.6 * half.root_fit_median
    five = by_known[(Known.FIVE, 0.5)]
    assert five.last_time_median is not None
    assert five.ready_median < five.last_time_median


@pytest.mark.slow
def test_half_way_the_fit_is_about_as_near_as_anybody_could_be():
    # Bayesian Cramer-Rao bound over the same 60 casts; medians of 60 scatter by a sixth
    rng = np.random.default_rng([1, 0])
    least, errors = [], []
    for _ in range(60):
        trial = draw(Known.EXACT, rng)
        sigma = least_sigma(trial, 0.5)
        if sigma is not None:
            least.append(sigma)
            errors += [abs(verdict.ready_error) for verdict in judge(trial) if verdict.share == 0.5]
    best = np.abs(np.random.default_rng(0).standard_normal((500, len(least))) * least)
    print(f"median {np.median(errors):.3f}, the best there can be {np.median(best):.3f}")
    assert np.median(best) > 0.04
    assert np.median(errors) < 1.5 * np.median(best)
