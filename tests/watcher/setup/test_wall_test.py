"""Cut tests and good casts on casts that the simulator grew by its own sums."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from models.calibration import Place, Questioned
from models.doors import BadValue
from models.fit import fit_absorption
from models.good_cast import NoTarget
from models.mould import MouldProfile
from models.profile_text import ProfileFile
from models.profile_ways import AREA_REL_SIGMA, Way
from models.slip import Slip
from models.wall_basis import Basis
from watcher.estimates import PRIOR, level_series
from watcher.records.bench import Filling, FillingKind, Reading
from watcher.records.kept import KeptCast
from watcher.setup.good_target import target_of
from watcher.setup.wall_test import WallMeasured, sharper_by, wetted_area
from watcher.simulator.truth import CastingMould, SimCast

BORE = ((0.0, 74.0), (20.0, 68.0), (27.0, 62.0), (60.0, 84.0), (92.0, 66.0))
SLIP = Slip(1.76, 0.64)
SLIP_PER_CAKE = 0.64 / (0.76 / 1.6)  # solids of gravity 2.6: 1/f + 1 as the simulator counts it
MINUTES = 24.0


def grown(k: float = 0.8, minutes: float = MINUTES, noise_mm: float = 0.05) -> tuple[Filling, float]:
    """One cast in the simulator: its readings, and its true mean wall at the end."""
    truth = CastingMould(MouldProfile("jar", BORE), (SimCast(0.0, 30.0, k),), SLIP_PER_CAKE)
    rng = np.random.default_rng(3)
    readings = []
    for at_s in np.arange(40.0, 60.0 * minutes, 10.0):
        level = truth.at(float(at_s)).level_mm
        assert level is not None
        readings.append(Reading(float(at_s), level + rng.normal(0.0, noise_mm), 0.2, noise_mm, 1))
    return Filling(FillingKind.POUR, 28.0, 32.0, tuple(readings)), truth.at(60.0 * minutes).wall_mm


def calliper(area_off: float) -> ProfileFile:
    """A profile whose wetted area is off by a factor, as a calliper leaves it."""
    area = area_off * wetted_area(MouldProfile("jar", BORE))
    known = AREA_REL_SIGMA[Way.CALLIPER]
    return ProfileFile(
        MouldProfile("jar", BORE, wetted_area_mm2=area, area_rel_sigma=known), way=Way.CALLIPER
    )


@pytest.mark.parametrize("off", [0.75, 1.3])
def test_one_cut_test_mends_an_area_that_the_calliper_got_wrong(off):
    filling, wall = grown()
    answer = sharper_by(
        calliper(off), SLIP, (filling,), 60.0 * MINUTES, WallMeasured(wall, Place.MEAN, Basis.WET)
    )
    assert not isinstance(answer, Questioned)
    # the bore is exact here, so the true area is that of the bore
    assert answer.area_after_mm2 == pytest.approx(wetted_area(MouldProfile("jar", BORE)), rel=0.08)
    assert answer.after_mm < 0.4 * answer.before_mm
    assert answer.profile.way is Way.CUT_TEST
    assert answer.profile.mould.area_rel_sigma < 0.1


def test_a_dry_wall_counts_as_the_wet_one_that_it_was():
    filling, wall = grown()
    # dry shrinkage is 6 % of the wet length in the starting values: a dry wall is 0.94 of the wet one
    dry = WallMeasured(0.94 * wall, Place.MEAN, Basis.DRY)
    answer = sharper_by(calliper(1.2), SLIP, (filling,), 60.0 * MINUTES, dry)
    assert not isinstance(answer, Questioned)
    assert answer.area_after_mm2 == pytest.approx(wetted_area(MouldProfile("jar", BORE)), rel=0.1)


def test_a_wall_that_cannot_be_is_questioned_and_used_only_when_the_caster_insists():
    filling, wall = grown()
    wrong = WallMeasured(3.0 * wall, Place.BELLY, Basis.WET)
    answer = sharper_by(calliper(1.0), SLIP, (filling,), 60.0 * MINUTES, wrong)
    assert isinstance(answer, Questioned)
    assert "does not fit" in answer.why and "measure again" in answer.why
    insisted = WallMeasured(3.0 * wall, Place.BELLY, Basis.WET, trust=True)
    assert not isinstance(sharper_by(calliper(1.0), SLIP, (filling,), 60.0 * MINUTES, insisted), Questioned)


def test_a_cast_without_levels_cannot_be_held_against_a_wall():
    bare = Filling(FillingKind.POUR, 28.0, 32.0, ())
    with pytest.raises(BadValue, match="read less than twice"):
        sharper_by(calliper(1.0), SLIP, (bare,), 600.0, WallMeasured(2.0, Place.MEAN, Basis.WET))


def kept(filling: Filling, minutes: float, verdict: str, day: int = 1) -> KeptCast:
    began = datetime(2026, 3, day, 9, 0, tzinfo=UTC)
    tipped = began + timedelta(minutes=minutes)
    return KeptCast(
        f"jar-{day}", "jar", 1, 0.0, began, 60.0 * minutes, tipped, False, (filling,), verdict=verdict
    )


def test_a_cast_called_good_says_when_the_next_and_slower_one_is_as_thick():
    filling, wall = grown()
    # only the hole was measured: the body is taken for a cylinder, and the target must serve all the same
    mould = MouldProfile("jar", ((0.0, 74.0), (20.0, 68.0), (92.0, 68.0)), area_rel_sigma=0.35)
    target = target_of(mould, SLIP, (kept(filling, MINUTES, "came_out_right"),))
    assert not isinstance(target, NoTarget)
    # the second cast grows at 0.5 instead of 0.8 mm2/min in the simulator; when is it truly as thick?
    slower, _ = grown(k=0.5, minutes=45.0)
    truth = CastingMould(MouldProfile("jar", BORE), (SimCast(0.0, 30.0, 0.5),), SLIP_PER_CAKE)
    truly_s = next(at_s for at_s in np.arange(30.0, 3600.0, 2.0) if truth.at(float(at_s)).wall_mm >= wall)
    fit = fit_absorption(level_series((slower,)), mould, SLIP, PRIOR)
    called = fit.moment_of_water(target.water_ml.value)
    assert called is not None
    assert called.value == pytest.approx(truly_s, rel=0.05)


def test_without_a_good_word_there_is_no_target():
    filling, _ = grown()
    mould = MouldProfile("jar", BORE)
    assert isinstance(target_of(mould, SLIP, (kept(filling, MINUTES, ""),)), NoTarget)
    thin = target_of(mould, SLIP, (kept(filling, MINUTES, "too_thin"),))
    assert isinstance(thin, NoTarget) and "too thin" in thin.why
