"""Truth: volumes worked by hand, and simulated casters who know the wall they want (made here)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.good_cast import JudgedCast, NoTarget, WaterTarget, Word, target_from, water_given_ml
from models.mould import checked_mould
from models.slip import checked_slip

F = 0.29293  # SG 1.75, G 2.6, w .25 [derived]
F_THICK = 0.21212  # SG 1.80, G 2.6, w .25 [derived]


def _cast(name, water, word=Word.GOOD, f=F, sigma=1.0):
    return JudgedCast(name, water, sigma, f, word)


def test_water_is_surface_times_sinking_summed_over_top_ups():
    # a hole of 1000 mm2: 10 mm, topped up, 5 mm: 15 mL; closing from 1000 to 900 over 10 mm: 9.5 mL
    straight = (np.array([0.0, 4.0, 10.0]), np.full(3, 1000.0))
    again = (np.array([1.0, 6.0]), np.full(2, 1000.0))
    closing = (np.array([0.0, 10.0]), np.array([1000.0, 900.0]))
    assert water_given_ml([straight, again]) == pytest.approx(15.0)
    assert water_given_ml([closing]) == pytest.approx(9.5)


def test_one_good_cast_is_the_target_of_the_second():
    target = target_from([_cast("first", 60.0)], water_per_cake_today=F)
    assert isinstance(target, WaterTarget)
    assert target.water_ml.value == pytest.approx(60.0, rel=1e-3)
    assert target.water_ml.low < 60.0 < target.water_ml.high
    assert target.thick_ml == pytest.approx(66.0, rel=1e-3)
    assert target.used == ("first",)


def test_a_thicker_slip_gives_up_less_water_for_the_same_wall():
    # same cake: 60 mL at SG 1.75 is 60 x .21212/.29293 = 43.4 mL at SG 1.80 [derived]
    target = target_from([_cast("first", 60.0)], water_per_cake_today=F_THICK)
    assert target.water_ml.value == pytest.approx(43.4, abs=0.1)


def test_more_good_casts_narrow_the_target():
    one = target_from([_cast("a", 60.0)], water_per_cake_today=F)
    five = target_from([_cast(str(i), 59.0 + i / 2) for i in range(5)], water_per_cake_today=F)
    assert five.rel_sigma < 0.6 * one.rel_sigma


def test_thin_and_thick_bracket_a_target_without_a_good_one():
    said = target_from(
        [_cast("a", 50.0, Word.TOO_THIN), _cast("b", 72.0, Word.TOO_THICK)], water_per_cake_today=F
    )
    assert isinstance(said, WaterTarget)
    assert 52 < said.water_ml.value < 70


def test_only_thin_casts_set_no_target():
    said = target_from([_cast("a", 50.0, Word.TOO_THIN)], water_per_cake_today=F)
    assert isinstance(said, NoTarget)
    assert "every cast was too thin" in said.why
    assert "no cast of this mould has been judged" in target_from([], water_per_cake_today=F).why


def test_too_thin_moves_the_target_up():
    before = target_from([_cast("a", 60.0)], water_per_cake_today=F)
    after = target_from([_cast("a", 60.0), _cast("b", 61.0, Word.TOO_THIN)], water_per_cake_today=F)
    assert after.water_ml.value > before.water_ml.value


def test_a_word_that_does_not_fit_is_shown_and_not_averaged():
    casts = [_cast("mon", 60.0), _cast("tue", 61.0), _cast("wed", 85.0)]
    said = target_from(casts, water_per_cake_today=F)
    assert said.used == ("mon", "tue")
    assert len(said.questioned) == 1
    assert "wed gave up 85 mL and was called good" in said.questioned[0]
    assert said.water_ml.value == pytest.approx(60.5, rel=0.01)
    thin = target_from([_cast("mon", 60.0), _cast("tue", 90.0, Word.TOO_THIN)], water_per_cake_today=F)
    assert "tue gave up 90 mL and was called too thin" in thin.questioned[0]


def test_ranges_hold_four_times_in_five_for_casters_who_know_what_they_want():
    rng = np.random.default_rng(7)
    inside = 0
    runs = 400
    for _ in range(runs):
        wanted = math.exp(rng.normal(math.log(60.0), 0.3))
        casts = []
        for i in range(3):
            made = wanted * math.exp(rng.normal(0, 0.05))
            casts.append(_cast(str(i), made * math.exp(rng.normal(0, 0.02)), sigma=0.02 * made))
        said = target_from(casts, water_per_cake_today=F)
        inside += said.water_ml.low <= wanted <= said.water_ml.high
    assert 0.74 <= inside / runs <= 0.86  # three binomial sigmas about 80 %


@given(st.floats(5, 500), st.floats(0.05, 1.5), st.floats(0.05, 1.5))
def test_the_target_goes_with_todays_slip_alone(water, f_then, f_today):
    said = target_from([_cast("a", water, f=f_then, sigma=0.01 * water)], water_per_cake_today=f_today)
    assert said.water_ml.value == pytest.approx(water * f_today / f_then, rel=2e-3)


@pytest.mark.parametrize("bad", [math.nan, 0.0, -3.0, 1e9])
def test_absurd_casts_are_refused(bad):
    with pytest.raises(BadValue, match=r"^mon: water given up is .*; give mL"):
        target_from([_cast("mon", bad)], water_per_cake_today=F)
    with pytest.raises(BadValue, match=r"^mon: spread of the water is "):
        target_from([_cast("mon", 60.0, sigma=bad)], water_per_cake_today=F)
    with pytest.raises(BadValue, match=r"^mon: f is "):
        target_from([_cast("mon", 60.0, f=bad)], water_per_cake_today=F)
    with pytest.raises(BadValue, match=r"^today's f is "):
        target_from([_cast("mon", 60.0)], water_per_cake_today=bad)


def test_absurd_legs_are_refused():
    with pytest.raises(BadValue, match="leg 1 has 1 levels"):
        water_given_ml([(np.array([1.0]), np.array([1.0]))])
    with pytest.raises(BadValue, match="leg 2 holds a number"):
        water_given_ml([(np.zeros(2), np.ones(2)), (np.array([0.0, math.nan]), np.ones(2))])
    with pytest.raises(BadValue, match="leg 1 holds a number"):
        water_given_ml([(np.zeros(2), -np.ones(2))])


def _run(profile, slip, wall=4.0):
    from models.balance import sink
    from models.cavity import cut

    cavity = cut(profile)
    return sink(
        cavity,
        level_mm=5.0,
        clocks_mm2=np.zeros(len(cavity.depths_mm)),
        water_per_cake=slip.water_per_cake,
        most_mm2=1.5 * wall**2,
    )


@pytest.mark.parametrize(
    "bore",
    [
        [(0, 80), (20, 72), (26, 66), (60, 90), (100, 70)],
        [(0, 60), (20, 52), (30, 47), (70, 84), (120, 60)],
        [(0, 90), (18, 84), (90, 76), (100, 60)],
    ],
)
def test_the_second_cast_called_by_water_has_the_first_one_s_wall_though_the_slip_changed(bore):
    # first cast: whatever K, tipped at a 3 mm wall with slip of 1.75; then slip of 1.78. The forward
    # model knows nothing of targets; 3 % of wall is seen on no piece
    profile = checked_mould("pot", bore)
    first_slip = checked_slip(specific_gravity=1.75, cake_solids_fraction=0.606)
    today = checked_slip(specific_gravity=1.78, cake_solids_fraction=0.606)
    first = _run(profile, first_slip)
    cake = float(np.interp(3.0, first.wall_mm, first.cake_mm3)) / 1000
    judged = _cast("first", first_slip.water_per_cake * cake, f=first_slip.water_per_cake, sigma=0.3)
    target = target_from([judged], water_per_cake_today=today.water_per_cake)
    second = _run(profile, today)
    water = today.water_per_cake * second.cake_mm3 / 1000
    assert float(np.interp(target.water_ml.value, water, second.wall_mm)) == pytest.approx(3.0, rel=0.03)
