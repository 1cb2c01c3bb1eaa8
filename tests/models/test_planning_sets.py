"""Truth: scipy's mixed-integer solver for small benches with sets; other plans are checked step by step."""

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from plan_benches import bench_of, check_plan, exact_end, mould_of

from models.doors import BadValue
from models.plan_jobs import PlanAsk, PlanMould, PlanSet, StepKind
from models.planning import plan_day


def test_parts_of_a_set_are_planned_to_come_leather_hard_together_as_well_as_an_exact_solver_can():
    rng = np.random.default_rng(4)
    for _ in range(12):
        casts = [int(v) for v in rng.integers(4, 16, int(rng.integers(3, 5)))]
        hard = [int(v) for v in rng.integers(3, 20, len(casts))]
        pour, tip, hands = (int(rng.integers(1, 3)), int(rng.integers(1, 3)), int(rng.integers(1, 3)))
        window = int(rng.integers(2, 6))
        parts = tuple(range(2 if len(casts) < 4 else 3))
        moulds = tuple(
            PlanMould(f"m{i}", (float(c),), pour_min=pour, tip_min=tip, drain_min=0.0, set_min=float(h))
            for i, (c, h) in enumerate(zip(casts, hard, strict=True))
        )
        piece = PlanSet("jug", tuple(f"m{i}" for i in parts), window_min=float(window))
        plan = plan_day(PlanAsk(moulds, hands, 300.0, slack=0.0, sets=(piece,)))
        assert plan.ends_min == exact_end(casts, pour, tip, hands, hard, [parts], window), casts
        (one,) = plan.sets
        assert one.apart_min <= window


def _hard_at(ask, plan, name):
    mould = next(m for m in ask.moulds if m.name == name)
    tip = next(s for s in plan.steps if s.mould == name and s.kind is StepKind.TIP)
    return tip.at_min + tip.minutes + mould.set_min


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "hands"), [(3, 1), (4, 2), (6, 1)])
def test_a_full_bench_brings_its_sets_together_and_keeps_its_other_promises(seed, hands):
    ask = bench_of(seed, 12, hands=hands)
    sets = (PlanSet("jug", ("m0", "m4", "m7")), PlanSet("pot", ("m2", "m9"), window_min=15.0))
    ask = replace(ask, sets=sets)
    plan = plan_day(ask)
    check_plan(ask, plan)
    assert {one.name for one in plan.sets} == {"jug", "pot"}
    for one, said in ((s, next(p for p in plan.sets if p.name == s.name)) for s in sets):
        moments = [_hard_at(ask, plan, name) for name in one.moulds]
        assert max(moments) - min(moments) == pytest.approx(said.apart_min, abs=0.6)
        assert max(moments) == pytest.approx(said.join_min, abs=0.6)
        assert said.apart_min <= one.window_min
    alone = plan_day(replace(ask, sets=()))
    assert plan.pots >= alone.pots - 2  # togetherness costs little


def test_a_part_that_was_poured_already_is_waited_for_and_met():
    ask = PlanAsk((mould_of("lid", 10.0, set_min=30.0), mould_of("cup")), 1, 300.0)
    met = plan_day(replace(ask, sets=(PlanSet("jar", ("lid",), hard_min=(100.0,), window_min=10.0),)))
    (one,) = met.sets
    assert one.apart_min <= 10.0
    assert 90.0 <= _hard_at(ask, met, "lid") <= 110.0  # alone it would be hard after 46 min
    # a body that is hard in 20 min cannot be met any more: the set is not promised, the lid is still cast
    missed = plan_day(replace(ask, sets=(PlanSet("jar", ("lid",), hard_min=(-60.0,), window_min=10.0),)))
    assert missed.sets == ()
    assert missed.pots == 2


@pytest.mark.slow
def test_a_big_bench_with_sets_is_planned_within_two_seconds():
    ask = bench_of(5, 40, casts=8, hands=2, closing=600.0)
    sets = tuple(PlanSet(f"set {k}", tuple(f"m{3 * k + i}" for i in range(3))) for k in range(8))
    began = time.process_time()
    plan = plan_day(replace(ask, sets=sets))
    took = time.process_time() - began
    assert len(plan.sets) == 8
    assert took < 2.0


def test_absurd_sets_of_a_plan_are_refused():
    ask = PlanAsk((mould_of("jug"), mould_of("lid")), 1, 200.0)
    for bad in (("jug", "spout"), ("jug", "jug")):
        with pytest.raises(BadValue, match=r"is not in the plan, or in two sets"):
            plan_day(replace(ask, sets=(PlanSet("piece", bad),)))
    with pytest.raises(BadValue, match=r"^piece: window is "):
        plan_day(replace(ask, sets=(PlanSet("piece", ("jug", "lid"), window_min=math.nan),)))
