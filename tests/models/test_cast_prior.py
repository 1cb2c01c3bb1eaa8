"""Truth: the law of growth stepped finely here; no step of the code is used to make it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.cast_prior import prior_for_cast, whole_cast_k
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
