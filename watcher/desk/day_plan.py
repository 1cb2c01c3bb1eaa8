"""The plan of the day from the bench as it stands this minute: what was poured already counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from datetime import datetime
from types import MappingProxyType
from zoneinfo import ZoneInfo

from models.air import Room
from models.tip import TipEstimate
from watcher.desk.local_day import day_of
from watcher.desk.plan_answer import PlanSaid, answer
from watcher.desk.plan_asking import DayWords, ask_for
from watcher.desk.plan_sets import sets_asked, setting_times
from watcher.desk.plan_slip import todays_slip
from watcher.desk.plan_times import Plaster
from watcher.desk.wishes import DayWishes
from watcher.records.afterwards import Finding, Told
from watcher.records.bench import Bench, Cast, Stage
from watcher.records.kept import KeptCast
from watcher.storage.papers import Paper

REMEMBERED = 12
"""Casts of a mould that its times are learned from: older ones tell less of today's plaster (guess)."""

NO_CLOSING_MIN = 600.0
DAYS = 60
"""Days that are simulated for the page: enough for "90 of 100", few enough for a small computer."""

Kept = Mapping[str, tuple[KeptCast, ...]]


def plan_of_day(
    bench: Bench,
    kept: Kept,
    wishes: DayWishes,
    slip: Paper | None,
    now: datetime,
    zone: str,
    told: Mapping[str, tuple[Told, ...]] = MappingProxyType({}),
    findings: Iterable[Finding] = (),
) -> PlanSaid:
    """Plan the rest of the day.

    Parameters
    ----------
    bench : Bench
        As it stands now.
    kept : mapping of str to tuple of KeptCast
        Earlier casts of each mould, newest first, without readings.
    wishes : DayWishes
    slip : Paper or None
        The slip that was kept last.
    now : datetime
    zone : str
        The bench's time zone.
    told : mapping of str to tuple of Told
        What was told of each mould: hours in a drier. Casts that nobody watched stand in `kept`.
    findings : iterable of Finding
        How earlier casts came out: they teach when the next can be demoulded, and when parts of sets meet.

    Raises
    ------
    BadValue
        Something wanted cannot be planned, with one sentence.
    """
    local = now.astimezone(ZoneInfo(zone))
    present = {name: with_present(casts, bench, name, now) for name, casts in kept.items()}
    closing_min = closing_in_min(wishes, local)
    setting = setting_times(bench, present, findings, wishes)
    words = DayWords(
        local,
        NO_CLOSING_MIN if closing_min is None else closing_min,
        wishes.hands,
        {placed.name: _left(placed.name, present, wishes, zone) for placed in bench.layout.moulds},
        wishes.most_casts,
        _plaster(bench, wishes, told),
        wishes.drain_min,
        wishes.set_min,
        setting,
        sets_asked(bench, present, wishes, setting, now, zone),
    )
    asked = ask_for(bench.layout, bench.slip, present, words, todays_slip(slip, bench.slip, local))
    return answer(local, asked, whole_day=closing_min is not None, days=DAYS)


def closing_in_min(wishes: DayWishes, local: datetime) -> float | None:
    """Return the minutes until closing, at most 0 when it is past; None where no closing time is given."""
    if wishes.closing is None:
        return None
    closes = local.replace(hour=wishes.closing.hour, minute=wishes.closing.minute, second=0, microsecond=0)
    return (closes - local).total_seconds() / 60.0


def with_present(kept: tuple[KeptCast, ...], bench: Bench, name: str, now: datetime) -> tuple[KeptCast, ...]:
    """Put the cast that stands in a mould now, with its newest forecast, in front of the earlier ones."""
    state = bench.moulds.get(name)
    cast = state.cast if state is not None else None
    if cast is None or state is None:
        return kept
    here = kept_from(cast)
    if state.stage is Stage.DEMOULDED and here.tipped_at is None:
        here = replace(here, tipped_at=now)
    return (here, *(one for one in kept if one.cast_id != cast.cast_id))


def kept_from(cast: Cast) -> KeptCast:
    """Return a cast under way as it would be remembered."""
    figures = {}
    if isinstance(cast.estimate, TipEstimate):
        figures = {"estimate": {"kind": "TipEstimate", **asdict(cast.estimate)}}
    return KeptCast(
        cast.cast_id,
        cast.mould,
        cast.number_today,
        cast.began_s,
        cast.began_at,
        cast.tipped_s,
        cast.tipped_at,
        cast.leaking,
        cast.fillings,
        MappingProxyType(figures),
    )


def _left(name: str, kept: Kept, wishes: DayWishes, zone: str) -> int:
    """Return how many pots of a mould are still to be poured today."""
    if name in wishes.skipped:
        return 0
    poured = sum(day_of(cast.began_at, zone) == wishes.day for cast in kept.get(name, ()))
    return max(wishes.pots_of(name) - poured, 0)


def _plaster(bench: Bench, wishes: DayWishes, told: Mapping[str, tuple[Told, ...]]) -> dict[str, Plaster]:
    room = Room(wishes.room_c, wishes.room_rh)
    weights = {placed.name: wishes.of(placed.name).dry_kg for placed in bench.layout.moulds}
    return {
        name: Plaster(kg, room, wishes.dampest, told.get(name, ()))
        for name, kg in weights.items()
        if kg is not None
    }
