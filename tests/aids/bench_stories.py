"""A made-up session of a bench, step by step, for tests of what remembers it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from models.mould import checked_mould
from models.slip import Slip
from watcher.records.bench import (
    Bench,
    BenchEvent,
    Cast,
    Filling,
    FillingKind,
    Forecast,
    MouldState,
    NotYet,
    Reading,
    Stage,
    Step,
)
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.letters import Letter
from watcher.records.notices import AlarmState, Alert, Kind
from watcher.records.said import Said, What

START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
MOULDS = ("beaker", "cream jug")
EVERY_S = 5.0
CAST_STEPS = 40
"""A cast of the story in steps: poured at 0, topped up at 20, ready at 30, tipped at 36."""

LAYOUT = BenchLayout(
    "bench",
    None,
    (),
    tuple(PlacedMould(name, checked_mould(name, [[0, 70], [90, 56]], target_wall_mm=2.4)) for name in MOULDS),
)


@dataclass(frozen=True, slots=True)
class Told:
    """One step of the story, with the caster's word and the letters that came with it."""

    number: int
    step: Step
    said: Said | None = None
    letters: tuple[Letter, ...] = ()


def at(seconds: float) -> datetime:
    return START + timedelta(seconds=seconds)


def story(steps: int, *, bench_id: str = "bench1") -> Iterator[Told]:
    """Tell a session: each mould is cast again and again, the second one half a cast after the first."""
    bench = Bench(bench_id, LAYOUT, Slip(1.76, 0.63), moulds={name: MouldState(name) for name in MOULDS})
    for number in range(steps):
        now_s = number * EVERY_S
        bench = replace(bench, now_s=now_s, now_at=at(now_s))
        events: list[BenchEvent] = []
        said: Said | None = None
        letters: list[Letter] = []
        moulds = dict(bench.moulds)
        for place, name in enumerate(MOULDS):
            since = number - place * CAST_STEPS // 2
            if since < 0:
                continue
            moulds[name], happened = _mould(moulds[name], since, now_s, bench_id)
            events += [BenchEvent(name, event, now_s, at(now_s)) for event in happened]
            cast = moulds[name].cast
            if since % CAST_STEPS == 30:
                assert cast is not None
                alert = Alert(
                    f"{cast.cast_id}/ready", Kind.READY, name, cast.cast_id, now_s, at(now_s), wall_mm=2.4
                )
                bench = replace(bench, alerts=(*bench.alerts, alert))
                letters.append(
                    Letter("phone", f"{name}: ready", f"Tip the {name}.", now_s, at(now_s), (alert.alert_id,))
                )
            if since % CAST_STEPS == 36:
                said = Said(What.TIPPED, now_s, at(now_s), mould=name)
                bench = replace(
                    bench, alerts=tuple(_acknowledged(alert, name, now_s) for alert in bench.alerts)
                )
        bench = replace(bench, moulds=moulds)
        yield Told(number, Step(bench, tuple(events)), said, tuple(letters))


def _acknowledged(alert: Alert, name: str, now_s: float) -> Alert:
    if alert.mould != name or alert.state is AlarmState.ACKNOWLEDGED:
        return alert
    return replace(alert, state=AlarmState.ACKNOWLEDGED, acked_at=at(now_s))


def _mould(state: MouldState, since: int, now_s: float, bench_id: str) -> tuple[MouldState, tuple[str, ...]]:
    phase = since % CAST_STEPS
    if phase == 0:
        number = state.casts_today + 1
        cast = Cast(
            f"{bench_id}/{state.name}/{since // CAST_STEPS}",
            state.name,
            number,
            now_s,
            at(now_s),
            (Filling(FillingKind.POUR, now_s - EVERY_S, now_s),),
        )
        return replace(state, stage=Stage.CASTING, cast=cast, casts_today=number), ("filling", "filled")
    cast = state.cast
    assert cast is not None
    if phase > 36:
        return state, ()
    if phase == 36:
        tipped = replace(cast, tipped_s=now_s, tipped_at=at(now_s))
        return replace(state, stage=Stage.TIPPED, cast=tipped), ("tipped",)
    happened: tuple[str, ...] = ()
    if phase == 20:
        cast = replace(cast, fillings=(*cast.fillings, Filling(FillingKind.TOP_UP, now_s - EVERY_S, now_s)))
        happened = ("topped_up",)
    if phase == 30:
        cast = replace(cast, forecast=Forecast.READY)
        happened = ("ready",)
    *before, last = cast.fillings
    level_mm = 4.0 + 0.9 * math.sqrt(now_s - last.latest_s + 1.0) + 0.01 * (phase % 3)
    reading = Reading(now_s, level_mm, 0.12, 0.05, 0, 0.4, 0.9, 0.2)
    cast = replace(cast, fillings=(*before, replace(last, readings=(*last.readings, reading))))
    return replace(state, cast=cast, last_read_s=now_s, last_read_at=at(now_s)), happened


def comes_back(bench: Bench, estimate: NotYet) -> dict[str, MouldState]:
    """Return what can be expected back: all but the last look, and what is worked out from readings anew."""
    return {
        name: replace(
            state,
            last_read_at=None,
            cast=replace(state.cast, fit=None, estimate=estimate) if state.cast else None,
        )
        for name, state in bench.moulds.items()
    }


def without_looks(moulds: Mapping[str, MouldState]) -> dict[str, MouldState]:
    """Return moulds without the label of their last reading, which is written only now and then."""
    return {name: replace(state, last_read_at=None) for name, state in moulds.items()}
