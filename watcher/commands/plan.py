"""`tipbell plan`: which mould to pour next, and on wish the whole day."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from models.air import Room
from models.doors import BadValue, number
from watcher.camera.recording_file import read_bench_file
from watcher.clock import ComputerClock
from watcher.commands.plan_words import lines_for
from watcher.commands.refused import Refused
from watcher.desk.day_plan import NO_CLOSING_MIN, REMEMBERED
from watcher.desk.plan_answer import answer, as_json
from watcher.desk.plan_asking import DayWords, ask_for
from watcher.desk.plan_slip import todays_slip
from watcher.desk.plan_times import Plaster
from watcher.records.kept import KeptCast
from watcher.settings import Settings, read_settings
from watcher.storage.engine import JournalUnusable
from watcher.storage.looking import look_back, newest_slip
from watcher.storage.own_file import journal_url


@dataclass(frozen=True, slots=True)
class PlanWords:
    """What was typed.

    Attributes
    ----------
    settings, bench : Path, Path or None
        Without a bench's file the one that the settings name; with one, settings need not be there.
    at, closing : str or None
        HH:MM in the bench's zone; without `closing` only the next pour is said.
    wanted, plaster : tuple of (str, float)
        Pots, and dry weight in kg, of moulds by name.
    room : tuple of float
        Temperature [C] and humidity [%].
    """

    settings: Path
    bench: Path | None
    at: str | None
    closing: str | None
    hands: int
    wanted: tuple[tuple[str, float], ...]
    plaster: tuple[tuple[str, float], ...]
    room: tuple[float, float]
    dampest: float
    most_casts: int
    drain_min: float
    set_min: float
    days: int
    seed: int
    as_json: bool


def plan(words: PlanWords) -> None:
    """Say what to pour next, and the day where a closing time is given.

    Raises
    ------
    Refused, SettingsError, RecordingError
        Each with one sentence.
    """
    settings = read_settings(words.settings) if words.bench is None or words.settings.exists() else None
    file = words.bench
    if file is None:
        assert settings is not None
        file = settings.bench.file
    described = read_bench_file(file)
    names = [mould.name for mould in described.layout.moulds]
    try:
        day = _day(words, settings)
        paper = None if settings is None else newest_slip(journal_url(settings), settings.bench.name)
        today = todays_slip(paper, described.slip, day.now)
        asked = ask_for(described.layout, described.slip, _remembered(settings, names), day, today)
        whole_day = words.closing is not None
        said = answer(day.now, asked, whole_day=whole_day, days=words.days, seed=words.seed)
    except (BadValue, JournalUnusable) as fault:
        raise Refused(str(fault)) from None
    if words.as_json:
        print(json.dumps(as_json(said), indent=2))
        return
    for line in lines_for(said):
        print(line)


def _remembered(settings: Settings | None, names: list[str]) -> Mapping[str, tuple[KeptCast, ...]]:
    if settings is None:
        return {}
    return look_back(journal_url(settings), settings.bench.name, names, REMEMBERED)


def _day(words: PlanWords, settings: Settings | None) -> DayWords:
    now = ComputerClock().now_at().astimezone(ZoneInfo("UTC" if settings is None else settings.bench.zone))
    if words.at is not None:
        now = _moment("--at", words.at, now)
    number("--seed", words.seed, wanted="a whole number, 0 to 1e9", least=0, most=1e9)
    number("--most-casts", words.most_casts, wanted="casts of a mould in a day, 1 to 30", least=1, most=30)
    number(
        "--dampest", words.dampest, wanted="free water over dry plaster, above 0 to 0.4", above=0, most=0.4
    )
    room = Room(words.room[0], words.room[1] / 100.0)
    wanted: dict[str, int] = {}
    for name, pots in words.wanted:
        whole = number(f"{name}: wanted", pots, wanted="a whole number of pots, 0 to 30", least=0, most=30)
        if whole != int(whole):
            raise BadValue(f"{name}: wanted is {pots:g}; give a whole number of pots, 0 to 30")
        wanted[name] = int(whole)
    return DayWords(
        now,
        _closing_min(words.closing, now),
        words.hands,
        wanted,
        words.most_casts,
        {name: Plaster(kg, room, words.dampest) for name, kg in words.plaster},
        words.drain_min,
        words.set_min,
    )


def _closing_min(closing: str | None, now: datetime) -> float:
    if closing is None:
        return NO_CLOSING_MIN
    left = (_moment("--closing", closing, now) - now).total_seconds() / 60.0
    if left <= 0.0:
        raise BadValue(f"--closing is {closing}, and it is {now:%H:%M} already; give a later time")
    return left


def _moment(option: str, text: str, day: datetime) -> datetime:
    try:
        given = time.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{option} is '{text}'; give hours and minutes, such as 17:30") from None
    return day.replace(hour=given.hour, minute=given.minute, second=0, microsecond=0)
