"""The path of a frame: two pure functions that live bench, replay, simulator and tests all run.

`look` turns a picture into readings; `advance` takes one input (a sighting, a thing the caster said, a tick
of the clock, a camera that gives no picture) and returns the bench's whole new state with what is to be told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from models.fit import AbsorptionFit
from models.prior import prior_from_bench
from models.slip import Slip
from watcher import estimates
from watcher.alerts import answers, rules
from watcher.records.bench import Bench, BenchEvent, CallRules, Cast, MouldState, Step
from watcher.records.frames import Frame, NoFrame
from watcher.records.layout import BenchLayout
from watcher.records.notices import Alert, Notice, Why
from watcher.records.readings import Expected, HoleSighting, Sighting
from watcher.records.said import Said, Tick
from watcher.tracking.follow import follow
from watcher.tracking.look import Look
from watcher.tracking.saying import hear
from watcher.vision.look import look_at
from watcher.vision.memory import Eyes

Input = Sighting | NoFrame | Said | Tick


def new_bench(
    layout: BenchLayout, slip: Slip, *, bench_id: str = "bench", call_rules: CallRules | None = None
) -> Bench:
    """Return a bench on which nothing has happened yet."""
    moulds = {mould.name: MouldState(mould.name) for mould in layout.moulds}
    return Bench(bench_id, layout, slip, call_rules or CallRules(), moulds=MappingProxyType(moulds))


def resumed(
    bench: Bench, moulds: Mapping[str, MouldState], alerts: tuple[Alert, ...], doubt_s: float
) -> Bench:
    """Go on with the casts and alerts of an earlier run.

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
    """
    known = {name: moulds.get(name, state) for name, state in bench.moulds.items()}
    bench = replace(bench, moulds=MappingProxyType(known), alerts=alerts)
    states = {}
    for name, state in known.items():
        cast = state.cast
        if cast is not None:
            first, *rest = cast.fillings
            first = replace(first, earliest_s=first.earliest_s - doubt_s)
            now_s = state.last_read_s if state.last_read_s is not None else cast.began_s
            cast = _fitted(bench, replace(cast, fillings=(first, *rest)), now_s)
        states[name] = replace(state, cast=cast)
    return replace(bench, moulds=MappingProxyType(states))


def look(frame: Frame, bench: Bench, eyes: Eyes | None) -> tuple[Sighting, Eyes]:
    """Turn a picture into readings, knowing what the bench expects to see; slow, pure."""
    return look_at(frame, bench.layout, eyes, expected(bench, frame.taken_s))


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
        case NoFrame():
            bench = replace(bench, camera_why=given.detail or given.why.value)
            return _judged(Step(bench), given.at_s, given.at)
        case Said():
            return _judged(_heard(bench, given), given.at_s, given.at)
        case Tick():
            return _judged(Step(bench), given.now_s, given.now_at)


def _seen(bench: Bench, sighting: Sighting) -> Step:
    """Follow every mould by one look and fit anew the casts whose series has grown."""
    states = dict(bench.moulds)
    events: list[BenchEvent] = []
    for hole in sighting.holes:
        before = states[hole.mould]
        after, happened = follow(before, _look(bench, before, hole, sighting))
        if after.cast is not None and after.cast is not before.cast:
            after = replace(after, cast=_fitted(bench, after.cast, sighting.taken_s))
        states[hole.mould] = after
        events.extend(happened)
    bench = replace(
        bench,
        moulds=MappingProxyType(states),
        camera_why=sighting.camera_why,
        last_frame_s=sighting.taken_s,
        last_sighting=sighting,
    )
    return Step(bench, tuple(events))


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


def _fitted(bench: Bench, cast: Cast, now_s: float) -> Cast:
    """Fit a cast in the light of what the other casts on this bench show: same slip, same room."""
    fits = [state.cast.fit for name, state in bench.moulds.items() if state.cast and name != cast.mould]
    neighbours = [fit.k_alone for fit in fits if isinstance(fit, AbsorptionFit) and fit.k_alone is not None]
    prior = prior_from_bench(neighbours)
    return estimates.refit(cast, bench.layout.mould(cast.mould).profile, bench.slip, now_s, prior=prior)


def _heard(bench: Bench, said: Said) -> Step:
    """Let the caster's word change the mould it is about, and answer alerts."""
    alerts = answers.answer(bench.alerts, said)
    bench = replace(bench, alerts=alerts)
    state = bench.moulds.get(said.mould)
    if state is None:
        return Step(bench)
    after, events = hear(state, said, bench_id=bench.bench_id)
    if after.cast is not None and after.cast is not state.cast:
        after = replace(after, cast=_fitted(bench, after.cast, said.at_s))
    moulds = MappingProxyType({**bench.moulds, said.mould: after})
    return Step(replace(bench, moulds=moulds), events)


def _judged(step: Step, now_s: float, now_at: datetime) -> Step:
    """Judge every mould at this moment; raise each alert once, settle the ones that are over."""
    bench = step.bench
    states: dict[str, MouldState] = {}
    raised: list[Alert] = []
    for name, state in bench.moulds.items():
        judged = rules.judge(state, now_s, now_at, bench.rules)
        states[name] = judged.state
        raised.extend(judged.raised)
    alerts, new = rules.merge(bench.alerts, tuple(raised), now_s)
    alerts, woken = answers.wake(alerts, now_s)
    for state in states.values():
        alerts = rules.settle(alerts, state)
    events = tuple(BenchEvent(a.mould, a.kind.value, now_s, now_at, a.why) for a in new)
    sent = tuple(Notice(a, Why.FIRST) for a in new) + tuple(Notice(a, Why.AGAIN) for a in woken)
    bench = replace(bench, moulds=MappingProxyType(states), alerts=alerts, now_s=now_s, now_at=now_at)
    return Step(bench, (*step.events, *events), (*step.to_send, *sent))
