"""Truth: the law of growth stepped finely here; no step of the code is used to make it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.cast_prior import PastSpeed, prior_for_cast, prior_from_casts, told_by_both, whole_cast_k
from models.damp_forecast import CastForecast
from models.doors import BadValue
from models.prior import AbsorptionPrior
from models.ranged import Ranged, lognormal


def _minutes(k, skin, bend, wall, slope=0.0):
    """(2 L (1 + a L + b L^2) + r) dL/dt = K by 20 000 steps in L, midpoint rule."""
    n = 20000
    step = wall / n
    places = ((i + 0.5) * step for i in range(n))
    return sum((2 * x * (1 + slope * x + bend * x * x) + skin) * step / k for x in places)


@pytest.mark.parametrize(
    ("k", "skin", "bend", "wall"), [(1.6, 0.2, 0.012, 3.0), (0.6, 0.0, 0.0, 4.0), (4.0, 0.5, 0.05, 2.0)]
)
def test_a_cast_s_own_k_is_its_wall_squared_over_its_time(k, skin, bend, wall):
    whole = whole_cast_k(math.log(k), wall_mm=wall, skin_mm=skin, bend_per_mm2=bend)
    assert whole == pytest.approx(wall**2 / _minutes(k, skin, bend, wall), rel=1e-6)


def test_the_prior_reaches_the_wall_in_the_foretold_time():
    said = CastForecast(lognormal(1.5, 0.1), 0.1, lognormal(9 / 1.5, 0.1), Ranged(0.02, 0.01, 0.03))
    base = AbsorptionPrior()
    prior = prior_for_cast(said, wall_mm=3.0, base=base)
    there = _minutes(math.exp(prior.log_k), base.skin_mm, base.bend_per_mm2, 3.0, base.slope_per_mm)
    assert there == pytest.approx(6.0, rel=1e-6)
    assert prior.log_k_sd == 0.1
    assert prior.skin_mm == base.skin_mm


@given(st.floats(0.3, 20), st.floats(0, 2), st.floats(0, 0.2), st.floats(0.1, 8))
def test_skin_and_bend_only_ever_slow(wall, skin, bend, k):
    assert whole_cast_k(math.log(k), wall_mm=wall, skin_mm=skin, bend_per_mm2=bend) <= k * (1 + 1e-9)


@pytest.mark.parametrize("bad", [math.nan, -9.0, 1e9])
def test_absurd_casts_are_refused(bad):
    for field, more in (
        ("wall", {"wall_mm": bad}),
        ("skin", {"skin_mm": bad}),
        ("bend", {"bend_per_mm2": bad}),
    ):
        values = {"wall_mm": 3.0, "skin_mm": 0.2, "bend_per_mm2": 0.01} | more
        with pytest.raises(BadValue, match=rf"^{field} is "):
            whole_cast_k(0.5, **values)
    with pytest.raises(BadValue, match=r"^ln K is "):
        whole_cast_k(bad, wall_mm=3.0, skin_mm=0.2, bend_per_mm2=0.01)


def _past(k, wall, numbers, sigma=0.03):
    """Casts of a mould of one K, each further one of a day slower by a sixth of the first [S3]."""
    base = AbsorptionPrior()
    minutes = _minutes(k, base.skin_mm, base.bend_per_mm2, wall, base.slope_per_mm)
    return [
        PastSpeed(f"jar-{i}", wall**2 / (minutes * (1 + (n - 1) / 6)), sigma, wall, n)
        for i, n in enumerate(numbers)
    ]


@pytest.mark.parametrize(("k", "wall"), [(0.5, 4.0), (1.5, 3.0), (4.0, 2.5)])
@pytest.mark.parametrize("number", [1, 3])
def test_a_mould_s_earlier_casts_foretell_its_next_one_by_its_number_today(k, wall, number):
    prior = prior_from_casts(_past(k, wall, [1, 2, 3, 1, 2, 3, 1, 2]), number_today=number)
    at = _minutes(math.exp(prior.log_k), prior.skin_mm, prior.bend_per_mm2, wall, prior.slope_per_mm)
    first = _minutes(k, prior.skin_mm, prior.bend_per_mm2, wall, prior.slope_per_mm)
    assert at == pytest.approx(first * (1 + (number - 1) / 6), rel=0.02)
    assert 0.12 <= prior.log_k_sd <= 0.22  # never surer than casts of one mould are alike


def test_casts_that_were_hardly_known_teach_less_than_those_that_were_well_known():
    well, hardly = (prior_from_casts(_past(1.0, 3.0, [1, 1], s), number_today=1) for s in (0.02, 0.4))
    assert well.log_k_sd < hardly.log_k_sd


def test_a_mould_of_few_casts_is_not_told_that_it_never_drank_so_fast():
    assert prior_from_casts(_past(1.0, 3.0, [1, 2]), number_today=1).fastest_k_mm2_per_min is None
    assert prior_from_casts(_past(1.0, 3.0, [1, 2, 3]), number_today=1).fastest_k_mm2_per_min is not None
    assert prior_from_casts([], number_today=2) == AbsorptionPrior()


@given(st.floats(-1.5, 1.5), st.floats(0.1, 1.0), st.floats(-1.5, 1.5), st.floats(0.1, 1.0))
def test_mould_and_bench_together_lie_between_both_and_are_surer_than_either(a, sd_a, b, sd_b):
    own, bench = AbsorptionPrior(log_k=a, log_k_sd=sd_a), AbsorptionPrior(log_k=b, log_k_sd=sd_b)
    both = told_by_both(own, bench)
    assert min(a, b) - 1e-9 <= both.log_k <= max(a, b) + 1e-9
    assert both.log_k_sd < min(sd_a, sd_b)
