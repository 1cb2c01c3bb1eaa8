"""Moments that lie in a window, against scipy's truncated normal distribution."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import truncnorm

from models.windows import cut_to_window, site_of_window, without_site


@given(st.floats(-30, 30), st.floats(0.5, 60), st.floats(-20, 0), st.floats(1, 30))
def test_a_spread_cut_to_a_window_has_the_moments_that_scipy_gives(mean, sd, low, wide):
    high = low + wide
    known = truncnorm((low - mean) / sd, (high - mean) / sd, mean, sd)
    got = cut_to_window(mean, sd, low, high)
    assert got[0] == pytest.approx(known.mean(), abs=1e-3 * wide)
    assert got[1] == pytest.approx(known.std(), rel=0.02, abs=1e-3 * wide)
    assert low - 1e-6 <= got[0] <= high + 1e-6


def test_a_spread_that_says_nothing_becomes_the_even_window():
    # an even spread over 24 s: middle 2, standard deviation 24 / sqrt(12) = 6.928
    assert cut_to_window(0.0, 1e5, -10.0, 14.0) == pytest.approx((2.0, 6.928), abs=1e-3)


def test_the_factor_and_the_spread_make_the_cut_spread_and_come_apart_again():
    mean, sd = 4.0, 5.0
    site_mean, site_sd = site_of_window(mean, sd, -6.0, 3.0)
    precision = 1.0 / sd**2 + 1.0 / site_sd**2
    both = (mean / sd**2 + site_mean / site_sd**2) / precision, precision**-0.5
    assert both == pytest.approx(cut_to_window(mean, sd, -6.0, 3.0))
    assert without_site(*both, site_mean, site_sd) == pytest.approx((mean, sd))
