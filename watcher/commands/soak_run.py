"""A soak: simulated days through the whole service on a told clock, with restarts and a clock that is set."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

import numpy as np
from pydantic import SecretStr

from watcher.clock import WALL_CLOCK_DOUBT_S, ToldClock
from watcher.commands.soak_parts import (
    Shown,
    WritesDown,
    folder_mb,
    forget_old_run,
    memory_mb,
    open_files,
)
from watcher.commands.soak_steps import Drawn, in_the_dark, journalled, look_once, post_out
from watcher.commands.soak_truth import Tally
from watcher.records.frames import Blind, NoFrame
from watcher.records.said import Said, What
from watcher.service.assembly import Assembled, assembled
from watcher.service.stand_ins import StandIns
from watcher.settings import BenchSettings, CameraSettings, MemorySettings, PageSettings, Settings
from watcher.simulator.read_levels import Reader
from watcher.simulator.recorder import settings_text
from watcher.simulator.working_day import WorkingDay, working_day
from watcher.simulator.workshop import workshop

ZONE = "Europe/Berlin"
START = datetime(2026, 9, 7, 6, 0, tzinfo=UTC)
"""08:00 on the bench's wall; the night to 25 October, in which its clock goes back, is that of day 47."""

DST_NIGHT = datetime(2026, 10, 24, 6, 0, tzinfo=UTC)
DAY_S = 86_400.0
LOOK_S, TICK_S, NIGHT_TICK_S = 30.0, 10.0, 600.0
NIGHT_SHIFT_S = 18.3 * 3600.0
"""The night shift pours half an hour before the clock on the wall goes back. [s]"""


@dataclass(frozen=True, slots=True)
class Soak:
    """What is asked for.

    Attributes
    ----------
    days, moulds, seed : int
    drawn : int
        So many of the days are drawn as pictures and looked at; the others hand over sightings that bear the
        errors of the eyes.
    start : datetime
        Aware, UTC.
    """

    days: int = 100
    moulds: int = 8
    seed: int = 1
    drawn: int = 2
    start: datetime = START


@dataclass(frozen=True, slots=True)
class DayDone:
    """One day of a soak is over."""

    day: int
    drawn: bool
    casts: int
    seconds: float
    memory_mb: float
    open_files: int


class Soaking:
    """Carries a soak out.

    Parameters
    ----------
    asked : Soak
    folder : Path
        Journal and settings are kept there.
    """

    def __init__(self, asked: Soak, folder: Path) -> None:
        self.asked = asked
        self.folder = folder
        self.tally = Tally()
        self.senders = WritesDown()
        self.restarts = 0
        self._bench = workshop(asked.moulds, seed=asked.seed)
        self._settings = _settings(self._bench_file(), folder)
        self._clock = ToldClock(0.0, asked.start)
        self._apart_s = 0.0
        self._source = Shown(NoFrame("bench", 0.0, asked.start, Blind.UNPLUGGED))
        self._rng = np.random.default_rng((asked.seed, 77))
        self._drawn = _spread(asked.drawn, asked.days)
        self._doubt_s = 0.0

    def days(self) -> Iterator[DayDone]:
        """Carry the days out, one after the other."""
        for day in range(self.asked.days):
            began = perf_counter()
            casts = self._day(day)
            yield DayDone(day, day in self._drawn, casts, perf_counter() - began, memory_mb(), open_files())

    @property
    def journal_mb(self) -> float:
        """Size of the journal, its copies left out. [MB]."""
        return sum(file.stat().st_size for file in self.folder.glob("memory/journal.db*")) / 1e6

    @property
    def folder_mb(self) -> float:
        """Size of everything that the service keeps. [MB]."""
        return folder_mb(self.folder)

    def _day(self, day: int) -> int:
        start_s = day * DAY_S
        shifts = [(0.0, working_day(self._bench, (self.asked.seed, day)))]
        if (self.asked.start + timedelta(days=day)).date() == DST_NIGHT.date():
            shifts.append(
                (NIGHT_SHIFT_S, working_day(self._bench, (self.asked.seed, 10_000 + day), rounds=1))
            )
        ends = [*(start_s + offset_s for offset_s, _ in shifts[1:]), start_s + DAY_S]
        for (offset_s, plan), dark_until_s in zip(shifts, ends, strict=True):
            self._shift(day, start_s + offset_s, plan, dark_until_s)
            self.senders.forget()
        return sum(len(plan.casts) for _, plan in shifts)

    def _shift(self, day: int, start_s: float, plan: WorkingDay, dark_until_s: float) -> None:
        """Work through one shift and the dark after it, in pieces between which the service starts anew."""
        eyes = Drawn(plan) if day in self._drawn else Reader(plan, self.asked.seed * 1000 + day)
        stops = sorted(float(s) for s in self._rng.uniform(0.05, 0.95, 1 + day % 2) * plan.end_s)
        set_back_s = plan.end_s * 0.4 if day % 7 == 1 else None
        begin_s = 0.0
        for stop_s in (*stops, plan.end_s):
            with self._service() as parts:
                self._piece(parts, eyes, plan, start_s, begin_s, stop_s, set_back_s)
                if stop_s == plan.end_s:
                    alerts, casts = journalled(parts, start_s)
                    self.tally.add(plan.casts, alerts, casts, day=day, start_s=start_s)
                    self._dark(parts, dark_until_s - NIGHT_TICK_S)
            begin_s = stop_s + float(self._rng.uniform(5.0, 60.0))
            rebooted = day % 3 == 1 and stop_s != plan.end_s
            self._doubt_s = WALL_CLOCK_DOUBT_S if rebooted else 0.0
            self.restarts += 1

    def _piece(
        self,
        parts: Assembled,
        eyes: Reader | Drawn,
        plan: WorkingDay,
        start_s: float,
        begin_s: float,
        stop_s: float,
        set_back_s: float | None,
    ) -> None:
        words = [word for word in plan.words if begin_s - TICK_S <= word.at_s < stop_s]
        first = int(begin_s // TICK_S) + 1
        for step in range(first, int(stop_s // TICK_S) + 1):
            at_s = step * TICK_S
            back = set_back_s is not None and set_back_s <= at_s < set_back_s + 2400.0
            self._apart_s = -3600.0 if back else 0.0
            now_s = self._tell(start_s + at_s)
            if at_s % LOOK_S == 0.0:
                self._source.show(eyes.look(at_s, now_s, self._clock.now_at()))
                look_once(parts)
            while words and words[0].at_s <= at_s:
                word = words.pop(0)
                said = Said(What(word.what), now_s, self._clock.now_at(), word.mould)
                parts.running.hear(said)
            parts.running.tick(now_s, self._clock.now_at())
            post_out(parts)

    def _dark(self, parts: Assembled, until_s: float) -> None:
        """Let time pass in which nothing is seen; what keeps the disk in order is done then."""
        now_s = self._clock.now_s()
        while now_s + NIGHT_TICK_S <= until_s:
            now_s = self._tell(now_s + NIGHT_TICK_S)
            self._source.show(in_the_dark(parts, now_s, self._clock.now_at()))
            look_once(parts)
            parts.running.tick(now_s, self._clock.now_at())
            post_out(parts)
        parts.upkeep.do()

    def _tell(self, now_s: float) -> float:
        at = self.asked.start + timedelta(seconds=now_s + self._apart_s)
        self._clock.tell(now_s, at)
        return now_s

    @contextmanager
    def _service(self) -> Iterator[Assembled]:
        instead = StandIns(self._clock, self._doubt_s, self._source, self.senders)
        with assembled(self._settings, instead=instead) as parts:
            yield parts
        del parts
        forget_old_run()

    def _bench_file(self) -> Path:
        file = self.folder / "bench.toml"
        file.write_text(settings_text(self._bench, self.asked.start.isoformat()), encoding="utf-8")
        return file


def _spread(count: int, days: int) -> frozenset[int]:
    """Spread so many days over all of them."""
    return frozenset(int((k + 0.5) * days / count) for k in range(min(count, days)))


def _settings(bench_file: Path, folder: Path) -> Settings:
    return Settings(
        bench=BenchSettings(name="soak", zone=ZONE, file=bench_file),
        camera=CameraSettings(address=SecretStr("simulated")),
        page=PageSettings(port=0),
        memory=MemorySettings(folder=folder / "memory"),
    )


def soaked(asked: Soak, folder: Path, say: Callable[[str], None]) -> dict[str, float | int | None]:
    """Carry a soak out and return its figures.

    Parameters
    ----------
    asked : Soak
    folder : Path
        Empty; the journal is kept there.
    say : callable
        Told a line for each day, and one for each thing that went wrong.
    """
    soaking = Soaking(asked, folder)
    done: list[DayDone] = []
    for one in soaking.days():
        done.append(one)
        drawn = "drawn" if one.drawn else "given"
        say(
            f"day {one.day} ({drawn}): {one.casts} casts in {one.seconds:.0f} s, {one.memory_mb:.0f} MB, "
            f"{one.open_files} open files"
        )
        for remark in soaking.tally.remarks:
            say(f"  {remark}")
        soaking.tally.remarks.clear()
    whole_s = sum(one.seconds for one in done)
    figures = soaking.tally.figures() | {
        "days": len(done),
        "days_drawn": sum(one.drawn for one in done),
        "restarts": soaking.restarts,
        "letters": soaking.senders.letters,
        "letters_marked_as_repeat": soaking.senders.marked,
        "repeats_without_mark": soaking.senders.unmarked_repeats,
        "memory_first_day_mb": done[0].memory_mb,
        "memory_last_day_mb": done[-1].memory_mb,
        "open_files_first_day": done[0].open_files,
        "open_files_last_day": done[-1].open_files,
        "journal_mb": soaking.journal_mb,
        "seconds_per_day": whole_s / len(done),
    }
    return figures
