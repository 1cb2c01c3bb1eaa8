"""Truth: scipy's mixed-integer solver for small benches; every other plan is checked step by step here."""

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from plan_benches import bench_of, check_plan, exact_end, mould_of

from models.doors import BadValue
from models.plan_chance import Habit, play
from models.plan_jobs import PlanAsk, PlanMould, RunningCast
from models.planning import plan_day
from models.pour_next import PourNext, PourNothing, pour_next


def test_few_moulds_are_planned_as_well_as_an_exact_solver_can():
    rng = np.random.default_rng(1)
    for _ in range(20):
        casts = [int(v) for v in rng.integers(4, 20, int(rng.integers(2, 6)))]
        pour, tip, hands = (int(rng.integers(1, 4)), int(rng.integers(1, 4)), int(rng.integers(1, 3)))
        moulds = tuple(
            PlanMould(f"m{i}", (float(c),), pour_min=pour, tip_min=tip, drain_min=0.0, set_min=2880.0)
            for i, c in enumerate(casts)
        )
        plan = plan_day(PlanAsk(moulds, hands, 300.0, slack=0.0))
        assert plan.ends_min == exact_end(casts, pour, tip, hands), (casts, pour, tip, hands)


@pytest.mark.parametrize(("seed", "moulds", "hands"), [(0, 3, 1), (1, 8, 1), (2, 12, 2), (3, 20, 2)])
def test_every_step_of_a_plan_has_its_hands(seed, moulds, hands):
    ask = bench_of(seed, moulds, hands=hands)
    check_plan(ask, plan_day(ask))


@pytest.mark.slow
def test_a_big_bench_is_planned_within_two_seconds():
    ask = bench_of(5, 40, casts=8, hands=2, closing=600.0)
    began = time.process_time()
    plan = plan_day(ask)
    took = time.process_time() - began
    check_plan(ask, plan)
    assert took < 2.0


@pytest.mark.slow
def test_plans_beat_pouring_all_at_once_on_every_bench_and_each_fixed_gap_over_all():
    benches = [
        bench_of(s, m, hands=h) for s, m, h in ((0, 6, 1), (2, 12, 1), (3, 12, 2), (4, 20, 2), (5, 16, 1))
    ]
    planned = [play(ask, plan_day(ask), days=40) for ask in benches]
    at_once = [play(ask, Habit(0.0), days=40) for ask in benches]
    for plan, usual in zip(planned, at_once, strict=True):
        assert plan.pots >= usual.pots - 0.2
        assert plan.overdue_min < usual.overdue_min
        assert plan.spoiled <= usual.spoiled
    pots, overdue = sum(p.pots for p in planned), sum(p.overdue_min for p in planned)
    for gap in (3.0, 5.0, 8.0, 12.0):
        usual = [play(ask, Habit(gap), days=40) for ask in benches]
        # a short gap makes as many pots and lets them wait; a long one does not, and makes fewer
        more, waits = pots - sum(u.pots for u in usual), sum(u.overdue_min for u in usual)
        assert more > -0.5
        assert overdue < 0.8 * waits or more > 5


def test_a_plan_says_how_often_it_would_hold():
    ask = bench_of(1, 6)
    plan = plan_day(ask)
    sure = play(replace(ask, moulds=tuple(replace(m, sigma_log=0.0) for m in ask.moulds)), plan)
    assert sure.holds == 1.0
    assert sure.spoiled == 0.0
    assert sure.overdue_min < 2.0  # rounding to the grid and pours brought forward, over 18 casts
    wild = tuple(replace(m, sigma_log=0.6, late_share=0.02) for m in ask.moulds)
    assert play(replace(ask, moulds=wild), plan).holds < 0.5


def test_a_plan_without_room_says_what_is_missing():
    ask = bench_of(7, 10, closing=120.0)
    plan = plan_day(ask)
    check_plan(ask, plan)
    assert plan.missing
    assert plan.pots + sum(n for _, n in plan.missing) == 30


def test_a_damp_mould_is_not_cast_more_often_than_allowed():
    ask = PlanAsk((PlanMould("jug", (10.0, 12.0), wanted=5),), 1, 480.0)
    plan = plan_day(ask)
    assert plan.pots == 2
    assert plan.missing == (("jug", 3),)


def test_a_plan_goes_on_from_what_stands_on_the_bench():
    running = (RunningCast("bowl", 6.0, 0.5), RunningCast("vase", -1.0, 0.5))
    ask = PlanAsk((mould_of("jug", free_at_min=3.0), mould_of("cup")), 1, 200.0, running)
    check_plan(ask, plan_day(ask))


def test_the_simple_answer_avoids_the_tip_that_is_due():
    # the bowl is tipped from 15 to 17; a jug of 15 min poured now (2 min) is ready at 17: it fits
    ask = PlanAsk((mould_of("jug"),), 1, 200.0, (RunningCast("bowl", 15.0, 0.0),), slack=0.0)
    assert pour_next(ask) == PourNext("jug", 0.0, 17.0)
    # one of 13.5 min would be ready at 15.5: wait a minute and a half, till 17
    assert pour_next(replace(ask, moulds=(mould_of("jug", 13.5),))) == PourNext("jug", 1.5, 17.0)
    # hands are busy with a tip now and for 2 min
    busy = replace(ask, running=(RunningCast("bowl", 0.0, 0.0),))
    assert pour_next(busy) == PourNext("jug", 2.0, 19.0)


def test_of_two_that_can_be_poured_now_the_slow_one_goes_first():
    ask = PlanAsk((mould_of("cup", 10.0), mould_of("planter", 30.0)), 1, 200.0)
    assert pour_next(ask).mould == "planter"


def test_reasons_not_to_pour():
    ask = PlanAsk((mould_of("jug"),), 1, 20.0)
    assert "before closing" in pour_next(ask).why
    assert "as damp as you allow" in pour_next(replace(ask, moulds=(PlanMould("jug", ()),))).why
    nothing = pour_next(replace(ask, moulds=(mould_of("jug", wanted=0),)))
    assert isinstance(nothing, PourNothing)
    assert "every pot that is wanted" in nothing.why


def test_an_empty_bench_is_planned_too():
    plan = plan_day(PlanAsk((), 1, 480.0))
    assert plan.steps == ()
    assert plan.pots == 0


@pytest.mark.parametrize("bad", [math.nan, -1.0, 0.0, 1e9])
def test_absurd_asks_are_refused(bad):
    good = PlanAsk((mould_of("jug"),), 1, 200.0)
    with pytest.raises(BadValue, match=r"^closing time is "):
        plan_day(replace(good, closing_min=bad))
    with pytest.raises(BadValue, match=r"^jug: time of cast 1 is "):
        plan_day(replace(good, moulds=(mould_of("jug", bad),)))
    for field, name in (("pour_min", "pour time"), ("tip_min", "tip time"), ("demould_min", "demould time")):
        with pytest.raises(BadValue, match=rf"^jug: {name} is "):
            plan_day(replace(good, moulds=(mould_of("jug", **{field: bad}),)))
    with pytest.raises(BadValue, match=r"^jug: top-up at is "):
        plan_day(replace(good, moulds=(mould_of("jug", top_up_at=(bad,)),)))
    with pytest.raises(BadValue, match=r"^days is "):
        play(good, Habit(0.0), days=bad)


def test_hands_names_and_counts_are_checked():
    with pytest.raises(BadValue, match=r"^hands is 3; give 1 or 2"):
        plan_day(PlanAsk((mould_of("jug"),), 3, 200.0))
    with pytest.raises(BadValue, match=r"^mould name is 'jug' twice or empty"):
        plan_day(PlanAsk((mould_of("jug"), mould_of("jug")), 1, 200.0))
    with pytest.raises(BadValue, match=r"^jug: wanted is -1"):
        plan_day(PlanAsk((mould_of("jug", wanted=-1),), 1, 200.0))
    with pytest.raises(BadValue, match=r"^wanted pots are more than 1000"):
        plan_day(PlanAsk((PlanMould("jug", (1.0,) * 1001, wanted=1001),), 1, 200.0))
    with pytest.raises(BadValue, match=r"^gap between pours is -1"):
        play(PlanAsk((mould_of("jug"),), 1, 200.0), Habit(-1.0))


@pytest.mark.slow
def test_days_hold_as_often_as_the_plan_says_also_where_spreads_are_other_than_believed():
    rng = np.random.default_rng(12)
    said, came, otherwise = [], [], []
    for seed in range(10):
        ask = bench_of(seed, int(rng.integers(5, 12)), casts=2, hands=1)
        sigma = float(rng.uniform(0.1, 0.3))
        late = float(rng.uniform(0.08, 0.2))
        ask = replace(ask, moulds=tuple(replace(m, sigma_log=sigma, late_share=late) for m in ask.moulds))
        plan = plan_day(ask)
        said.append(play(ask, plan, days=60, seed=0).holds)
        # other days of the same world, and a world in which each mould scatters by its own amount
        came.append(play(ask, plan, days=120, seed=5).holds)
        own = tuple(replace(m, sigma_log=m.sigma_log * float(rng.lognormal(0.0, 0.3))) for m in ask.moulds)
        otherwise.append(play(replace(ask, moulds=own), plan, days=120, seed=6).holds)
    assert min(said) < 0.7 < max(said)  # the benches are not all easy
    assert abs(np.mean(said) - np.mean(came)) < 0.05
    assert abs(np.mean(said) - np.mean(otherwise)) < 0.10
    assert np.corrcoef(said, came)[0, 1] > 0.9
