"""The path of a frame: two pure functions that live bench, replay, simulator and tests all run.

`look` turns a picture into readings; `advance` takes one input (a sighting, a thing the caster said, a tick
of the clock, a camera that gives no picture) and returns the bench's whole new state with what is to be told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from types import MappingProxyType
from zoneinfo import ZoneInfo

from models.cast_prior import PastSpeed
from models.fit import AbsorptionFit
from models.slip import Slip
from watcher import estimates
from watcher.alerts import answers, judging
from watcher.records.after_tip import PastSetting
from watcher.records.bench import Bench, BenchEvent, CallRules, Cast, MouldState, Stage, Step
from watcher.records.frames import Frame, NoFrame
from watcher.records.layout import BenchLayout
from watcher.records.notices import Alert
from watcher.records.readings import Expected, HoleSighting, Missed, Sighting
from watcher.records.said import Said, Tick, What
from watcher.records.streams import Glance
from watcher.tracking import stream
from watcher.tracking.follow import follow
from watcher.tracking.look import Look
from watcher.tracking.saying import hear
from watcher.vision.glance import StreamEyes, glance_at
from watcher.vision.look import look_at
from watcher.vision.memory import Eyes

ROUNDS = 4
"""So often casts are fitted after a restart until none moves any more for what its neighbours say."""

_TO_BE_POURED = frozenset({Stage.ABSENT, Stage.EMPTY, Stage.FILLING, Stage.UPRIGHT, Stage.DEMOULDED})
"""Stages in which slip may be seen to fall into a mould."""

Input = Sighting | Glance | NoFrame | Said | Tick


def new_bench(
    layout: BenchLayout,
    slip: Slip,
    *,
    bench_id: str = "bench",
    call_rules: CallRules | None = None,
    zone: str = "UTC",
) -> Bench:
    """Return a bench on which nothing has happened yet; casts are numbered by the days of `zone` (IANA)."""
    moulds = {mould.name: MouldState(mould.name) for mould in layout.moulds}
    return Bench(
        bench_id, layout, slip, call_rules or CallRules(), moulds=MappingProxyType(moulds), zone=zone
    )


def resumed(
    bench: Bench,
    moulds: Mapping[str, MouldState],
    alerts: tuple[Alert, ...],
    doubt_s: float,
    last_at: datetime | None = None,
) -> Bench:
    """Go on with the casts and alerts of an earlier run.

    Every cast is fitted some times over, each time in the light of all the others: a cast that is fitted
    before its neighbours are known has another answer than one that was watched beside them all along.

    Parameters
    ----------
    bench : Bench
        The bench as its file describes it, nothing poured.
    moulds : mapping of str to MouldState
        As they stood; moulds that are no longer on the bench are left out.
    alerts : tuple of Alert
        What was told stays told.
    doubt_s : float
        By how much the clock may be wrong against the earlier run: pours are dated less surely by that. [s]
    last_at : datetime, optional
        Newest moment of the earlier run: today's casts are still today's. Aware, UTC.
    """
    states = {name: _doubted(moulds.get(name, state), doubt_s) for name, state in bench.moulds.items()}
    day = _day(bench, last_at) if last_at is not None else None
    bench = replace(bench, moulds=MappingProxyType(states), alerts=alerts, day=day)
    for _ in range(ROUNDS):
        states = {name: _fitted_again(bench, state) for name, state in bench.moulds.items()}
        bench = replace(bench, moulds=MappingProxyType(states))
    return bench


def with_past(bench: Bench, mould: str, past: tuple[PastSpeed, ...]) -> Bench:
    """Let a mould's casts be foretold from how fast its earlier ones drank, from the next level on."""
    return replace(bench, past=MappingProxyType({**bench.past, mould: past}))


def with_setting(bench: Bench, mould: str, past: PastSetting) -> Bench:
    """Let a mould's steps after the tip be foretold by how its earlier casts came out."""
    bench = replace(bench, setting=MappingProxyType({**bench.setting, mould: past}))
    state = bench.moulds.get(mould)
    if state is None or state.cast is None or state.cast.tipped_s is None:
        return bench
    due = estimates.due_after(state.cast, bench.slip_at(state.cast.began_s), past)
    cast = replace(state.cast, after=replace(state.cast.after, due=due))
    return replace(bench, moulds=MappingProxyType({**bench.moulds, mould: replace(state, cast=cast)}))


def _doubted(state: MouldState, doubt_s: float) -> MouldState:
    """Date the pour of a cast under way less surely."""
    if state.cast is None:
        return state
    first, *rest = state.cast.fillings
    first = replace(first, earliest_s=first.earliest_s - doubt_s)
    return replace(state, cast=replace(state.cast, fillings=(first, *rest)))


def _fitted_again(bench: Bench, state: MouldState) -> MouldState:
    if state.cast is None:
        return state
    now_s = state.last_read_s if state.last_read_s is not None else state.cast.began_s
    return replace(state, cast=_fitted(bench, state.cast, now_s))


def look(frame: Frame, bench: Bench, eyes: Eyes | None) -> tuple[Sighting, Eyes]:
    """Turn a picture into readings, knowing what the bench expects to see; slow, pure."""
    return look_at(frame, bench.layout, eyes, expected(bench, frame.taken_s))


def glance(frame: Frame, bench: Bench, eyes: Eyes | None, memory: StreamEyes) -> tuple[Glance, StreamEyes]:
    """Look for streams of slip alone, where a pour may be under way; quicker than a look, pure."""
    idle = frozenset(name for name, state in bench.moulds.items() if state.stage in _TO_BE_POURED)
    return glance_at(frame, bench.layout, eyes, memory, idle)


def pouring(bench: Bench) -> bool:
    """Tell whether a pour may be under way, so that glances are worth their while."""
    for state in bench.moulds.values():
        hand = state.last_look is not None and (
            state.last_look.hand_near or state.last_look.reading is Missed.HAND
        )
        falls = bool(state.stream) and bench.now_s - state.stream[-1].at_s < stream.GAP_S
        if state.stage is Stage.FILLING or (state.stage in _TO_BE_POURED and (hand or falls)):
            return True
    return False


def expected(bench: Bench, at_s: float) -> Mapping[str, Expected]:
    """Say what each hole should look like at a moment, from the casts under way."""
    return {
        name: estimates.expect(state, bench.layout.mould(name).profile, at_s)
        for name, state in bench.moulds.items()
    }


def advance(bench: Bench, given: Input) -> Step:
    """Take one input and return the whole new bench, what happened and what is to be told; quick, pure."""
    match given:
        case Sighting():
            step = _seen(bench, given)
            return _judged(step, given.taken_s, given.taken_at)
        case Glance():
            return _judged(Step(_glanced(bench, given)), given.taken_s, given.taken_at)
        case NoFrame():
            bench = replace(bench, camera_why=given.detail or given.why.value)
            return _judged(Step(bench), given.at_s, given.at)
        case Said():
            heard = _heard(bench, given)
            if (
                given.at_s < bench.now_s and bench.now_at is not None
            ):  # it had to wait: time goes on all the same
                return _judged(heard, bench.now_s, bench.now_at)
            return _judged(heard, given.at_s, given.at)
        case Tick():
            return _judged(Step(bench), given.now_s, given.now_at)


def _seen(bench: Bench, sighting: Sighting) -> Step:
    """Follow every mould by one look and fit anew the casts whose series has grown."""
    states = dict(bench.moulds)
    events: list[BenchEvent] = []
    for hole in sighting.holes:
        before = states[hole.mould]
        after, happened = stream.told(*follow(before, _look(bench, before, hole, sighting)))
        states[hole.mould] = _brought_up(bench, before, after, sighting.taken_s)
        events.extend(happened)
    bench = replace(
        bench,
        moulds=MappingProxyType(states),
        camera_why=sighting.camera_why,
        last_frame_s=sighting.taken_s,
        last_sighting=sighting,
    )
    return Step(bench, tuple(events))


def _glanced(bench: Bench, given: Glance) -> Bench:
    """Take in where slip was seen to fall."""
    states = dict(bench.moulds)
    for one in given.streams:
        states[one.mould] = stream.poured_on(states[one.mould], given.taken_s, one.across_mm)
    return replace(bench, moulds=MappingProxyType(states))


def _look(bench: Bench, state: MouldState, hole: HoleSighting, sighting: Sighting) -> Look:
    """Put a hole's sighting beside what was forecast for it."""
    forecast = estimates.level_forecast(state.cast, sighting.taken_s)
    return Look(
        hole,
        sighting.taken_s,
        sighting.taken_at,
        bench.bench_id,
        forecast[0] if forecast else None,
        forecast[1] if forecast else None,
    )


def _brought_up(bench: Bench, before: MouldState, after: MouldState, now_s: float) -> MouldState:
    """Fit a cast anew if its levels or its tip have changed; what comes after the tip teaches nothing."""
    cast, old = after.cast, before.cast
    if cast is None or cast is old:
        return after
    if old is not None and old.cast_id == cast.cast_id:
        if old.fillings is cast.fillings and old.tipped_s == cast.tipped_s:
            return after
    return replace(after, cast=_fitted(bench, cast, now_s))


def _cast_id(state: MouldState) -> str:
    return state.cast.cast_id if state.cast is not None else ""


def _fitted(bench: Bench, cast: Cast, now_s: float) -> Cast:
    """Fit a cast by its mould's earlier casts and by the others on this bench: same slip, same room.

    A cast that has been tipped is spoken of at its tip: the wall does not grow on without slip.
    """
    fits = [state.cast.fit for name, state in bench.moulds.items() if state.cast and name != cast.mould]
    neighbours = [fit.k_alone for fit in fits if isinstance(fit, AbsorptionFit) and fit.k_alone is not None]
    prior = estimates.prior_of(cast, bench.past.get(cast.mould, ()), neighbours)
    if cast.tipped_s is not None:
        now_s = min(now_s, cast.tipped_s)
    profile, slip = bench.layout.mould(cast.mould).profile, bench.slip_at(cast.began_s)
    cast = estimates.refit(cast, profile, slip, now_s, prior=prior)
    if cast.tipped_s is None:
        return cast
    return replace(
        cast, after=replace(cast.after, due=estimates.due_after(cast, slip, bench.setting.get(cast.mould)))
    )


def _heard(bench: Bench, said: Said) -> Step:
    """Let the caster's word change the mould it is about, and answer alerts."""
    alerts = answers.answer(bench.alerts, said)
    bench = replace(bench, alerts=alerts)
    state = bench.moulds.get(said.mould)
    if state is None:
        return Step(bench)
    after, events = hear(state, said, bench_id=bench.bench_id)
    after = _brought_up(bench, state, after, said.at_s)
    if said.what is What.TAKE_BACK and after.stage is Stage.CASTING and state.stage is not Stage.CASTING:
        # the tip was none: what had been called for it is called again
        bench = replace(bench, alerts=tuple(a for a in alerts if a.cast_id != _cast_id(after)))
    moulds = MappingProxyType({**bench.moulds, said.mould: after})
    return Step(replace(bench, moulds=moulds), events)


def _day(bench: Bench, now_at: datetime) -> date:
    """Return the bench's day: that of its zone, never an earlier one than before (clocks are set back)."""
    today = now_at.astimezone(ZoneInfo(bench.zone)).date()
    return today if bench.day is None else max(today, bench.day)


def _with_day(bench: Bench, now_at: datetime) -> Bench:
    """Bring in the day; at midnight the casts of each mould are numbered anew."""
    day = _day(bench, now_at)
    if day == bench.day:
        return bench
    if bench.day is None:
        return replace(bench, day=day)
    moulds = {name: replace(state, casts_today=0) for name, state in bench.moulds.items()}
    return replace(bench, day=day, moulds=MappingProxyType(moulds))


def _judged(step: Step, now_s: float, now_at: datetime) -> Step:
    """Judge every mould at this moment; raise each alert once, settle the ones that are over."""
    verdict = judging.judge_bench(_with_day(step.bench, now_at), now_s, now_at)
    return Step(verdict.bench, (*step.events, *verdict.events), (*step.to_send, *verdict.to_send))
