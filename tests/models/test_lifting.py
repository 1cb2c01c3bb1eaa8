"""Truth: NIOSH equation and worked example [S16, read]; plaster and slip weights by hand [S10]."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.lifting import Grip, Lift, full_mould_kg, judge_lift, weight_limit_kg

EXAMPLE = Lift(reach_cm=25, from_cm=55, travel_cm=95, twist_deg=0, per_min=3, grip=Grip.FAIR)


def test_the_published_example():
    # H 25, V 55, D 95, A 0, FM .88, CM .95, 12 kg -> RWL 15.7 kg, LI .76 [S16, read]
    said = judge_lift(12.0, EXAMPLE)
    assert said.limit_kg == pytest.approx(15.7, abs=0.05)
    assert said.index == pytest.approx(0.76, abs=0.006)
    assert said.people == 1
    assert "local rules" in said.defer


def test_the_best_lift_there_is_allows_the_load_constant():
    assert weight_limit_kg(Lift(25, 75, 25, 0, 0.1, Grip.GOOD)) == pytest.approx(23.0, abs=1e-9)


def test_a_wet_bowl_mould_wants_two():
    # 13.5 kg dry, 10 % damp, 3 L of slip of 1.75: 14.85 + 5.25 = 20.1 kg
    load = full_mould_kg(dry_kg=13.5, free_water=0.10, slip_ml=3000, sg=1.75)
    assert load == pytest.approx(20.1)
    assert judge_lift(load, Lift()).people == 2
    assert judge_lift(60.0, Lift()).people == 3


@given(st.floats(25, 60), st.floats(0.1, 3), st.sampled_from(Grip))
def test_reaching_further_never_allows_more(reach, more, grip):
    assert weight_limit_kg(Lift(reach_cm=reach + more, grip=grip)) < weight_limit_kg(
        Lift(reach_cm=reach, grip=grip)
    )


@given(st.floats(0, 5.9), st.floats(0.001, 0.1))
def test_lifting_more_often_never_allows_more(rate, more):
    assert weight_limit_kg(Lift(per_min=rate + more)) <= weight_limit_kg(Lift(per_min=rate)) + 1e-12


@pytest.mark.parametrize("bad", [math.nan, -1.0, 1e6])
def test_absurd_lifts_are_refused(bad):
    for field, lift in (
        ("reach", Lift(reach_cm=bad)),
        ("height of the hands", Lift(from_cm=bad)),
        ("travel", Lift(travel_cm=bad)),
        ("twist", Lift(twist_deg=bad)),
        ("lifts a minute", Lift(per_min=bad)),
    ):
        with pytest.raises(BadValue, match=rf"^{field} is .*; give "):
            weight_limit_kg(lift)
    with pytest.raises(BadValue, match=r"^load is "):
        judge_lift(bad, Lift())
    with pytest.raises(BadValue, match=r"^free water is "):
        full_mould_kg(dry_kg=3, free_water=bad, slip_ml=100, sg=1.75)
    with pytest.raises(BadValue, match=r"^mould's dry weight is "):
        full_mould_kg(dry_kg=bad, free_water=0, slip_ml=100, sg=1.75)


def test_no_load_is_refused():
    with pytest.raises(BadValue, match="load is 0"):
        judge_lift(0.0, Lift())
