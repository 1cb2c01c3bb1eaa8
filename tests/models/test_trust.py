"""The level's shape tells the gain nothing."""

from dataclasses import replace

import numpy as np
import pytest

from models.belief import believe
from models.course import GAIN
from models.evidence import evidence
from models.mould import checked_mould
from models.prior import AbsorptionPrior
from models.series import LevelSeries, filling
from models.slip import checked_slip
from models.solve import Solved, solve
from models.trust import modest

BORE = [[0, 30], [40, 26], [80, 70], [140, 64]]


def solved():
    mould = checked_mould("bottle", BORE, target_wall_mm=3, area_rel_sigma=0.2)
    slip = checked_slip(specific_gravity=1.78, cake_solids_fraction=0.635)
    times = np.arange(10.0, 600.0, 20.0)
    part = filling(
        earliest_s=0,
        latest_s=4,
        times_s=times,
        levels_mm=2.0 + 0.9 * np.sqrt(times),
        sigma_mm=0.2,
        drift_sigma_mm=0.1,
    )
    series, prior = LevelSeries((part,)), AbsorptionPrior()
    seen = evidence(series)
    found = solve(series, seen, believe(series, seen.shared_mm, mould, slip, prior), mould, slip, None)
    assert isinstance(found, Solved)
    return found


def test_the_gain_stays_as_it_was_believed():
    raw = solved()
    once = modest(raw)
    assert once.unknowns[GAIN] == pytest.approx(raw.belief.mean[GAIN], abs=1e-12)
    assert once.covariance[GAIN, GAIN] == pytest.approx(float(raw.belief.sd[GAIN]) ** 2, rel=1e-9)
    assert (
        raw.covariance[GAIN, GAIN] < 0.9 * once.covariance[GAIN, GAIN]
    )  # the shape alone would have had a say


def test_the_rest_is_what_it_would_be_with_the_gain_given():
    # the law of a normal spread given one of its parts (textbook): for levels straight in the unknowns, an
    # answer with the gain held fast is the free answer moved along the gain's column of the covariance
    rng = np.random.default_rng(4)
    raw = solved()
    p = len(raw.unknowns)
    by, left, own = rng.normal(size=(60, p)), rng.normal(size=60), np.ones(p)
    free_at = np.linalg.solve(by.T @ by + np.diag(own), by.T @ left)
    covariance = np.linalg.inv(by.T @ by + np.diag(own))
    belief = replace(raw.belief, mean=np.zeros(p), sd=np.ones(p))
    once = modest(replace(raw, unknowns=free_at, covariance=covariance, belief=belief))
    others = np.arange(p) != GAIN
    held = np.linalg.solve(by[:, others].T @ by[:, others] + np.eye(p - 1), by[:, others].T @ left)
    assert once.unknowns[others] == pytest.approx(held, rel=1e-9)


def test_what_does_not_hang_together_with_the_gain_keeps_its_spread():
    raw = solved()
    free = raw.covariance.copy()
    free[GAIN, :] = free[:, GAIN] = 0.0
    free[GAIN, GAIN] = raw.covariance[GAIN, GAIN]
    once = modest(replace(raw, covariance=free))
    others = np.arange(len(free)) != GAIN
    assert once.covariance[others][:, others] == pytest.approx(free[others][:, others])
    assert once.unknowns[others] == pytest.approx(raw.unknowns[others])
    assert np.all(np.linalg.eigvalsh(modest(raw).covariance) > 0.0)
