"""Benches to be planned, and what must hold of every plan, step by step."""

import math

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from models.plan_jobs import PlanAsk, PlanMould, StepKind


def mould_of(name, cast=15.0, **more):
    return PlanMould(name, (cast,), **more)


def check_plan(ask, plan):
    """Hold a plan against its promises, second by second."""
    at = np.arange(0, ask.closing_min + 600, 0.25)
    busy, tips = np.zeros(len(at)), np.zeros(len(at))
    last_free = {m.name: m.free_at_min for m in ask.moulds}
    moulds = {m.name: m for m in ask.moulds}
    for cast in ask.running:
        during = (at >= cast.ready_in_min - 1e-9) & (at < cast.ready_in_min + cast.tip_min - 1e-9)
        busy += during
        tips += during
    for step in plan.steps:
        during = (at >= step.at_min - 1e-9) & (at < step.at_min + step.minutes - 1e-9)
        busy += during
        mould = moulds[step.mould]
        if step.kind is StepKind.POUR:
            assert step.at_min >= last_free[step.mould] - 1e-9
            last_free[step.mould] = math.inf
            poured = step.at_min + mould.pour_min
            (tip,) = [
                s for s in plan.steps if (s.mould, s.cast, s.kind) == (step.mould, step.cast, StepKind.TIP)
            ]
            assert tip.at_min - poured == pytest.approx(mould.cast_min[step.cast - 1], abs=0.5)
            assert tip.at_min + tip.minutes + mould.drain_min <= ask.closing_min + 0.5
        if step.kind is StepKind.TIP:
            tips += during
        if step.kind is StepKind.DEMOULD:
            last_free[step.mould] = step.at_min + step.minutes
            assert last_free[step.mould] <= ask.closing_min
    assert busy.max() <= ask.hands
    assert tips.max() <= 1
    for mould in ask.moulds:
        made = sum(s.kind is StepKind.TIP and s.mould == mould.name for s in plan.steps)
        assert made <= min(mould.wanted, len(mould.cast_min))
        assert dict(plan.missing).get(mould.name, 0) == mould.wanted - made


def bench_of(seed, moulds, casts=3, hands=1, closing=480.0):
    rng = np.random.default_rng(seed)
    made = []
    for i in range(moulds):
        first = float(rng.uniform(8, 28))
        made.append(
            PlanMould(
                f"m{i}",
                tuple(first * (1 + 0.15 * k) for k in range(casts)),
                wanted=casts,
                pour_min=float(rng.uniform(1, 3)),
                tip_min=float(rng.uniform(1, 2.5)),
                demould_min=4.0,
                set_min=float(rng.uniform(30, 70)),
                top_up_at=(0.5,) if i % 3 == 0 else (),
            )
        )
    return PlanAsk(tuple(made), hands, closing)


def exact_end(casts, pour, tip, hands, hard=(), sets=(), window=0):
    """Least possible end of pours and tips on whole minutes: one binary for each cast and start.

    The parts of each set (indices of casts) are leather-hard within the window, `hard` minutes after a tip.
    """
    hard = hard or [0] * len(casts)
    horizon = max(casts) + len(casts) * (pour + tip) + max(hard)
    n = len(casts)
    pairs = [(i, j) for one in sets for i in one for j in one if i != j]
    a = lil_array((n + 2 * horizon + n + len(pairs), n * horizon + 1))
    low, high = np.full(a.shape[0], -math.inf), np.zeros(a.shape[0])
    for i, cast in enumerate(casts):
        for s in range(horizon):
            x, tip_at = i * horizon + s, s + pour + cast
            if tip_at + tip > horizon:
                continue
            a[i, x] = 1
            for t in (*range(s, s + pour), *range(tip_at, tip_at + tip)):
                a[n + t, x] += 1
            for t in range(tip_at, tip_at + tip):
                a[n + horizon + t, x] += 1
            a[n + 2 * horizon + i, x] = tip_at + tip
            for k, (p, q) in enumerate(pairs):
                row = 2 * n + 2 * horizon + k
                a[row, x] += (i == p) * (tip_at + tip + hard[i]) - (i == q) * (tip_at + tip + hard[i])
        a[n + 2 * horizon + i, -1] = -1
    low[:n] = high[:n] = 1
    high[n : n + horizon] = hands
    high[n + horizon : n + 2 * horizon] = 1
    high[2 * n + 2 * horizon :] = window
    cost = np.zeros(a.shape[1])
    cost[-1] = 1
    whole = np.ones(a.shape[1])
    whole[-1] = 0
    top = np.append(np.ones(a.shape[1] - 1), math.inf)
    solved = milp(
        cost, constraints=LinearConstraint(a.tocsr(), low, high), integrality=whole, bounds=Bounds(0, top)
    )
    return round(solved.fun)
