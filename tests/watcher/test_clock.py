"""The bench's seconds go on over a restart and over a reboot, and say how far they can be trusted."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from watcher.clock import WALL_CLOCK_DOUBT_S, ComputerClock, Moment, ToldClock, resume


def test_steady_seconds_grow_and_count_through_sleep() -> None:
    clock = ComputerClock()
    first = clock.now_s()
    assert clock.now_s() >= first
    assert first == pytest.approx(time.clock_gettime(time.CLOCK_BOOTTIME), abs=1.0)
    assert clock.now_at().utcoffset() == timedelta(0)


def test_a_restart_within_one_boot_goes_on_exactly_whatever_the_wall_clock_says() -> None:
    last = replace(ComputerClock(5000.0).moment(), at=datetime(1970, 1, 1, tzinfo=UTC))
    resumed = resume(last)
    assert resumed.same_boot
    assert resumed.doubt_s == 0.0
    assert 0.0 <= resumed.clock.now_s() - last.at_s < 5.0


def test_after_a_reboot_the_gap_is_that_of_the_wall_clock_with_a_doubt() -> None:
    last = Moment(80_000.0, datetime.now(UTC) - timedelta(minutes=10), "another boot")
    resumed = resume(last)
    assert not resumed.same_boot
    assert resumed.clock.now_s() - last.at_s == pytest.approx(600.0, abs=2.0)
    assert resumed.doubt_s == WALL_CLOCK_DOUBT_S


def test_after_a_reboot_with_a_clock_set_back_the_seconds_do_not_go_back_and_the_doubt_is_as_wide() -> None:
    last = Moment(80_000.0, datetime.now(UTC) + timedelta(hours=1), "another boot")
    resumed = resume(last)
    assert resumed.clock.now_s() - last.at_s == pytest.approx(0.0, abs=2.0)
    assert resumed.doubt_s == pytest.approx(3600.0 + WALL_CLOCK_DOUBT_S, abs=2.0)


def test_two_restarts_after_a_reboot_keep_the_bench_on_one_line_of_time() -> None:
    last = Moment(80_000.0, datetime.now(UTC) - timedelta(minutes=10), "another boot")
    first = resume(last).clock.moment()
    second = resume(first)
    assert second.same_boot
    assert 0.0 <= second.clock.now_s() - first.at_s < 5.0


def test_a_new_bench_starts_with_the_computers_own_seconds() -> None:
    resumed = resume(None)
    assert resumed.same_boot
    assert resumed.clock.moment().ahead_s == 0.0


def test_a_told_clock_shows_what_it_is_told() -> None:
    clock = ToldClock(1.0, datetime(2026, 3, 3, tzinfo=UTC))
    clock.tell(5.0, datetime(2026, 3, 4, tzinfo=UTC))
    assert (clock.now_s(), clock.now_at().day) == (5.0, 4)
    assert clock.moment().at_s == 5.0
