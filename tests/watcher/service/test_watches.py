"""The computer that watches the bench is watched itself: its disk, and the silence of the first days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from watcher.clock import ToldClock
from watcher.records.notices import Kind
from watcher.service.disk_watch import EVERY_S, LEAST_FREE_BYTES, DiskWatch
from watcher.service.watches import Watches
from watcher.settings import CallSettings, CameraSettings, MemorySettings, Settings

NOON = datetime(2026, 3, 3, 12, tzinfo=UTC)


def test_a_disk_that_fills_is_said_with_what_is_left_and_not_flickering_at_the_edge(tmp_path: Path) -> None:
    free, now = [int(2e9)], [0.0]
    watch = DiskWatch(tmp_path, lambda: now[0], lambda folder: free[0])

    def said(free_bytes: float) -> str:
        free[0] = int(free_bytes)
        now[0] += EVERY_S
        return watch.why()

    assert said(2e9) == ""
    assert "400 MB free" in said(4e8)
    assert said(1.1 * LEAST_FREE_BYTES) != ""
    assert said(1.3 * LEAST_FREE_BYTES) == ""
    assert said(1.1 * LEAST_FREE_BYTES) == ""


def test_a_disk_that_does_not_answer_is_the_journal_s_trouble(tmp_path: Path) -> None:
    assert DiskWatch(tmp_path / "gone", lambda: 0.0).why() == ""


def test_the_first_silent_days_are_said_until_they_are_over(tmp_path: Path) -> None:
    settings = Settings(
        camera=CameraSettings(address="0"),
        calls=CallSettings(silent_until=date(2026, 3, 10)),
        memory=MemorySettings(folder=tmp_path),
        bench={"zone": "Europe/Lisbon"},
    )
    clock = ToldClock(0.0, NOON)
    watches = Watches(settings, clock, 0.0)
    assert [part() for part in watches.parts if part()] == [
        "calls are off until 2026-03-10: this bench only records"
    ]
    assert watches.faults() == {}, "silence is wanted: it is no fault"
    # Lisbon is at UTC in winter: midnight there is midnight in UTC
    clock.tell(1.0, datetime(2026, 3, 9, 23, 59, 59, tzinfo=UTC))
    assert any(part() for part in watches.parts)
    clock.tell(2.0, datetime(2026, 3, 10, tzinfo=UTC))
    assert not any(part() for part in watches.parts)
    assert settings.calls.rules("Europe/Lisbon").silent_until == datetime(2026, 3, 10, tzinfo=UTC)
    assert settings.calls.rules("Europe/Berlin").silent_until == datetime(2026, 3, 9, 23, tzinfo=UTC)


def test_a_clock_that_was_set_is_worth_a_call(tmp_path: Path) -> None:
    settings = Settings(camera=CameraSettings(address="0"), memory=MemorySettings(folder=tmp_path))
    clock = ToldClock(0.0, NOON)
    watches = Watches(settings, clock, 0.0)
    clock.tell(1.0, NOON - timedelta(hours=1))
    watches.clock.look()
    assert set(watches.faults()) == {Kind.CLOCK_STEPPED}
