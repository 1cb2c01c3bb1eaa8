"""A body, a handle and a lid come leather-hard together, and slip for joining is drawn early."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from types import MappingProxyType

import pytest

from models.mould import checked_mould
from models.plan_jobs import JOIN_WINDOW_MIN, StepKind
from models.slip import Slip
from watcher.desk.day_plan import plan_of_day
from watcher.desk.day_sets import SetSaid, sets_of_day
from watcher.desk.wishes import DayWishes, MouldWish, paper_text, wishes_from
from watcher.records.afterwards import Finding, FindingKind
from watcher.records.bench import Bench, Filling, FillingKind
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.storage.papers import Paper, PaperKind

NOW = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
WALLS = {"jug body": 4.0, "jug handle": 2.0, "jug lid": 3.0}
LAYOUT = BenchLayout(
    "bench",
    None,
    (),
    tuple(PlacedMould(n, checked_mould(n, [[0, 70], [90, 56]], target_wall_mm=w)) for n, w in WALLS.items()),
)
BENCH = Bench("bench", LAYOUT, Slip(1.76, 0.62), now_s=1e6, now_at=NOW)
WISHES = DayWishes(date(2026, 3, 5), sets=MappingProxyType({"jug": tuple(WALLS)}))


def earlier(mould: str, days: int) -> KeptCast:
    """A first cast of its day, K 0.4, to the wanted wall."""
    minutes = WALLS[mould] ** 2 / 0.4
    began, wall = NOW - timedelta(days=days), WALLS[mould]
    began_s = 1e6 - 86_400.0 * days
    estimate = {"wall_mm": wall, "wall_low_mm": wall / 1.03, "wall_high_mm": wall * 1.03}
    return KeptCast(
        f"{mould} {days}", mould, 1, began_s, began, began_s + 60.0 * minutes,
        began + timedelta(minutes=minutes), False, (Filling(FillingKind.POUR, began_s, began_s),),
        MappingProxyType({"estimate": estimate}),
    )  # fmt: skip


KEPT = {mould: tuple(earlier(mould, days) for days in range(1, 9)) for mould in WALLS}
OUT_MIN = {"jug body": 120.0, "jug handle": 30.0, "jug lid": 60.0}
CLEAN = tuple(
    Finding(1, cast.cast_id, FindingKind.CLEAN, cast.tipped_at + timedelta(minutes=OUT_MIN[cast.mould]))
    for casts in KEPT.values()
    for cast in casts
    if cast.tipped_at is not None
)


def under_cast(mould: str, at: datetime) -> KeptCast:
    return KeptCast(f"{mould} now", mould, 1, 1e6, at, None, None, False)


def said(kept=KEPT, now: datetime = NOW) -> SetSaid:
    (one,) = sets_of_day(BENCH, kept, WISHES, CLEAN, now, "UTC")
    return one


def pour_of(one: SetSaid) -> dict[str, datetime]:
    return {part.mould: part.at for part in one.pours}


def test_each_part_is_poured_so_much_before_the_joining_as_its_own_casts_took() -> None:
    one = said()
    assert [part.mould for part in one.pours] == ["jug body", "jug lid", "jug handle"]
    assert one.pours[0].at == NOW
    assert one.join_at is not None
    for mould, at in pour_of(one).items():
        # eight earlier casts: wall squared over K to the tip, then as long as it took to come clean
        took = WALLS[mould] ** 2 / 0.4 + OUT_MIN[mould] + 4.0
        assert (one.join_at - at).total_seconds() / 60.0 == pytest.approx(took, rel=0.15), mould


def test_slip_for_joining_is_drawn_two_hours_before() -> None:
    one = said()
    assert one.join_at is not None and one.draw_slip_at is not None
    assert one.join_at - one.draw_slip_at == timedelta(hours=2)  # common practice, no source


def test_once_the_body_is_poured_the_others_keep_to_it_and_not_to_the_clock() -> None:
    before = said()
    kept = {**KEPT, "jug body": (under_cast("jug body", NOW), *KEPT["jug body"])}
    after = said(kept, NOW + timedelta(minutes=10))
    assert after.pours[0].poured and not after.pours[1].poured
    assert pour_of(after) == pour_of(before)
    assert after.join_at == before.join_at


def test_a_part_that_was_forgotten_is_due_now_and_the_joining_waits_for_it() -> None:
    before = said()
    kept = {**KEPT, "jug body": (under_cast("jug body", NOW), *KEPT["jug body"])}
    late = pour_of(before)["jug handle"] + timedelta(minutes=25)
    after = said(kept, late)
    assert pour_of(after)["jug handle"] == late
    assert before.join_at is not None
    waited = late - pour_of(before)["jug lid"]  # the lid is forgotten as well, and longer so
    assert after.join_at == before.join_at + waited


def test_a_set_with_a_mould_that_is_gone_says_so() -> None:
    wishes = DayWishes(WISHES.day, sets=MappingProxyType({"jug": ("jug body", "spout")}))
    (one,) = sets_of_day(BENCH, KEPT, wishes, CLEAN, NOW, "UTC")
    assert one.pours == () and "spout" in one.why


def test_sets_come_back_from_the_paper_as_they_were_kept() -> None:
    paper = Paper(PaperKind.DAY, "day", 1, "", paper_text(WISHES), "", NOW)
    assert wishes_from(paper, WISHES.day).sets == WISHES.sets
    bare = Paper(PaperKind.DAY, "day", 1, "", paper_text(DayWishes(WISHES.day)), "", NOW)
    assert wishes_from(bare, WISHES.day).sets == {}


def test_the_days_plan_pours_the_parts_so_that_they_come_together_and_the_page_says_so() -> None:
    wishes = replace(
        WISHES,
        closing=time(18, 0),
        moulds=MappingProxyType({name: MouldWish(pots=1) for name in WALLS}),
    )
    plan = plan_of_day(BENCH, KEPT, wishes, None, NOW, "UTC", findings=CLEAN)
    assert plan.plan is not None
    (piece,) = plan.plan.sets
    assert piece.name == "jug" and piece.apart_min <= JOIN_WINDOW_MIN
    hard = {}
    for step in plan.plan.steps:
        if step.kind is StepKind.TIP:
            # eight earlier casts came clean so long after their tips
            hard[step.mould] = step.at_min + 2.0 + OUT_MIN[step.mould]
    assert max(hard.values()) - min(hard.values()) < JOIN_WINDOW_MIN + 15.0
    (one,) = sets_of_day(BENCH, KEPT, wishes, CLEAN, NOW, "UTC", plan)
    pours = {s.mould: s.at_min for s in plan.plan.steps if s.kind is StepKind.POUR}
    for part in one.pours:
        assert part.at == NOW + timedelta(minutes=pours[part.mould])
    assert one.together and one.apart_min == piece.apart_min
    assert one.join_at is not None and one.draw_slip_at is not None
    assert one.join_at - one.draw_slip_at == timedelta(hours=2)


def test_a_day_too_short_for_the_set_says_so_and_still_gives_its_own_times() -> None:
    wishes = replace(WISHES, closing=time(9, 45), moulds=MappingProxyType({}))
    plan = plan_of_day(BENCH, KEPT, wishes, None, NOW, "UTC", findings=CLEAN)
    (one,) = sets_of_day(BENCH, KEPT, wishes, CLEAN, NOW, "UTC", plan)
    assert not one.together and len(one.pours) == 3


def test_a_body_poured_this_morning_is_met_by_the_lid() -> None:
    began = NOW - timedelta(minutes=50)
    tipped = replace(under_cast("jug body", began), tipped_at=NOW - timedelta(minutes=8), tipped_s=1e6)
    kept = {**KEPT, "jug body": (tipped, *KEPT["jug body"])}
    wishes = replace(WISHES, closing=time(18, 0))
    plan = plan_of_day(BENCH, kept, wishes, None, NOW, "UTC", findings=CLEAN)
    assert plan.plan is not None
    (asked,) = plan.asked.ask.sets
    assert asked.moulds == ("jug handle", "jug lid")
    # 120 min from its tip, 8 of which are over; its spread of casts teaches it to within 15 %
    assert asked.hard_min[0] == pytest.approx(112.0, rel=0.15)
    assert [one.name for one in plan.plan.sets] == ["jug"]
