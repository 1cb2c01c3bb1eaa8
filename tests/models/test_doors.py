import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models import doors, ranged


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0, 1e9, "1.7", None, True])
def test_a_bad_number_is_refused_with_field_value_and_what_is_wanted(bad):
    with pytest.raises(doors.BadValue) as caught:
        doors.number("litre_weight_g", bad, wanted="the litre weight in g, 1000 to 2500", above=0, most=2500)
    text = str(caught.value)
    assert text.startswith("litre_weight_g is ")
    assert text.endswith("give the litre weight in g, 1000 to 2500")
    assert "\n" not in text


@given(st.floats(1, 2))
def test_a_good_number_comes_back_unchanged(value):
    assert doors.number("sg", value, wanted="1 to 2", least=1, most=2) == value


def test_the_range_of_a_normal_spread_holds_four_in_five():
    # Standard normal table: P(|z| < 1.2816) = 0.8.
    r = ranged.normal(10.0, 2.0)
    assert r.low == pytest.approx(7.4369, abs=1e-4)
    assert r.high == pytest.approx(12.5631, abs=1e-4)
    assert math.erf((r.high - r.value) / 2 / math.sqrt(2)) == pytest.approx(0.8, abs=1e-12)


def test_a_lognormal_range_is_even_in_ratio():
    r = ranged.lognormal(30.0, 0.5)
    assert r.high / r.value == pytest.approx(r.value / r.low)
