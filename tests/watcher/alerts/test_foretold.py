"""Top-ups and closing holes foretold from levels that an independent volume balance made.

The levels come from `sinking`, which shares no code with the models: a straight round bore, root-time growth.
What is true of the cast (when the level passes the trim line, when the hole is too narrow) is read off there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import time

import numpy as np
import pytest
from bench_looks import START, at, run_notices
from sinking import sinking_level

from models.mould import MouldProfile, checked_mould
from models.slip import Slip
from watcher.alerts.wording import sentence
from watcher.pipeline import new_bench
from watcher.records.bench import Bench, CallRules
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.notices import Kind, Why
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.records.said import Tick

SLIP = Slip(1.76, 0.63)
FULL_S = 60.0


def bench_of(mould: MouldProfile, rules: CallRules | None = None) -> Bench:
    return new_bench(BenchLayout("bench", None, (), (PlacedMould("jug", mould),)), SLIP, call_rules=rules)


def inputs(levels, *, every_s=30.0, last_s=None, seed=1):
    """Empty, then full at 60 s and sinking; a look every few seconds with honest noise, and ticks."""
    rng = np.random.default_rng(seed)
    last = int(last_s if last_s is not None else FULL_S + len(levels) - 1)
    for second in range(1, last):
        if second % every_s == 0:
            since = second - FULL_S
            if since < 0:
                hole = HoleSighting("jug", Missed.UNCERTAIN, Contents.EMPTY)
            else:
                level_mm = levels[int(since)] + float(rng.normal(0.0, 0.08))
                hole = HoleSighting("jug", LevelReading(level_mm, 0.15, 0.08), Contents.SLIP)
            yield Sighting("bench", float(second), at(second), (hole,))
        yield Tick(float(second), at(second))


def firsts(notices, kind):
    return [(at_s, n) for at_s, n in notices if n.alert.kind is kind and n.why is Why.FIRST]


@pytest.mark.parametrize("k_mm2_per_min", [0.8, 1.6])
def test_a_top_up_is_foretold_minutes_before_the_level_passes_the_trim_line(k_mm2_per_min):
    levels = sinking_level(
        radius_mm=30, depth_mm=110, k_mm2_per_min=k_mm2_per_min, water_per_cake=SLIP.water_per_cake,
        full_mm=3.0, seconds=3600,
    )  # fmt: skip
    trim_mm = levels[1500]  # it passes the line 25 minutes after it was full
    mould = checked_mould("jug", [[0, 60], [110, 60]], target_wall_mm=8.0, trim_line_mm=trim_mm)
    present, notices = run_notices(bench_of(mould), inputs(levels, last_s=2400))
    ((called_s, notice),) = firsts(notices, Kind.TOP_UP)
    true_s = FULL_S + 1500
    assert 120.0 < true_s - called_s < 420.0
    # the time that is named lies before the line is passed, and not long before
    assert true_s - 180.0 < notice.alert.due_s < true_s + 15.0
    named = sentence(notice, replace(present, zone="Europe/Lisbon"))
    before = time.fromisoformat(named.removeprefix("jug: top up before ").removesuffix("."))
    assert 0 <= true_s / 60.0 - (before.hour * 60 + before.minute - START.hour * 60) < 4.0


def test_a_mould_that_is_tipped_before_its_level_reaches_the_trim_line_is_not_topped_up():
    levels = sinking_level(
        radius_mm=30, depth_mm=110, k_mm2_per_min=1.6, water_per_cake=SLIP.water_per_cake,
        full_mm=3.0, seconds=2400,
    )  # fmt: skip
    wall_there_s = 1200.0
    wall_mm = math.sqrt(1.6 * wall_there_s / 60.0)
    mould = checked_mould("jug", [[0, 60], [110, 60]], target_wall_mm=wall_mm, trim_line_mm=levels[1500])
    _, notices = run_notices(bench_of(mould), inputs(levels, last_s=FULL_S + 1300))
    assert firsts(notices, Kind.READY)
    assert firsts(notices, Kind.TOP_UP) == []


def test_without_a_trim_line_nobody_is_sent_to_top_up():
    levels = sinking_level(
        radius_mm=30, depth_mm=110, k_mm2_per_min=1.6, water_per_cake=SLIP.water_per_cake,
        full_mm=3.0, seconds=2400,
    )  # fmt: skip
    mould = checked_mould("jug", [[0, 60], [110, 60]], target_wall_mm=9.0)
    _, notices = run_notices(bench_of(mould), inputs(levels))
    assert firsts(notices, Kind.TOP_UP) == []


def test_a_seen_top_up_answers_the_call_and_the_next_filling_has_one_of_its_own():
    levels = sinking_level(
        radius_mm=30, depth_mm=110, k_mm2_per_min=1.6, water_per_cake=SLIP.water_per_cake,
        full_mm=3.0, seconds=6000,
    )  # fmt: skip
    trim_mm = levels[900]
    mould = checked_mould("jug", [[0, 60], [110, 60]], target_wall_mm=12.0, trim_line_mm=trim_mm)
    topped = levels[:880] + [level - levels[880] + 3.0 for level in levels[880:]]
    present, notices = run_notices(bench_of(mould), inputs(topped, last_s=4500))
    calls = firsts(notices, Kind.TOP_UP)
    assert len(calls) == 2
    assert calls[0][0] < FULL_S + 880 < calls[1][0]
    first = next(a for a in present.alerts if a.alert_id == calls[0][1].alert.alert_id)
    assert first.state.value == "normal" and first.acked_at is not None
    again = [at_s for at_s, n in notices if n.alert.alert_id == first.alert_id and n.why is Why.AGAIN]
    assert all(at_s < FULL_S + 900 for at_s in again)


# a bottle with a long narrow neck: the body drinks, the ring in the neck grows as the wall does
NECK_MM, NECK_LONG_MM = 13.0, 60.0
BODY_MM, BODY_LONG_MM = 30.0, 40.0
BOTTLE = [[0, NECK_MM], [60, NECK_MM], [61, BODY_MM], [100, BODY_MM]]


def hanging_mm() -> float:
    """Width in which slip of 1.76 hangs: rho g R2 / sigma = 1.8412^2, with water's surface tension [S19]."""
    return 2000.0 * 1.8412 * math.sqrt(0.072 / (1760.0 * 9.81))


def bottle_levels(k_mm2_per_min: float, seconds: int) -> list[float]:
    """Level in the bottle's neck by small steps: what the cake takes up is missing in the narrowing neck."""
    level, levels = 2.0, []
    for second in range(seconds):
        levels.append(level)
        cake, grown = (math.sqrt(k_mm2_per_min * (second + step) / 60.0) for step in (0, 1))
        new = _ring(BODY_MM / 2, cake, grown) * BODY_LONG_MM
        new += math.pi * (BODY_MM / 2) ** 2 * (grown - cake)
        new += _ring(NECK_MM / 2, cake, grown) * (NECK_LONG_MM - level)
        level += SLIP.water_per_cake * new / (math.pi * (NECK_MM / 2 - cake) ** 2)
    return levels


def _ring(radius_mm: float, cake: float, grown: float) -> float:
    """Area by which a ring of clay grows inwards. [mm2]"""
    return math.pi * ((radius_mm - cake) ** 2 - (radius_mm - grown) ** 2)


@pytest.mark.parametrize("k_mm2_per_min", [0.7, 1.5])
def test_a_closing_hole_is_called_while_the_slip_still_drains(k_mm2_per_min):
    drains_mm = (NECK_MM - hanging_mm()) / 2.0
    true_s = FULL_S + 60.0 * drains_mm**2 / k_mm2_per_min
    levels = bottle_levels(k_mm2_per_min, int(true_s))
    mould = checked_mould("jug", BOTTLE, target_wall_mm=4.0)
    _, notices = run_notices(bench_of(mould), inputs(levels, every_s=15.0))
    ((called_s, _),) = firsts(notices, Kind.HOLE_CLOSING)
    share = (true_s - called_s) / (true_s - FULL_S)
    print(f"K={k_mm2_per_min}: drains until {true_s:.0f} s, called {true_s - called_s:.0f} s before")
    assert 0.15 <= share <= 0.5, "a third of the time up to then, as well as the levels can tell"


def test_a_hole_that_closes_long_after_the_tip_is_not_spoken_of():
    levels = bottle_levels(0.7, 400)
    mould = checked_mould("jug", BOTTLE, target_wall_mm=math.sqrt(0.7 * 200 / 60.0))
    _, notices = run_notices(bench_of(mould), inputs(levels, last_s=FULL_S + 240, every_s=10.0))
    assert firsts(notices, Kind.READY)
    assert firsts(notices, Kind.HOLE_CLOSING) == []


@pytest.mark.parametrize("every_s", [5.0])
def test_a_cast_of_three_minutes_is_called_soon_and_ready_in_its_own_measure(every_s):
    """Thin porcelain: a wall of 2 mm in 180 s is K = 1.33 (S36 prints casts of 3 minutes)."""
    k = 2.0**2 / 3.0
    levels = sinking_level(
        radius_mm=30,
        depth_mm=110,
        k_mm2_per_min=k,
        water_per_cake=SLIP.water_per_cake,
        full_mm=3.0,
        seconds=400,
    )
    mould = checked_mould("jug", [[0, 60], [110, 60]], target_wall_mm=[2.0, 2.2])
    _, notices = run_notices(bench_of(mould), inputs(levels, every_s=every_s))
    (soon_s, _), (ready_s, _), (late_s, _) = (
        firsts(notices, kind)[0] for kind in (Kind.SOON, Kind.READY, Kind.LATE)
    )
    assert FULL_S + 100 <= soon_s <= FULL_S + 160, "about a quarter of three minutes ahead, not four minutes"
    assert abs(ready_s - (FULL_S + 180)) <= 0.15 * 180
    # the thick end, 2.2 mm, is there after 2.2^2/K = 217.8 s
    assert late_s > ready_s + 15
    assert abs(late_s - (FULL_S + 217.8)) <= 0.15 * 218
