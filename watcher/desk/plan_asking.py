"""Put together what the plan is asked: moulds with their times, casts that stand there, what is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from types import MappingProxyType

from models.doors import BadValue
from models.plan_jobs import PlanAsk, PlanMould, PlanSet, RunningCast
from models.ranged import Z80
from models.slip import Slip
from models.target_check import check_target
from models.target_list import time_window
from watcher.desk.plan_slip import TodaysSlip
from watcher.desk.plan_times import CastTimes, Plaster, filled_to_mm, times_by_number, times_by_water
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout, PlacedMould

FORGOTTEN_MIN = 180.0
"""An open cast that is overdue by more than this was tipped while nobody watched (guess). [min]"""


@dataclass(frozen=True, slots=True)
class DayWords:
    """What the caster wants of the day.

    Attributes
    ----------
    now : datetime
        In the bench's zone.
    closing_min : float
        Until closing. [min]
    hands : int
    wanted : mapping of str to int
        Pots of each mould; empty: one of each.
    most_casts : int
        Casts of one mould a day where its plaster was never weighed.
    plaster : mapping of str to Plaster
        Of the moulds that were weighed dry.
    drain_min, set_min : float
    setting : mapping of str to float
        From tip to demoulding, of moulds that are known better than by `set_min`. [min]
    sets : tuple of PlanSet
    """

    now: datetime
    closing_min: float
    hands: int
    wanted: Mapping[str, int]
    most_casts: int
    plaster: Mapping[str, Plaster]
    drain_min: float
    set_min: float
    setting: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    sets: tuple[PlanSet, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """The question to the planner, the times it rests on, and what the caster should know of it."""

    ask: PlanAsk
    times: Mapping[str, CastTimes]
    notes: tuple[str, ...]


def ask_for(
    layout: BenchLayout,
    slip: Slip,
    kept: Mapping[str, tuple[KeptCast, ...]],
    words: DayWords,
    today: TodaysSlip | None = None,
) -> Asked:
    """Put the question together.

    Raises
    ------
    BadValue
        A mould is named that is not on the bench, or a value cannot be right.
    """
    names = [mould.name for mould in layout.moulds]
    for name in (*words.wanted, *words.plaster):
        if name not in names:
            raise BadValue(f"'{name}' is not on this bench; its moulds are {', '.join(names)}")
    moulds, running, times, notes, unlearned = [], [], {}, [], []
    for placed in layout.moulds:
        wanted = words.wanted.get(placed.name, 0) if words.wanted else 1
        if placed.profile.target_wall_mm is None or placed.profile.solid:
            notes.append(f"{placed.name}: has no wanted wall that it is tipped at; it is not planned")
            continue
        mine = kept.get(placed.name, ())
        stands, free_at_min, said = _standing(placed.name, mine, words)
        notes += said
        running += stands
        found = _times(placed, slip, mine, words, wanted)
        if today is not None and not any(cast.began_at > today.kept_at for cast in mine):
            found = today.slowed(found)
        times[placed.name] = found
        moulds.append(_mould(placed, slip, found, wanted, free_at_min, words))
        if wanted and not found.minutes:
            notes.append(f"{placed.name}: as damp as you allow today; dry it first")
        elif wanted and not found.casts_used:
            low, high = found.spread(0)
            unlearned.append(f"{placed.name} ({low:.0f}–{high:.0f} min)")
    if today is not None:
        notes.append(today.said)
    if unlearned:
        notes.append(
            f"no cast of their own is remembered of {', '.join(unlearned)}: published casting times, whose "
            "range is wide; the first cast narrows it"
        )
    sets = tuple(one for one in words.sets if all(times[m].minutes for m in one.moulds))
    ask = PlanAsk(tuple(moulds), words.hands, words.closing_min, tuple(running), sets=sets)
    return Asked(ask, times, tuple(notes))


def _times(
    placed: PlacedMould, slip: Slip, kept: tuple[KeptCast, ...], words: DayWords, wanted: int
) -> CastTimes:
    assert placed.profile.target_wall_mm is not None
    plaster = words.plaster.get(placed.name)
    if plaster is not None:
        return times_by_water(placed.profile, slip, kept, plaster, now=words.now, casts=min(wanted, 30))
    zone = words.now.tzinfo
    today = sum(cast.began_at.astimezone(zone).date() == words.now.date() for cast in kept)
    casts = min(wanted, max(words.most_casts - today, 0))
    return times_by_number(placed.profile.target_wall_mm[0], kept, today=today, casts=casts)


def _mould(
    placed: PlacedMould, slip: Slip, times: CastTimes, wanted: int, free_at_min: float, words: DayWords
) -> PlanMould:
    assert placed.profile.target_wall_mm is not None
    thin, thick = placed.profile.target_wall_mm
    shares = check_target(placed.profile, slip, thin, filled_to_mm=filled_to_mm(placed.profile)).top_up_at
    return PlanMould(
        placed.name,
        times.minutes,
        times.sigma_log,
        wanted,
        free_at_min,
        top_up_at=tuple(share for share in shares if 0.0 < share <= 0.95),
        drain_min=words.drain_min,
        set_min=words.setting.get(placed.name, words.set_min),
        late_share=time_window(thin, thick) - 1.0,
    )


def _standing(
    name: str, kept: tuple[KeptCast, ...], words: DayWords
) -> tuple[list[RunningCast], float, list[str]]:
    """Return the mould's cast that stands there, when the mould is free, and what is to be said of it."""
    usual = PlanMould(name, ())
    if not kept:
        return [], 0.0, []
    newest = kept[0]
    after_tip = words.setting.get(name, words.set_min) + usual.demould_min
    if newest.tipped_at is not None:
        since = (words.now - newest.tipped_at).total_seconds() / 60.0
        return [], max(after_tip - since, 0.0), []
    estimate = newest.figures.get("estimate") or {}
    low, ready, high = (estimate.get(key) for key in ("ready_low_s", "ready_s", "ready_high_s"))
    stood_min = (words.now - newest.began_at).total_seconds() / 60.0
    if ready is None:
        if stood_min > FORGOTTEN_MIN:
            return [], 0.0, [f"{name}: a cast poured long ago was never seen tipped; taken as empty"]
        said = f"{name}: stands under cast, when it is ready is not known yet; nothing is planned for it"
        return [], 2880.0, [said]
    ready_in = (
        newest.began_at + timedelta(seconds=ready - newest.began_s) - words.now
    ).total_seconds() / 60.0
    if ready_in < -FORGOTTEN_MIN:
        return [], 0.0, [f"{name}: a cast poured long ago was never seen tipped; taken as empty"]
    sigma = 0.0 if low is None or high is None else min((high - low) / (2.0 * Z80 * 60.0), 600.0)
    free_at = max(ready_in, 0.0) + usual.tip_min + after_tip
    return [RunningCast(name, ready_in, sigma, usual.tip_min)], free_at, []
