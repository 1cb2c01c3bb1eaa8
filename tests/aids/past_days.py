"""Some days of a made-up bench put into a real journal, for tests of what looks back. Test data only.

Walls grow by L2 = K t and the level sinks in step with them; nothing here judges the science.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from types import MappingProxyType

from models.slip import Slip
from models.tip import TipEstimate
from watcher.desk.memory import BenchMemory
from watcher.records.bench import (
    Bench,
    BenchEvent,
    Cast,
    Filling,
    FillingKind,
    Forecast,
    MouldState,
    Reading,
    Stage,
    Step,
)
from watcher.records.layout import BenchLayout
from watcher.storage.crops import Crops
from watcher.storage.journal import Journal, open_journal

K = 0.35
SINKS = 4.2  # mm of level for a mm of wall


@dataclass(frozen=True)
class Poured:
    """One cast of the past: which mould, when it was full, how fast it grew, when it was tipped."""

    mould: str
    number: int
    full_at: datetime
    tip_min: float
    k: float = K

    @property
    def cast_id(self) -> str:
        return f"window bench/{self.mould}/{self.full_at:%Y%m%dT%H%M%SZ}"


def opened(folder: Path, zone: str = "Europe/Berlin") -> tuple[Journal, BenchMemory]:
    """Open a journal with a memory on it; the test closes the journal."""
    journal = open_journal(f"sqlite:///{folder / 'journal.db'}", "window bench")
    return journal, BenchMemory(journal, Crops(folder / "crops", free=lambda _: 10**12), zone)


def pour_days(days: int, last: datetime, names: tuple[str, ...], each: int = 2) -> list[Poured]:
    """A few days of casts up to the day of `last`: each mould some times a day, later ones slower."""
    found = []
    for day in range(days):
        begins = last.replace(hour=7, minute=0, second=0, microsecond=0) - timedelta(days=days - 1 - day)
        for place, name in enumerate(names):
            for n in range(each):
                k = K / (1.0 + n / 6.0) * (1.0 + 0.03 * math.sin(7.0 * day + place))
                full = begins + timedelta(minutes=12.0 * place + 110.0 * n)
                found.append(Poured(name, n + 1, full, 2.6**2 / k * (1.0 + 0.1 * (place % 3 == 2)), k))
    return found


def remember(
    journal: Journal, layout: BenchLayout, casts: list[Poured], *, pictures: BenchMemory | None = None,
    jpeg: bytes = b"", every_min: float = 1.0,
) -> None:  # fmt: skip
    """Write these casts as the running bench would have: a step a minute, each mould tipped at its end."""
    first = min(cast.full_at for cast in casts) - timedelta(hours=1)
    for cast in sorted(casts, key=lambda one: one.full_at):
        before = Bench(
            journal.bench_id, layout, Slip(1.76, 0.63), moulds={cast.mould: MouldState(cast.mould)}
        )
        for step in _steps(before, cast, first, every_min):
            journal.add(step, durable=True)
        if pictures is not None and pictures._crops is not None:
            for minute in range(int(cast.tip_min) + 1):
                pictures._crops.keep(cast.mould, cast.full_at + timedelta(minutes=minute), jpeg)
    journal.add(Step(before), durable=True)


def _steps(bench: Bench, poured: Poured, first: datetime, every_min: float) -> Iterator[Step]:
    full_s = (poured.full_at - first).total_seconds()
    began_s = full_s - 40.0
    minutes = [every_min * i for i in range(1, int(poured.tip_min / every_min) + 1)] + [poured.tip_min]
    readings: list[Reading] = []
    for minute in minutes:
        now_s = full_s + 60.0 * minute
        wall = math.sqrt(poured.k * minute)
        readings.append(Reading(now_s, 4.0 + SINKS * wall, 0.2, 0.08, 0))
        ready_s = full_s + 60.0 * 2.6**2 / poured.k * (1.0 + 0.1 / (1.0 + minute))
        wide = 30.0 + 0.1 * abs(ready_s - now_s)
        tipped = minute == poured.tip_min
        cast = Cast(
            poured.cast_id,
            poured.mould,
            poured.number,
            began_s,
            poured.full_at - timedelta(seconds=40),
            (Filling(FillingKind.POUR, full_s - 5.0, full_s, tuple(readings)),),
            estimate=TipEstimate(wall, wall - 0.15, wall + 0.15, ready_s, ready_s - wide, ready_s + wide),
            forecast=Forecast.READY if now_s > ready_s else Forecast.NONE,
            tipped_s=now_s if tipped else None,
            tipped_at=poured.full_at + timedelta(minutes=minute) if tipped else None,
        )
        at = poured.full_at + timedelta(minutes=minute)
        state = MouldState(poured.mould, Stage.TIPPED if tipped else Stage.CASTING, cast)
        events = (BenchEvent(poured.mould, "tipped", now_s, at),) if tipped else ()
        moulds = MappingProxyType({poured.mould: state})
        yield Step(replace(bench, now_s=now_s, now_at=at, moulds=moulds), events)
    empty = MappingProxyType({poured.mould: MouldState(poured.mould)})
    yield Step(replace(bench, now_s=now_s + 1.0, now_at=at, moulds=empty))
