"""A mould over its casts: what they were, how its forecasts did, when the next one comes out."""

from __future__ import annotations

from fastapi import APIRouter

from watcher.desk.after_learned import Demoulding, demoulding_of
from watcher.desk.fault_counts import count_faults, faults_of
from watcher.desk.handling import handling_of
from watcher.desk.memory import BenchMemory
from watcher.desk.mould_story import StoryPoint, story_of, trend_per_100, wall_of
from watcher.desk.scorecard import ScoreRow, WallCheck, judge_cast, score, wall_check
from watcher.page.casts import target_of
from watcher.page.damp_now import dampness_now, wishes_now
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.rack import rack_view
from watcher.page.ranges import range_shape
from watcher.page.refusals import MEMORY_REFUSALS, PageRefusal
from watcher.page.shapes_review import (
    HandlingShape,
    RackShape,
    ScoreShape,
    StoryPointShape,
    StoryShape,
    WallCheckShape,
    WeekShape,
)
from watcher.page.telling import newest_told
from watcher.page.tips import last_tips
from watcher.page.week import week_view
from watcher.records.kept import KeptCast
from watcher.records.layout import PlacedMould

SCORED = 12
"""Casts that a scorecard goes back."""

TOLD = 200
"""Casts of a story: the life of a mould [S21]."""


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
    damp = dampness_now(port, memory, placed, casts, wishes)
    counted = count_faults(casts, faults, lambda _: mould)
    out = _demoulding(port, memory, placed, casts)
    target = target_of(port.bench(), mould)
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "mould": mould,
        "target_wall_mm": target[0] if target else None,
        "target_thick_mm": target[1] if target else None,
        "points": [_point(one) for one in points],
        "k_after_100": range_shape(trend_per_100(points)),
        "score": [_row(row) for row in score(judged)],
        "wall_checks": [_check(one) for one in checks if one is not None],
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


def _point(one: StoryPoint) -> StoryPointShape:
    return {
        "cast": one.cast_id,
        "began_at": iso(one.began_at),
        "number_today": one.number_today,
        "k": range_shape(one.k),
        "wall": range_shape(one.wall),
        "measured_mm": one.measured_mm,
        "minutes": None if one.minutes is None else round(one.minutes, 2),
        "faults": [kind.value for kind in one.faults],
    }


def _row(row: ScoreRow) -> ScoreShape:
    return {
        "share": row.share,
        "casts": row.casts,
        "median_off": round(row.median_off, 4),
        "worst_off": round(row.worst_off, 4),
        "held": row.held,
    }


def _check(one: WallCheck) -> WallCheckShape:
    return {
        "cast": one.cast_id,
        "measured_mm": one.measured_mm,
        "shown": {"value": one.shown_mm, "low": one.low_mm, "high": one.high_mm},
    }


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
