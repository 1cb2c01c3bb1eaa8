"""A mould over its casts, the week's lessons, and the drying rack."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from itertools import islice
from zoneinfo import ZoneInfo

from fastapi import APIRouter

from models.constants_desk import PLASTER_DRY_WARN_C
from models.doors import BadValue
from watcher.desk import rack
from watcher.desk.after_learned import Demoulding, demoulding_of
from watcher.desk.fault_counts import count_faults, faults_of
from watcher.desk.handling import handling_of
from watcher.desk.lessons import Lesson, lessons
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.mould_diary import Dampness, dampness_of, diary_of
from watcher.desk.mould_story import story_of, trend_per_100, wall_of
from watcher.desk.scorecard import judge_cast, score, wall_check
from watcher.desk.slip_paper import PAPER_NAME as SLIP
from watcher.desk.unseen import with_unwatched
from watcher.desk.wishes import PAPER_NAME as DAY
from watcher.desk.wishes import DayWishes, wishes_from
from watcher.page.casts import target_of
from watcher.page.dampness import DampShelf
from watcher.page.moments import iso, iso_or_none
from watcher.page.port import BenchPort
from watcher.page.ranges import range_shape
from watcher.page.refusals import MEMORY_REFUSALS, PageRefusal
from watcher.page.shapes_review import (
    HandlingShape,
    LessonShape,
    RackRowShape,
    RackShape,
    StoryShape,
    WeekShape,
)
from watcher.page.telling import newest_told
from watcher.page.tips import last_tips
from watcher.records.afterwards import ToldKind
from watcher.records.bench import Stage
from watcher.records.kept import KeptCast
from watcher.records.layout import PlacedMould
from watcher.storage.papers import PaperKind

SCORED = 12
"""Casts that a scorecard goes back."""

TOLD = 200
"""Casts of a story: the life of a mould [S21]."""

WEEK = 7
USUAL = 60
"""Days back from which a mould's usual time is taken."""

BEGINS = time(8)
"""When a day at the bench usually begins: till then moulds dry (guess)."""

_FREE = frozenset({Stage.EMPTY, Stage.ABSENT, Stage.DEMOULDED})


def story_routes(port: BenchPort, memory: BenchMemory) -> APIRouter:
    """Return the routes of what casts teach."""
    router = APIRouter(responses=MEMORY_REFUSALS)

    @router.get("/story/{mould:path}.json", summary="A mould over its casts, with its scorecard")
    def story(mould: str) -> StoryShape:
        return story_view(port, memory, mould)

    @router.get("/week.json", summary="The things most worth changing, at most three")
    def week() -> WeekShape:
        return week_view(port, memory)

    @router.get("/rack.json", summary="Which moulds are ready for tomorrow")
    def rack_json() -> RackShape:
        return rack_view(port, memory)

    return router


def damp_shelf(port: BenchPort, memory: BenchMemory) -> DampShelf:
    """Return the shelf that the cards take each mould's dampness from."""

    def free_water(name: str) -> float | None:
        wishes = wishes_now(port, memory)
        placed = next((one for one in port.bench().layout.moulds if one.name == name), None)
        if placed is None or wishes.of(name).dry_kg is None:
            return None
        damp = _dampness(port, memory, placed, memory.all_casts(name, 60), wishes)
        return None if damp is None else damp.free_water.value

    return DampShelf(port, free_water)


def wishes_now(port: BenchPort, memory: BenchMemory) -> DayWishes:
    """Return what the caster wants of today."""
    papers = memory.papers(PaperKind.DAY, DAY)
    return wishes_from(papers[0] if papers else None, day_of(port.now(), memory.zone))


def story_view(port: BenchPort, memory: BenchMemory, mould: str) -> StoryShape:
    """Return a mould's story; PageRefusal 404 for one that is not on this bench."""
    placed = next((one for one in port.bench().layout.moulds if one.name == mould), None)
    if placed is None:
        raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench")
    casts = memory.all_casts(mould, TOLD)
    faults = faults_of(casts, memory.after.findings())
    looked = memory.looked_mm()
    points = story_of(casts, faults, looked)
    tipped = [cast for cast in casts if cast.tipped_s is not None]
    judged = [one for cast in tipped[:SCORED] for one in judge_cast(cast, memory.foretold(cast.cast_id))]
    checks = [wall_check(cast, looked[cast.cast_id]) for cast in casts if cast.cast_id in looked]
    wishes = wishes_now(port, memory)
    dry_kg = wishes.of(mould).dry_kg
    damp = _dampness(port, memory, placed, casts, wishes)
    counted = count_faults(casts, faults, lambda _: mould)
    out = _demoulding(port, memory, placed, casts)
    target = target_of(port.bench(), mould)
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "mould": mould,
        "target_wall_mm": target[0] if target else None,
        "target_thick_mm": target[1] if target else None,
        "points": [
            {
                "cast": one.cast_id,
                "began_at": iso(one.began_at),
                "number_today": one.number_today,
                "k": range_shape(one.k),
                "wall": range_shape(one.wall),
                "measured_mm": one.measured_mm,
                "minutes": None if one.minutes is None else round(one.minutes, 2),
                "faults": [kind.value for kind in one.faults],
            }
            for one in points
        ],
        "k_after_100": range_shape(trend_per_100(points)),
        "score": [
            {
                "share": row.share,
                "casts": row.casts,
                "median_off": round(row.median_off, 4),
                "worst_off": round(row.worst_off, 4),
                "held": row.held,
            }
            for row in score(judged)
        ],
        "wall_checks": [
            {
                "cast": one.cast_id,
                "measured_mm": one.measured_mm,
                "shown": {"value": one.shown_mm, "low": one.low_mm, "high": one.high_mm},
            }
            for one in checks
            if one is not None
        ],
        "last_tips": last_tips(port, memory, mould),
        "free_water": None if damp is None else range_shape(damp.free_water, 4),
        "dry_in_h": None if damp is None else range_shape(damp.dry_in_h, 1),
        "dry_kg": dry_kg,
        "demould_min": None if out is None else range_shape(out.minutes, 0),
        "demould_taught_by": 0 if out is None else out.taught_by,
        "handling": _handling(port, placed, dry_kg, None if damp is None else damp.free_water.value),
        "faults": {kind.value: count for kind, count in counted[0].counts.items()} if counted else {},
        "told": newest_told(memory, mould),
    }


def week_view(port: BenchPort, memory: BenchMemory) -> WeekShape:
    """Return the week's lessons."""
    today = day_of(port.now(), memory.zone)
    week = memory.casts_of(today - timedelta(days=WEEK - 1), WEEK)
    earlier = memory.casts_of(today - timedelta(days=WEEK + USUAL - 1), USUAL)
    faults = faults_of(week, memory.after.findings())
    placed = {one.name: one.profile.target_wall_mm for one in port.bench().layout.moulds}
    wanted = {name: target for name, target in placed.items() if target is not None}
    checked = {day_of(paper.kept_at, memory.zone) for paper in memory.papers(PaperKind.SLIP, SLIP)}
    blind = [cast for cast in week if day_of(cast.began_at, memory.zone) not in checked]
    days = {day_of(cast.began_at, memory.zone) for cast in blind}
    found = lessons(week, earlier, faults, wanted, (len(days), len(blind)), memory.one_spots(week))
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "casts": len(week),
        "lessons": [_lesson(lesson) for lesson in islice(found, 3)],
    }


def rack_view(port: BenchPort, memory: BenchMemory) -> RackShape:
    """Return which moulds are ready for tomorrow."""
    bench, now = port.bench(), port.now()
    wishes = wishes_now(port, memory)
    local = now.astimezone(ZoneInfo(memory.zone))
    until = datetime.combine(local.date() + timedelta(days=1), BEGINS, local.tzinfo)
    until_h = (until - local).total_seconds() / 3600.0
    rows: list[RackRowShape] = []
    for placed in bench.layout.moulds:
        casts = memory.all_casts(placed.name, 60)
        state = bench.moulds.get(placed.name)
        known = with_unwatched(casts, memory.telling.told(placed.name, ToldKind.UNWATCHED))
        row = rack.rack_row(
            placed.name,
            _dampness(port, memory, placed, casts, wishes),
            known[0] if known else None,
            casts_today=sum(day_of(cast.began_at, memory.zone) == wishes.day for cast in known),
            casting=state is not None and state.stage not in _FREE,
            now=now,
            until_h=until_h,
        )
        rows.append(
            {
                "mould": row.mould,
                "word": row.word.value,
                "dry_in_h": range_shape(row.dry_in_h, 1),
                "free_water": range_shape(row.free_water, 4),
                "casts_today": row.casts_today,
                "weighed": row.weighed,
            }
        )
    return {
        "now": iso(now),
        "zone": memory.zone,
        "until": iso(until),
        "room_c": wishes.room_c,
        "room_rh": wishes.room_rh,
        "room_word": rack.room_word(wishes.room_c).value,
        "most_c": PLASTER_DRY_WARN_C,
        "moulds": rows,
    }


def _dampness(
    port: BenchPort,
    memory: BenchMemory,
    placed: PlacedMould,
    casts: tuple[KeptCast, ...],
    wishes: DayWishes,
) -> Dampness | None:
    try:
        weighed = memory.after.weighings(placed.name)
        diary = diary_of(
            placed.profile, port.bench().slip, casts, weighed, wishes, memory.telling.told(placed.name)
        )
    except BadValue:
        return None
    return None if diary is None else dampness_of(diary, port.now(), placed.profile)


def _demoulding(
    port: BenchPort, memory: BenchMemory, placed: PlacedMould, casts: tuple[KeptCast, ...]
) -> Demoulding | None:
    """Return when the cast that is in a mould, else the next one, can come out."""
    wall = wall_of(casts[0]) if casts else None
    target = placed.profile.target_wall_mm
    if wall is None and target is None:
        return None
    wall_mm = wall.value if wall is not None else target[0] if target is not None else 0.0
    return demoulding_of(casts, memory.after.findings(), port.bench().slip, wall_mm)


def _handling(
    port: BenchPort, placed: PlacedMould, dry_kg: float | None, free_water: float | None
) -> HandlingShape | None:
    found = handling_of(placed.profile, port.bench().slip, dry_kg, free_water)
    if found is None:
        return None
    return {
        "straps": found.straps.straps,
        "push_n": round(found.straps.push_n, 1),
        "head_mm": round(found.straps.head_mm, 1),
        "width_mm": round(found.width_mm, 1),
        "slip_l": round(found.slip_l, 3),
        "full_kg": None if found.full_kg is None else round(found.full_kg, 2),
    }


def _lesson(lesson: Lesson) -> LessonShape:
    return {
        "kind": lesson.kind.value,
        "mould": lesson.mould,
        "casts": lesson.casts,
        "share": round(lesson.share, 3),
        "touched": round(lesson.pieces, 2),
        "since": iso_or_none(lesson.since),
        "causes": [cause.value for cause in lesson.causes],
        "fault": "" if lesson.fault is None else lesson.fault.value,
        "one_spot": lesson.one_spot,
    }
