"""The three things most worth changing, out of a week's casts: each with how many pieces it touched."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from statistics import median
from types import MappingProxyType

from models.blame import Blame, Culprit, Residual, blame
from models.cast_prior import slower
from models.fault_causes import Cause, Fault, suspects
from watcher.desk.mould_diary import hours
from watcher.desk.mould_story import wall_of
from watcher.desk.plan_times import taught
from watcher.records.afterwards import FindingKind
from watcher.records.kept import KeptCast

FEWEST = 3
"""Casts below which nothing is concluded (common practice, no source)."""

LATE_SHARE = 0.15
"""A tip later than this share of the cast's time makes a wall about 7 % too thick (L2 = K t)."""

OFF_WALL = 0.10
"""A mean wall off by more than this share of what is wanted is worth a word (guess)."""

_FAULT_OF = {
    FindingKind.STUCK: Fault.STICKS,
    FindingKind.HOT_SPOT: Fault.HOT_SPOT,
    FindingKind.TRAPPED_SLIP: Fault.DRAINS_BADLY,
}


class LessonKind(StrEnum):
    """What is worth changing."""

    FAULTS = "faults"  # one mould's casts come out with faults
    LATE_TIPS = "late_tips"  # tips wait for hands
    EARLY_TIPS = "early_tips"
    OFF_WALL = "off_wall"  # one mould's walls are off what is wanted
    ALL_SLOW = "all_slow"  # everything is slower than it was: slip or room
    ONE_SLOW = "one_slow"  # one mould is: dry it
    NO_CHECK = "no_check"  # cast on days without a slip check


@dataclass(frozen=True, slots=True)
class Lesson:
    """One thing worth changing.

    Attributes
    ----------
    kind : LessonKind
    pieces : float
        About how many of the casts it touched: by this the lessons are ordered.
    mould : str
        Empty: all.
    casts : int
        Of how many casts.
    share : float
        What is off: of the wall or the time, as a share, with its sign.
    since : datetime or None
    causes : tuple of Cause
        What most often stands behind it.
    fault : FindingKind or None
        The commonest.
    one_spot : int
        Of the casts with a hot spot, those whose stream was seen to stay on one spot.
    """

    kind: LessonKind
    pieces: float
    mould: str = ""
    casts: int = 0
    share: float = 0.0
    since: datetime | None = None
    causes: tuple[Cause, ...] = ()
    fault: FindingKind | None = None
    one_spot: int = 0


def lessons(
    week: Sequence[KeptCast],
    earlier: Sequence[KeptCast],
    faults: Mapping[str, frozenset[FindingKind]],
    wanted_mm: Mapping[str, tuple[float, float]],
    days_without_check: tuple[int, int],
    one_spots: Mapping[str, float] = MappingProxyType({}),
) -> tuple[Lesson, ...]:
    """Return what is worth changing, most first.

    Parameters
    ----------
    week, earlier : sequence of KeptCast
        Casts of the week, and those before it, of all moulds.
    faults : mapping of str to frozenset of FindingKind
        By the cast's id.
    wanted_mm : mapping of str to tuple of float
        Thin and thick end of the wanted wall, by mould. [mm]
    days_without_check : tuple of int
        Days on which something was cast without a check of the slip, and casts of those days.
    one_spots : mapping of str to float
        For how long the stream of a pour stayed on one spot, where too long, by the cast's id. [s]
    """
    found = [*_faults(week, faults, one_spots), *_tips(week), *_walls(week, wanted_mm), *_slow(week, earlier)]
    days, casts = days_without_check
    if days:
        found.append(Lesson(LessonKind.NO_CHECK, 0.05 * casts, casts=days))
    return tuple(sorted(found, key=lambda lesson: -lesson.pieces))


def _faults(
    week: Sequence[KeptCast],
    faults: Mapping[str, frozenset[FindingKind]],
    one_spots: Mapping[str, float],
) -> list[Lesson]:
    found = []
    for mould, casts in _by_mould(week).items():
        bad = [faults.get(cast.cast_id, frozenset()) for cast in casts]
        some = [kinds for kinds in bad if kinds]
        if len(some) < 2:
            continue
        kinds = [kind for kind in FindingKind if any(kind in one for one in some)]
        commonest = max(kinds, key=lambda kind: sum(kind in one for one in some))
        seen = frozenset(_FAULT_OF[kind] for kind in kinds if kind in _FAULT_OF)
        spots = [FindingKind.HOT_SPOT in kinds for kinds in bad]
        stayed = sum(hot and cast.cast_id in one_spots for hot, cast in zip(spots, casts, strict=True))
        causes = _causes(seen, seen_to_stay=stayed > 0)
        share = len(some) / len(casts)
        found.append(
            Lesson(
                LessonKind.FAULTS,
                float(len(some)),
                mould,
                len(casts),
                share,
                causes=causes,
                fault=commonest,
                one_spot=stayed,
            )
        )
    return found


def _causes(seen: frozenset[Fault], *, seen_to_stay: bool) -> tuple[Cause, ...]:
    """Return the two likeliest causes; one that was watched happening comes first."""
    causes = [suspect.cause for suspect in suspects(seen)]
    if seen_to_stay:
        causes.sort(key=lambda cause: cause is not Cause.POURED_ON_ONE_SPOT)
    return tuple(causes[:2])


def _tips(week: Sequence[KeptCast]) -> list[Lesson]:
    late, early, known = [], [], 0
    for cast in week:
        ready_s = (cast.figures.get("estimate") or {}).get("ready_s")
        if cast.tipped_s is None or not cast.fillings or not isinstance(ready_s, int | float):
            continue
        full_s = cast.fillings[0].latest_s
        took_s = float(ready_s) - full_s
        if took_s < 60.0:
            continue
        known += 1
        off = (cast.tipped_s - float(ready_s)) / took_s
        if off > LATE_SHARE:
            late.append(off)
        elif off < -LATE_SHARE:
            early.append(off)
    found = []
    for kind, offs in ((LessonKind.LATE_TIPS, late), (LessonKind.EARLY_TIPS, early)):
        if len(offs) >= FEWEST:
            found.append(Lesson(kind, 0.5 * len(offs), "", known, len(offs) / known))
    return found


def _walls(week: Sequence[KeptCast], wanted_mm: Mapping[str, tuple[float, float]]) -> list[Lesson]:
    found = []
    for mould, casts in _by_mould(week).items():
        walls = [wall.value for wall in map(wall_of, casts) if wall is not None]
        if mould not in wanted_mm or len(walls) < FEWEST:
            continue
        thin, thick = wanted_mm[mould]
        middle = median(walls)
        off = middle / thin - 1.0 if middle < thin else max(middle / thick - 1.0, 0.0)
        if abs(off) > OFF_WALL:
            found.append(Lesson(LessonKind.OFF_WALL, 0.4 * len(walls), mould, len(walls), off))
    return found


def _slow(week: Sequence[KeptCast], earlier: Sequence[KeptCast]) -> list[Lesson]:
    verdict = blame_of(week, earlier)
    off = verdict.time_ratio.value - 1.0
    if verdict.culprit is Culprit.ALL:
        since = None if verdict.since_h is None else _moment(verdict.since_h, week)
        return [Lesson(LessonKind.ALL_SLOW, abs(off) * len(week), "", len(week), off, since)]
    if verdict.culprit is Culprit.ONE and verdict.mould is not None:
        casts = len(_by_mould(week)[verdict.mould])
        return [Lesson(LessonKind.ONE_SLOW, abs(off) * casts, verdict.mould, casts, off)]
    return []


def blame_of(recent: Sequence[KeptCast], earlier: Sequence[KeptCast]) -> Blame:
    """Hold recent casts' times against each mould's own earlier ones and ask who is off."""
    usual: dict[str, list[float]] = {}
    for cast, k, _ in taught(earlier):
        usual.setdefault(cast.mould, []).append(math.log(k * slower(cast.number_today)))
    residuals = []
    for cast, k, sigma in taught(recent):
        own = usual.get(cast.mould, ())
        if len(own) < FEWEST:
            continue
        log_ratio = median(own) - math.log(k * slower(cast.number_today))
        if abs(log_ratio) < 3.0:
            residuals.append(Residual(cast.mould, hours(cast.began_at), log_ratio, math.hypot(sigma, 0.1)))
    return blame(residuals)


def _moment(at_h: float, casts: Sequence[KeptCast]) -> datetime:
    return min((cast.began_at for cast in casts), key=lambda began: abs(hours(began) - at_h))


def _by_mould(casts: Sequence[KeptCast]) -> dict[str, list[KeptCast]]:
    groups: dict[str, list[KeptCast]] = {}
    for cast in casts:
        groups.setdefault(cast.mould, []).append(cast)
    return groups
