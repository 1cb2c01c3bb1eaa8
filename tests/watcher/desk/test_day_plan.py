"""The day is planned from the bench as it stands: what was poured counts, what is skipped is left out."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from types import MappingProxyType
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.mould import checked_mould
from models.plan_jobs import StepKind
from models.pour_next import PourNext
from models.slip import Slip
from models.tip import TipEstimate
from watcher.desk.day_plan import closing_in_min, plan_of_day
from watcher.desk.plan_answer import PlanSaid
from watcher.desk.wishes import DayWishes, MouldWish, paper_text, wishes_from
from watcher.records.bench import Bench, Cast, Filling, FillingKind, MouldState, Stage
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.storage.papers import Paper, PaperKind

ZONE = "Europe/Berlin"
ZONE_INFO = ZoneInfo(ZONE)
NOW = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
NAMES = ("beaker", "cream jug", "planter")
LAYOUT = BenchLayout(
    "bench",
    None,
    (),
    tuple(PlacedMould(n, checked_mould(n, [[0, 70], [90, 56]], target_wall_mm=2.6)) for n in NAMES),
)
BENCH = Bench("bench", LAYOUT, Slip(1.76, 0.62), now_s=1e6, now_at=NOW)
WISHES = DayWishes(
    date(2026, 3, 5),
    time(17, 0),
    moulds=MappingProxyType({name: MouldWish(2) for name in NAMES}),
)


def cast_at(mould: str, number: int, began: datetime, minutes: float = 20.0) -> KeptCast:
    began_s = 1e6 + (began - NOW).total_seconds()
    wall = math.sqrt(0.35 * minutes)
    estimate = {"wall_mm": wall, "wall_low_mm": wall / 1.03, "wall_high_mm": wall * 1.03}
    return KeptCast(
        f"{mould}-{number}-{began:%d}", mould, number, began_s, began, began_s + 60.0 * minutes,
        began + timedelta(minutes=minutes), False, (Filling(FillingKind.POUR, began_s, began_s),),
        MappingProxyType({"estimate": estimate}),
    )  # fmt: skip


KEPT = {name: tuple(cast_at(name, 1, NOW - timedelta(days=n)) for n in range(1, 7)) for name in NAMES}


def pours(said: PlanSaid) -> dict[str, int]:
    assert said.plan is not None
    names = [step.mould for step in said.plan.steps if step.kind is StepKind.POUR]
    return {name: names.count(name) for name in NAMES}


def planned(bench: Bench = BENCH, wishes: DayWishes = WISHES, kept=KEPT, now: datetime = NOW) -> PlanSaid:
    return plan_of_day(bench, kept, wishes, None, now, ZONE)


def test_every_wanted_pot_is_planned_and_hands_do_one_thing_at_a_time() -> None:
    said = planned()
    assert pours(said) == dict.fromkeys(NAMES, 2)
    assert said.plan is not None
    busy = sorted((step.at_min, step.at_min + step.minutes) for step in said.plan.steps)
    assert all(ends <= begins + 1e-6 for (_, ends), (begins, _) in pairwise(busy))


def test_what_was_poured_today_is_not_planned_again() -> None:
    today = cast_at("beaker", 1, NOW - timedelta(hours=2))
    said = planned(kept={**KEPT, "beaker": (today, *KEPT["beaker"])})
    assert pours(said) == {"beaker": 1, "cream jug": 2, "planter": 2}


def test_a_mould_that_is_left_out_today_is_not_poured() -> None:
    said = planned(wishes=replace(WISHES, skipped=frozenset({"planter"})))
    assert pours(said) == {"beaker": 2, "cream jug": 2, "planter": 0}


def test_a_caster_who_wished_for_nothing_is_told_what_to_pour_next_all_day() -> None:
    nothing_said = DayWishes(WISHES.day)
    again = {"beaker": (cast_at("beaker", 1, NOW - timedelta(hours=2)), *KEPT["beaker"])}
    said = planned(wishes=nothing_said, kept={**KEPT, **again})
    assert isinstance(said.following, PourNext)
    no_more = replace(nothing_said, moulds=MappingProxyType({n: MouldWish(0) for n in NAMES}))
    assert not isinstance(planned(wishes=no_more).following, PourNext)


def running(ready_in_min: float) -> Bench:
    ready_s = BENCH.now_s + 60.0 * ready_in_min
    began_s = BENCH.now_s - 600.0
    cast = Cast(
        "now", "beaker", 1, began_s, NOW - timedelta(minutes=10),
        (Filling(FillingKind.POUR, began_s, began_s),),
        estimate=TipEstimate(1.8, 1.7, 1.9, ready_s, ready_s - 60.0, ready_s + 60.0),
    )  # fmt: skip
    return replace(BENCH, moulds=MappingProxyType({"beaker": MouldState("beaker", Stage.CASTING, cast)}))


def first_pour(said: PlanSaid, mould: str) -> float:
    assert said.plan is not None
    return min(s.at_min for s in said.plan.steps if s.mould == mould and s.kind is StepKind.POUR)


def test_a_cast_that_runs_late_moves_its_mould_s_next_pour_and_keeps_its_tip_free() -> None:
    soon, late = planned(running(10.0)), planned(running(40.0))
    assert pours(soon)["beaker"] == pours(late)["beaker"] == 1
    assert first_pour(late, "beaker") >= first_pour(soon, "beaker") + 29.0
    assert late.plan is not None
    overlapping = [s for s in late.plan.steps if s.at_min < 42.0 and s.at_min + s.minutes > 40.0]
    assert overlapping == []  # two minutes of hands for the tip that is due


def test_closing_time_is_the_bench_s_own() -> None:
    # 09:00 UTC is 10:00 in Berlin in March: seven hours to 17:00
    assert closing_in_min(WISHES, NOW.astimezone(ZONE_INFO)) == pytest.approx(420.0)
    assert closing_in_min(replace(WISHES, closing=None), NOW.astimezone(ZONE_INFO)) is None
    said = plan_of_day(BENCH, KEPT, replace(WISHES, closing=None), None, NOW, ZONE)
    assert said.plan is None and said.following is not None


def test_another_day_keeps_the_habit_but_not_whom_it_left_out() -> None:
    kept = replace(WISHES, skipped=frozenset({"planter"}), hands=2)
    paper = Paper(PaperKind.DAY, "day", 1, "", paper_text(kept), "", NOW)
    assert wishes_from(paper, date(2026, 3, 5)) == kept
    tomorrow = wishes_from(paper, date(2026, 3, 6))
    assert tomorrow.skipped == frozenset() and tomorrow.hands == 2 and tomorrow.of("beaker").pots == 2


NAMED = st.text(min_size=1, max_size=30).filter(lambda t: not any("\ud800" <= s <= "\udfff" for s in t))


@given(
    st.dictionaries(
        NAMED,
        st.builds(MouldWish, st.none() | st.integers(0, 30), st.none() | st.floats(0.05, 500.0)),
        max_size=4,
    ),
    st.none() | st.times().map(lambda t: t.replace(second=0, microsecond=0)),
    st.frozensets(NAMED, max_size=3),
)
def test_whatever_is_wished_is_read_again_as_it_was(moulds, closing, skipped) -> None:
    wishes = DayWishes(date(2026, 3, 5), closing, moulds=MappingProxyType(moulds), skipped=skipped)
    paper = Paper(PaperKind.DAY, "day", 1, "", paper_text(wishes), "", NOW)
    again = wishes_from(paper, wishes.day)
    assert again.closing == closing and again.skipped == skipped and set(again.moulds) == set(moulds)
    for name, wish in moulds.items():
        assert again.of(name).pots == wish.pots
        assert again.of(name).dry_kg == (None if wish.dry_kg is None else pytest.approx(wish.dry_kg))
