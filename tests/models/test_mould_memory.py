"""Truth: times of the n-th cast [S3, read, trade], and moulds made here by another law in small steps."""

import math

import numpy as np
import pytest

from models.air import Room
from models.diary import Air, Diary, PastCast, Weighing
from models.doors import BadValue
from models.mould_memory import learn, log_k
from models.plaster import block

ROOM = Air(0.0, Room(20.0, 0.5))


def _diary(casts, **more):
    return Diary(block(2.0), tuple(casts), (), (ROOM,), **more)


def _expected_k(memory, **where):
    return math.exp(log_k(memory.mean, **where))


def test_an_unknown_mould_comes_back_with_the_band_of_the_trade():
    memory = learn(_diary([]))
    k = math.exp(memory.mean[0])
    sigma = math.sqrt(memory.covariance[0, 0])
    # K 0.5 to 5.3 mm2/min from the slowest to the fastest maker's statement [S3, S24: derived]
    assert 0.5 < k < 5.3
    assert k * math.exp(-3 * sigma) < 0.5
    assert k * math.exp(3 * sigma) > 5.3


def test_one_cast_tells_more_of_k_than_the_whole_trade():
    memory = learn(_diary([PastCast(0.0, 2.0, 0.05, 60.0)]))
    assert _expected_k(memory, free_water=0.0, casts_so_far=0, temperature_c=20.0) == pytest.approx(
        2.0, rel=0.03
    )
    assert math.sqrt(memory.covariance[0, 0]) < 0.1


def test_a_cast_in_a_warm_room_is_not_taken_for_a_better_mould():
    # water is 1.278 times as fluid at 25 C as at 15 C [S6: derived]
    memory = learn(_diary([PastCast(0.0, 2.0, 0.02, 60.0, temperature_c=25.0)]))
    cold = _expected_k(memory, free_water=0.0, casts_so_far=0, temperature_c=15.0)
    assert cold == pytest.approx(2.0 / 1.278, rel=0.03)


def test_one_odd_cast_does_not_bend_a_mould_s_history():
    casts = [PastCast(24.0 * n, 2.0, 0.05, 20.0) for n in range(8)]
    casts[4] = PastCast(96.0, 0.7, 0.05, 20.0)
    odd = learn(_diary(casts))
    assert _expected_k(odd, free_water=0.0, casts_so_far=4, temperature_c=20.0) == pytest.approx(
        2.0, rel=0.08
    )


def test_a_mould_that_wears_out_is_seen_to_slow_down():
    casts = [PastCast(48.0 * n, 2.0 * math.exp(-0.0015 * n), 0.05, 15.0) for n in range(80)]
    memory = learn(_diary(casts))
    assert memory.mean[3] == pytest.approx(-0.15, abs=0.06)


def test_weighing_the_mould_tells_how_fast_it_dries():
    # 200 mL at noon, 150 mL six hours later, by the scale
    casts = (PastCast(0.0, 2.0, 0.05, 200.0),)
    quick = Diary(block(2.0), casts, (Weighing(12.0, 2.04, 0.003),), (ROOM,))
    slow = Diary(block(2.0), casts, (Weighing(12.0, 2.19, 0.003),), (ROOM,))
    assert learn(quick).mean[2] > learn(slow).mean[2] + 1.0


def _true_mould(rng, days=6, per_day=3):
    """Casts of a mould that obeys the series law with its own thirst, dried in 0.1 h steps."""
    face = 6 * (2.0 / 1080) ** (2 / 3)
    k_cake = math.exp(rng.normal(math.log(1.6), 0.6))
    s_dry = math.exp(rng.normal(math.log(2.2), 0.3))
    rate_ml_h = 0.067e3 * face * math.exp(rng.normal(0.0, 0.5))
    water, f, casts, now = 0.0, 0.29, [], 0.0
    for n in range(days * per_day):
        at = 24.0 * (n // per_day) + 8.0 + 2.0 * (n % per_day)
        while now < at - 1e-9:
            water = max(water - 0.1 * rate_ml_h * min(1.0, water / (2000 * 0.10)), 0.0)
            now += 0.1
        thirst = s_dry / (1 + water / 2000 / 0.05)
        k = 1.0 / (1.0 / k_cake + f * f / thirst**2) * math.exp(rng.normal(0.0, 0.05))
        casts.append(PastCast(at, k * math.exp(rng.normal(0.0, 0.03)), 0.03, 55.0))
        water += 55.0
    return casts


def test_ranges_hold_over_many_moulds_of_another_law():
    rng = np.random.default_rng(20261124)
    from models.damp_forecast import next_cast

    inside = {"first": 0, "later": 0}
    errors, last = [], []
    moulds = 60
    for _ in range(moulds):
        casts = _true_mould(rng, days=3)
        for name, known in (("first", 0), ("later", 7)):
            diary = _diary(casts[:known], start_water_ml=0.0)
            said = next_cast(learn(diary), diary, at_h=casts[known].at_h, wall_mm=3.0)
            inside[name] += said.k_mm2_per_min.low <= casts[known].k_mm2_per_min <= said.k_mm2_per_min.high
            if known:
                errors.append(abs(math.log(said.k_mm2_per_min.value / casts[known].k_mm2_per_min)))
                last.append(abs(math.log(casts[known - 1].k_mm2_per_min / casts[known].k_mm2_per_min)))
    # binomial 60 x 0.8: 48 +- 3.1; three sigma either way
    assert 38 <= inside["first"] <= 58
    assert 38 <= inside["later"] <= 58
    assert float(np.median(errors)) < 0.08
    assert float(np.median(errors)) < float(np.median(last))  # "as long as last time" is the rival


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1e9])
def test_absurd_diaries_are_refused(bad):
    with pytest.raises(BadValue, match=r"^cast 1 K is .*; give mm2/min"):
        learn(_diary([PastCast(0.0, bad, 0.05, 60.0)]))
    with pytest.raises(BadValue, match=r"^cast 1 K spread is "):
        learn(_diary([PastCast(0.0, 2.0, bad, 60.0)]))
    if bad != 0.0:
        with pytest.raises(BadValue, match=r"^cast 1 water is "):
            learn(_diary([PastCast(0.0, 2.0, 0.05, bad)]))
        with pytest.raises(BadValue, match=r"^start water is "):
            learn(_diary([], start_water_ml=bad))
    with pytest.raises(BadValue, match=r"^cast 1 temperature is "):
        learn(_diary([PastCast(0.0, 2.0, 0.05, 60.0, temperature_c=bad)]))
    with pytest.raises(BadValue, match=r"^cast 1 f ratio is "):
        learn(_diary([PastCast(0.0, 2.0, 0.05, 60.0, f_ratio=bad)]))
    with pytest.raises(BadValue, match=r"^weighing 1 is .*; give kg, near 2 dry"):
        learn(Diary(block(2.0), (), (Weighing(0.0, bad),), (ROOM,)))


def test_times_must_run_forward():
    with pytest.raises(BadValue, match=r"^cast 2 time is 3 h; give times in order, after 5 h"):
        learn(_diary([PastCast(5.0, 2.0, 0.05, 60.0), PastCast(3.0, 2.0, 0.05, 60.0)]))
    with pytest.raises(BadValue, match="diary has no air"):
        learn(Diary(block(2.0), (), (), ()))
