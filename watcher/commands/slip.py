"""`tipbell slip`: the morning's check of the slip, and the day's slip kept."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path

from models.doors import BadValue
from models.slip import Slip
from watcher.camera.recording_file import read_bench_file
from watcher.clock import ComputerClock
from watcher.commands.refused import Refused
from watcher.commands.slip_keeping import bench_lines, keep_slip, write_gravity
from watcher.commands.slip_words import lines_for
from watcher.desk.slip_answer import as_json
from watcher.desk.slip_paper import own_band, slip_for
from watcher.desk.slip_reading import SlipMorning, SlipWords, morning_of
from watcher.settings import Settings, read_settings
from watcher.storage.engine import JournalUnusable
from watcher.storage.looking import newest_slip
from watcher.storage.own_file import journal_url


@dataclass(frozen=True, slots=True)
class SlipAsked:
    """What is to be done with the reading.

    Attributes
    ----------
    settings : Path
        The settings file; need only be there where the journal is asked for.
    bench : Path or None
        The bench's file; None: the one that the settings name, where there is one.
    keep, write : bool
        Keep it in the journal; change the bench's file.
    """

    settings: Path
    bench: Path | None
    keep: bool
    write: bool
    as_json: bool


def slip(words: SlipWords, asked: SlipAsked) -> None:
    """Check the slip, say what to do, and keep it where that is asked.

    Raises
    ------
    Refused, SettingsError, RecordingError
        Each with one sentence.
    """
    settings = read_settings(asked.settings) if asked.keep or asked.settings.exists() else None
    file = _bench_file(asked, settings)
    bench_slip = None if file is None else read_bench_file(file).slip
    if bench_slip is None and (asked.keep or asked.write):
        raise Refused("there is no bench's file to take the cake's solids from; give it with --bench")
    words, whose = _with_own_band(words, settings)
    try:
        morning = morning_of(words, bench_slip)
    except BadValue as fault:
        raise Refused(str(fault)) from None
    today = None if bench_slip is None else _today(bench_slip, morning, asked)
    if (asked.keep or asked.write) and not words.stirred:
        raise Refused("the slip was not kept: stir the tank through, measure it again and say --stirred")
    said, kept = _kept(asked, settings, morning, today, file)
    if asked.as_json:
        lines = None if today is None else bench_lines(today)
        print(json.dumps({**as_json(morning), "bench_lines": lines, **kept}, indent=2))
        return
    for line in (*lines_for(morning), *whose, *said):
        print(line)


def _today(bench_slip: Slip, morning: SlipMorning, asked: SlipAsked) -> Slip | None:
    """Return the bench's slip with today's gravity; None where it cannot be and is not to be kept."""
    try:
        return slip_for(bench_slip, morning.sg)
    except BadValue as fault:
        if asked.keep or asked.write:
            raise Refused(f"the slip was not kept: {fault}") from None
        return None


def _with_own_band(words: SlipWords, settings: Settings | None) -> tuple[SlipWords, tuple[str, ...]]:
    """Take the caster's band from the slip that was kept last, where none is given and it was read alike."""
    if words.band is not None or words.flow_band is not None or settings is None:
        return words, ()
    try:
        paper = newest_slip(journal_url(settings), settings.bench.name)
    except JournalUnusable:
        return words, ()  # a check of the slip does not need the memory
    own = own_band(paper, words.measure, words.baume_modulus)
    if own is None:
        return words, ()
    said = f"by your band of {own.since:%d.%m.%Y}: {own.low:g} to {own.high:g}"
    return replace(words, band=(own.low, own.high), flow_band=own.flow_s), (said,)


def _bench_file(asked: SlipAsked, settings: Settings | None) -> Path | None:
    if asked.bench is not None:
        return asked.bench
    if settings is None or not settings.bench.file.exists():
        return None
    return settings.bench.file


def _kept(
    asked: SlipAsked, settings: Settings | None, morning: SlipMorning, today: Slip | None, file: Path | None
) -> tuple[list[str], dict[str, object]]:
    said: list[str] = []
    kept: dict[str, object] = {"kept_version": None, "written": None}
    if today is None or file is None:
        return said, kept
    if asked.keep:
        assert settings is not None
        paper = keep_slip(settings, morning, today, ComputerClock().now_at())
        said.append(f"kept as the day's slip of {settings.bench.name} (version {paper.version})")
        kept["kept_version"] = paper.version
    if asked.write:
        before = write_gravity(file, today)
        said.append(f"wrote {file.name}; what it said before is kept as {before.name}")
        kept["written"] = str(file)
    elif asked.keep:
        gravity, cake = bench_lines(today)
        said.append(f"under [slip] in {file.name} put, or let --write put:  {gravity}  and  {cake}")
    return said, kept
