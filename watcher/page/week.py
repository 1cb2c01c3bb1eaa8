"""The week's lessons: what is most worth changing."""

from __future__ import annotations

from datetime import timedelta
from itertools import islice

from watcher.desk.fault_counts import faults_of
from watcher.desk.lessons import Lesson, lessons
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.slip_paper import PAPER_NAME as SLIP
from watcher.page.moments import iso, iso_or_none
from watcher.page.port import BenchPort
from watcher.page.shapes_review import LessonShape, WeekShape
from watcher.storage.papers import PaperKind

WEEK = 7
USUAL = 60
"""Days back from which a mould's usual time is taken."""


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
