"""Pieces of several parts as the planner is asked for them: what is left to pour, when the rest is hard."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from models.plan_jobs import PlanSet
from watcher.desk.after_learned import demoulding_of
from watcher.desk.local_day import day_of
from watcher.desk.plan_times import times_by_number
from watcher.desk.wishes import DayWishes
from watcher.records.afterwards import Finding
from watcher.records.bench import Bench
from watcher.records.kept import KeptCast

Kept = Mapping[str, tuple[KeptCast, ...]]


def setting_times(
    bench: Bench, kept: Kept, findings: Iterable[Finding], wishes: DayWishes
) -> dict[str, float]:
    """Return the time from tip to leather-hard of parts of sets and of moulds whose casts taught it. [min].

    Of all other moulds the caster's own word for the day counts.
    """
    found, in_sets = tuple(findings), {mould for moulds in wishes.sets.values() for mould in moulds}
    times = {}
    for placed in bench.layout.moulds:
        wall = placed.profile.target_wall_mm
        if wall is None or placed.profile.solid:
            continue
        out = demoulding_of(kept.get(placed.name, ()), found, bench.slip, wall[0], habit=True)
        if out is not None and (out.taught_by or placed.name in in_sets):
            times[placed.name] = min(out.minutes.value, 2880.0)
    return times


def sets_asked(
    bench: Bench, kept: Kept, wishes: DayWishes, setting: Mapping[str, float], now: datetime, zone: str
) -> tuple[PlanSet, ...]:
    """Return the sets that can be planned: every part on this bench, none left out, some still to pour."""
    asked: list[PlanSet] = []
    taken: set[str] = set()
    for name, moulds in wishes.sets.items():
        if any(m not in setting or m in taken or m in wishes.skipped for m in moulds):
            continue
        hard = {m: _hard_at(bench, m, kept.get(m, ()), setting[m], now, zone) for m in moulds}
        left = tuple(m for m in moulds if hard[m] is None)
        minutes = tuple((at - now).total_seconds() / 60.0 for at in hard.values() if at is not None)
        if left and all(abs(one) <= 2880.0 for one in minutes):
            asked.append(PlanSet(name, left, minutes))
            taken.update(moulds)
    return tuple(asked)


def _hard_at(
    bench: Bench, mould: str, kept: tuple[KeptCast, ...], setting_min: float, now: datetime, zone: str
) -> datetime | None:
    """Return when the part that was poured today is leather-hard; None where none was."""
    if not kept or day_of(kept[0].began_at, zone) != day_of(now, zone):
        return None
    newest = kept[0]
    tipped = newest.tipped_at
    if tipped is None:
        ready_s = (newest.figures.get("estimate") or {}).get("ready_s")
        if isinstance(ready_s, int | float):
            tipped = newest.began_at + timedelta(seconds=float(ready_s) - newest.began_s)
        else:
            wall = bench.layout.mould(mould).profile.target_wall_mm
            assert wall is not None
            times = times_by_number(wall[0], kept[1:], today=newest.number_today - 1, casts=1)
            tipped = newest.began_at + timedelta(minutes=times.minutes[0])
        tipped = max(tipped, now)
    return tipped + timedelta(minutes=setting_min)
