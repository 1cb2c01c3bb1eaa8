"""The level's shape tells the gain only in part."""

from dataclasses import replace

import numpy as np
import pytest

from models.course import GAIN
from models.fit import AbsorptionFit, fit_absorption
from models.mould import checked_mould
from models.prior import AbsorptionPrior
from models.series import LevelSeries, filling
from models.slip import checked_slip
from models.trust import TRUST, modest

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
    fit = fit_absorption(LevelSeries((part,)), mould, slip, AbsorptionPrior())
    assert isinstance(fit, AbsorptionFit)
    return fit.solved


def test_the_precision_gained_on_the_gain_is_cut_to_its_share():
    raw = solved()
    once = modest(raw)
    own = 1.0 / float(raw.belief.sd[GAIN]) ** 2
    gained = 1.0 / raw.covariance[GAIN, GAIN] - own
    assert 1.0 / once.covariance[GAIN, GAIN] - own == pytest.approx(TRUST * gained, rel=1e-6)


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
