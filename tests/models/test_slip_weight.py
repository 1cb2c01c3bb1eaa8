"""Truth: Twaddell [S4, read], Baume [S5, read], pints [unit definitions]."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.slip_weight import SlipMeasure, checked_sg, in_measure, specific_gravity


@pytest.mark.parametrize(
    ("measure", "reading", "sg"),
    [
        (SlipMeasure.TWADDELL_DEG, 140, 1.70),  # [S4, read]
        (SlipMeasure.TWADDELL_DEG, 120, 1.60),  # [S4, read]
        (SlipMeasure.TWADDELL_DEG, 25, 1.125),  # [S4, read]
        (SlipMeasure.IMPERIAL_PINT_OZ, 35.5, 1.775),  # [derived]
        (SlipMeasure.IMPERIAL_PINT_OZ, 36, 1.80),  # [derived]
        (SlipMeasure.LITRE_G, 1750, 1.75),
        (SlipMeasure.SPECIFIC_GRAVITY, 1.75, 1.75),
    ],
)
def test_every_way_of_weighing_gives_its_specific_gravity(measure, reading, sg):
    assert specific_gravity(measure, reading) == pytest.approx(sg, rel=1e-12)


@pytest.mark.parametrize(
    ("g", "sg"), [(750, 1.585), (850, 1.796)]
)  # US pint band, 3 decimals [read + derived]
def test_the_us_pint(g, sg):
    assert specific_gravity(SlipMeasure.US_PINT_G, g) == pytest.approx(sg, abs=6e-4)


def test_an_assayer_s_baume_of_32_is_1_285():
    # 144.3/(144.3 - 32) = 1.2850 [S5, read]
    assert specific_gravity(SlipMeasure.BAUME_DEG, 32, baume_modulus=144.3) == pytest.approx(1.285, abs=5e-5)


def test_baume_asks_which_modulus():
    with pytest.raises(BadValue, match="baume_modulus is None; give the one printed on the hydrometer"):
        specific_gravity(SlipMeasure.BAUME_DEG, 32)
    with pytest.raises(BadValue, match="baume_modulus is 100"):
        specific_gravity(SlipMeasure.BAUME_DEG, 32, baume_modulus=100.0)


@given(st.sampled_from(SlipMeasure), st.floats(1.0, 2.5), st.sampled_from([144.0, 144.3, 145.0, 146.78]))
def test_there_and_back_changes_nothing(measure, sg, modulus):
    reading = in_measure(measure, sg, baume_modulus=modulus)
    # the very ends may round past the door
    if 1.001 < sg < 2.499:
        assert specific_gravity(measure, reading, baume_modulus=modulus) == pytest.approx(sg, rel=1e-9)


@pytest.mark.parametrize("measure", [m for m in SlipMeasure if m is not SlipMeasure.BAUME_DEG])
@pytest.mark.parametrize("bad", [math.nan, -5, 1e6, math.inf, "36"])
def test_no_slip_weighs_that(measure, bad):
    with pytest.raises(BadValue, match=rf"^{measure.value} is .*; give a {measure.value} from "):
        specific_gravity(measure, bad)


@pytest.mark.parametrize("bad", [0, 0.99, 2.6, math.nan])
def test_absurd_specific_gravities_are_refused(bad):
    with pytest.raises(BadValue, match=r"tank is .*; give a specific gravity from 1 to 2.5"):
        checked_sg("tank", bad)
