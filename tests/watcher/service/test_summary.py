"""The evening's summary: what the day brought, once, at its hour or at the next start after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from bench_stories import CAST_STEPS, START, story

from watcher.alerts.channels import Channel
from watcher.alerts.senders import Senders
from watcher.clock import ToldClock
from watcher.records.kept import KeptCast
from watcher.records.letters import Urgency
from watcher.records.notices import Alert, Kind
from watcher.service.summary import DaySummary, end_of, summary_text
from watcher.storage.journal import Journal, open_journal

EVENING = time(20)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    """A day on which the beaker was cast twice and the jug once and a half."""
    own = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench1")
    for told in story(2 * CAST_STEPS):
        own.add(told.step, told.said, durable=told.number == 2 * CAST_STEPS - 1)
    yield own
    own.close()


def senders() -> Senders:
    return Senders(
        [Channel("phone", "json://127.0.0.1:9/"), Channel("other", "json://127.0.0.1:9/", from_step=1)]
    )


def summary(journal: Journal, clock: ToldClock, zone: str = "UTC", at: time | None = EVENING) -> DaySummary:
    return DaySummary(journal, senders(), clock, zone, at)


def waiting(journal: Journal) -> list[tuple[str, str]]:
    return [(post.letter.channel, post.letter.title) for post in journal.outbox.waiting()]


def test_it_comes_at_its_hour_once_to_those_who_are_called_first(journal: Journal) -> None:
    clock = ToldClock(500.0, START.replace(hour=19, minute=59))
    own = summary(journal, clock)
    own.do()
    assert waiting(journal) == []
    for minute in range(3):
        clock.tell(560.0 + 60.0 * minute, START.replace(hour=20, minute=minute))
        own.do()
    assert waiting(journal) == [("phone", "The day: 4 casts")]
    letter = journal.outbox.waiting()[0].letter
    assert letter.urgency is Urgency.QUIET
    assert letter.text.startswith("Tuesday 3 March: 4 casts: ")
    assert letter.text.endswith("beaker 2, cream jug 2.")


def test_a_restart_right_after_it_sends_no_second_one(journal: Journal, tmp_path: Path) -> None:
    clock = ToldClock(560.0, START.replace(hour=20))
    summary(journal, clock).do()
    journal.close()
    again = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench1")
    clock.tell(900.0, START.replace(hour=20, minute=6))
    summary(again, clock).do()
    assert len(again.outbox.waiting()) == 1
    again.close()


def test_a_computer_that_was_off_in_the_evening_sends_it_in_the_morning(journal: Journal) -> None:
    clock = ToldClock(40_000.0, START + timedelta(days=1) - timedelta(minutes=30))
    summary(journal, clock).do()
    assert waiting(journal) == [("phone", "The day: 4 casts")]
    assert "Tuesday 3 March" in journal.outbox.waiting()[0].letter.text


def test_a_day_without_a_cast_is_not_summed_up(journal: Journal) -> None:
    clock = ToldClock(600_000.0, START + timedelta(days=7, hours=13))
    summary(journal, clock).do()
    assert waiting(journal) == []


def test_what_is_cast_after_the_summary_is_in_the_next_one(journal: Journal) -> None:
    # in Auckland, 13 hours ahead of UTC in March (summer time), the casts began at nine in the evening
    clock = ToldClock(560.0, START.replace(hour=10))
    own = summary(journal, clock, "Pacific/Auckland")
    own.do()
    assert waiting(journal) == []
    clock.tell(80_000.0, START.replace(hour=7, minute=1) + timedelta(days=1))
    own.do()
    assert "Wednesday 4 March: 4 casts" in journal.outbox.waiting()[0].letter.text


def test_the_hour_is_that_of_the_clock_on_the_wall_and_none_means_none(journal: Journal) -> None:
    # 20:00 in Auckland is 07:00 UTC
    clock = ToldClock(560.0, START.replace(hour=6, minute=59) + timedelta(days=1))
    own = summary(journal, clock, "Pacific/Auckland")
    own.do()
    assert waiting(journal) == []
    off = summary(journal, clock, at=None)
    clock.tell(600.0, START.replace(hour=7) + timedelta(days=1))
    off.do()
    assert waiting(journal) == []


def kept(tipped_s: float | None, low_s: float | None = 1000.0, latest_s: float | None = 1300.0) -> KeptCast:
    figures = {"estimate": {"ready_low_s": low_s, "ready_s": 1100.0, "latest_s": latest_s}}
    return KeptCast("c", "beaker", 1, 0.0, START, tipped_s, None, False, figures=figures)


@pytest.mark.parametrize(
    ("cast", "end"),
    [
        (kept(None), "open"),
        (kept(999.0), "early"),
        (kept(1000.0), "in time"),
        (kept(1300.0), "in time"),
        (kept(1301.0), "late"),
        (kept(9999.0, latest_s=None), "in time"),
        (kept(1200.0, low_s=None), "unknown"),
    ],
)
def test_a_tip_is_early_late_or_in_time_by_the_range_and_the_thick_end(cast: KeptCast, end: str) -> None:
    assert end_of(cast) == end


def test_missed_looks_are_counted() -> None:
    at = datetime(2026, 3, 3, 9, tzinfo=UTC)
    blind = Alert("a", Kind.BLIND, "beaker", "c", 0.0, at)
    calls = (blind, replace(blind, alert_id="b"), replace(blind, kind=Kind.CAMERA_BLIND, mould=""))
    text = summary_text(date(2026, 3, 3), [kept(1100.0), kept(1400.0)], calls)
    assert text.splitlines() == [
        "Tuesday 3 March: 2 casts: 1 tipped in time; 1 past the thick end.",
        "Not read for some minutes: 2 casts; camera without a picture: 1 times.",
        "beaker 2.",
    ]
