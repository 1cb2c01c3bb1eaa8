"""Truth: mass balance; directions of faults [S32, read]; stirring before judging [common practice]."""

import math

import pytest

from models.doors import BadValue
from models.slip_check import SlipBand, Verdict, judge_slip, with_reclaim
from models.slip_desk import Mix

BAND = SlipBand(1.74, 1.76, 30, 40)


def test_a_good_tank_needs_nothing():
    said = judge_slip(BAND, tank_l=20, sg=1.75, stirred=True, flow_s=35)
    assert said.verdict is Verdict.GOOD
    assert said.water_l == said.stir_min == said.rest_min == 0


def test_a_thick_tank_gets_water_to_the_middle_of_the_band():
    said = judge_slip(BAND, tank_l=10, sg=1.80, stirred=True)
    assert said.verdict is Verdict.TOO_THICK
    assert said.water_l == pytest.approx(0.667, abs=1e-3)  # 10 (1.80-1.75)/0.75
    assert said.stir_min > 0
    assert said.rest_min > 0


def test_an_unstirred_tank_is_never_given_water():
    for sg, flow in ((1.80, None), (1.75, 90.0), (1.70, None)):
        said = judge_slip(BAND, tank_l=10, sg=sg, stirred=False, flow_s=flow)
        assert said.verdict is Verdict.STIR_FIRST
        assert said.water_l == 0


@pytest.mark.parametrize(
    ("sg", "flow", "verdict"),
    [
        (1.70, 20, Verdict.TOO_THIN),
        (1.75, 60, Verdict.GELS),
        (1.75, 12, Verdict.RUNS),
        (1.75, None, Verdict.GOOD),
    ],
)
def test_weight_and_flow_point_to_different_cures(sg, flow, verdict):
    said = judge_slip(BAND, tank_l=10, sg=sg, stirred=True, flow_s=flow)
    assert said.verdict is verdict
    assert said.water_l == 0


def test_reclaim_past_one_half_is_said():
    # two to one and half and half are used; always measure again [S31, read]
    assert not with_reclaim(Mix(20, 1.76), Mix(10, 1.70)).much
    assert not with_reclaim(Mix(10, 1.76), Mix(10, 1.70)).much
    lots = with_reclaim(Mix(10, 1.76), Mix(20, 1.70))
    assert lots.much
    assert lots.reclaim_share == pytest.approx(2 / 3)
    assert lots.mix.specific_gravity == pytest.approx(1.72)


@pytest.mark.parametrize(
    ("band", "text"),
    [
        ((1.76, 1.74), "band's lower specific gravity is 1.76"),
        ((math.nan, 1.74), "band's lower specific gravity is nan"),
        ((1.74, 1.76, 30, None), "one end only"),
        ((1.74, 1.76, 40, 30), "band's upper flow time is 30"),
        ((1.74, 1.76, 0, 30), "band's lower flow time is 0"),
    ],
)
def test_absurd_bands_are_refused(band, text):
    with pytest.raises(BadValue, match=text):
        SlipBand(*band)


@pytest.mark.parametrize("bad", [math.nan, 0, -1])
def test_absurd_readings_are_refused(bad):
    with pytest.raises(BadValue, match="tank is"):
        judge_slip(BAND, tank_l=bad, sg=1.75, stirred=True)
    with pytest.raises(BadValue, match="specific gravity is"):
        judge_slip(BAND, tank_l=1, sg=bad, stirred=True)
    with pytest.raises(BadValue, match="flow time is"):
        judge_slip(BAND, tank_l=1, sg=1.75, stirred=True, flow_s=bad)
