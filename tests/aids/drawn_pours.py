"""Benches on which slip is poured, drawn with the stream's truth, and what a watcher makes of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from models.slip import Slip
from watcher.pipeline import advance, glance, look, new_bench
from watcher.records.bench import Bench, BenchEvent
from watcher.records.frames import Frame
from watcher.records.said import Tick
from watcher.records.streams import Glance
from watcher.simulator.faults import Faults, Hand
from watcher.simulator.scene import Scene
from watcher.simulator.truth import SimCast
from watcher.simulator.workshop import workshop
from watcher.vision.glance import StreamEyes

BEGIN = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
POUR_S, FIRST_S, LOOK_S = 40.0, 14.0, 5.0
Way = Callable[[float, float], tuple[float, float]]


def stays(after_s: float, radius_mm: float) -> tuple[float, float]:
    """One spot, with a hand's tremor."""
    return 0.3 * radius_mm + 0.8 * math.sin(1.7 * after_s), -0.2 * radius_mm + 0.6 * math.cos(1.3 * after_s)


def circles(after_s: float, radius_mm: float) -> tuple[float, float]:
    """Round and round, once in eight seconds."""
    turn = 2.0 * math.pi * after_s / 8.0
    return 0.5 * radius_mm * math.cos(turn), 0.4 * radius_mm * math.sin(turn)


def half(after_s: float, radius_mm: float) -> tuple[float, float]:
    """On one spot for 22 s, then from side to side."""
    if after_s < 22.0:
        return -0.25 * radius_mm, 0.1 * radius_mm
    return 0.5 * radius_mm * math.sin(2.0 * math.pi * after_s / 7.0), 0.0


@dataclass(frozen=True, slots=True)
class Poured:
    """One moment: what the glance told, where the stream truly is (x, y), the bench after it."""

    at_s: float
    seen: Glance
    true_mm: tuple[float, float] | None
    bench: Bench
    events: tuple[BenchEvent, ...]


def poured(
    way: Way, mould: int, *, glance_s: float | None = 1.0, hand: bool = False, seed: int = 1
) -> Iterator[Poured]:
    """Pour one mould of a workshop's bench and watch it as the service does: looks, and glances between."""
    bench = workshop(4, seed=seed)
    part = bench.moulds[mould]
    radius = part.profile.bore[0][1] / 2.0
    path = tuple((t, *way(t, radius)) for t in np.arange(0.0, POUR_S + 0.6, 0.5).tolist())
    cast = SimCast(FIRST_S, FIRST_S + POUR_S, 1.0, stream=path)
    moulds = tuple(replace(m, casts=(cast,)) if m is part else m for m in bench.moulds)
    palm = (part.seat.x_mm + 130.0, part.seat.y_mm + 55.0, part.height_mm + 130.0)
    hands = (Hand(FIRST_S - 2.0, FIRST_S + POUR_S + 3.0, palm, 160.0),) if hand else ()
    scene = Scene(replace(bench, moulds=moulds), Faults(hands=hands))
    now = new_bench(scene.bench.layout(), Slip(1.76, 0.64), bench_id="drawn")
    eyes, streams = None, StreamEyes()
    step_s = LOOK_S if glance_s is None else glance_s
    for at_s in np.arange(1.0, FIRST_S + POUR_S + 25.0, step_s).tolist():
        picture = scene.picture(at_s)
        frame = Frame(bench.camera, picture, at_s, BEGIN + timedelta(seconds=at_s), f"{at_s:.0f}")
        sighting = None
        if (at_s - 1.0) % LOOK_S == 0.0:
            sighting, eyes = look(frame, now, eyes)
        seen, streams = glance(frame, now, eyes, streams)
        now = advance(now, seen).bench
        step = advance(now, sighting if sighting is not None else Tick(at_s, frame.taken_at))
        now = step.bench
        yield Poured(at_s, seen, cast.stream_at(at_s), now, step.events)
