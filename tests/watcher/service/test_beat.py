"""The bench's clock is set while it is watched: no hour of silence, no flood, nothing missed."""

from __future__ import annotations

import threading
import time
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import apscheduler.schedulers.base as scheduler_base
import pytest
from hypothesis import given
from hypothesis import strategies as st

from watcher.clock import ToldClock
from watcher.service.beat import Beat, Beats
from watcher.service.clock_watch import SAID_FOR_S, ClockWatch

NOW = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)


class WallClock:
    """The computer's clock on the wall, which somebody can set; and the steady one, which nobody can."""

    def __init__(self):
        self.off = timedelta(0)

    def now_s(self):
        return time.monotonic()

    def now_at(self):
        return datetime.now(UTC) + self.off

    def moment(self):
        raise AssertionError("not asked for here")


@pytest.fixture
def wall(monkeypatch):
    """Let the scheduler, too, go by a clock that can be set."""
    clock = WallClock()

    class Shown(datetime):
        @classmethod
        def now(cls, tz=None):
            return datetime.now(tz) + clock.off

    monkeypatch.setattr(scheduler_base, "datetime", Shown)
    return clock


def wait_for(told, seconds=4.0):
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if told():
            return True
        time.sleep(0.01)
    return False


@pytest.mark.parametrize("hours", [-1.0, 1.0, 24 * 365 * 56.0])
def test_a_clock_set_by_an_hour_or_from_1970_to_now_neither_silences_nor_floods_the_ticks(wall, hours):
    ticks = []
    beats = Beats(ClockWatch(wall), ("bench",))
    beats.add("tick", lambda: ticks.append(time.monotonic()), every_s=0.1, lane="bench", at_once=True)
    beats.start()
    try:
        assert wait_for(lambda: len(ticks) >= 3)
        before, set_s = len(ticks), time.monotonic()
        wall.off = timedelta(hours=hours)
        while time.monotonic() - set_s < 1.5:
            beats.look_at_the_clock(wall.now_at())
            time.sleep(0.05)
        after = [at_s for at_s in ticks[before:] if at_s > set_s]
        assert 8 <= len(after) <= 20, "about one each tenth of a second, whatever the clock on the wall says"
        assert max(b - a for a, b in pairwise(after)) < 0.6
    finally:
        beats.stop()


def test_without_the_look_at_the_clock_an_hour_back_would_be_an_hour_of_silence(wall):
    """What the guard is for: the scheduler alone sleeps past a clock that was set back."""
    ticks = []
    beats = Beats(ClockWatch(wall), ("bench",))
    beats.add("tick", lambda: ticks.append(1), every_s=0.1, lane="bench")
    beats.start()
    try:
        assert wait_for(lambda: len(ticks) >= 3)
        wall.off = timedelta(hours=-1)
        time.sleep(0.3)
        before = len(ticks)
        time.sleep(1.0)
        assert len(ticks) == before
    finally:
        beats.stop()


def test_a_lane_that_was_held_up_makes_its_beat_up_once_and_drops_none(wall):
    done, gate = [], threading.Event()
    beats = Beats(ClockWatch(wall), ("bench", "upkeep"))
    beats.add("look", lambda: gate.wait(5), every_s=60.0, lane="bench", at_once=True)
    beats.add("tick", lambda: done.append("tick"), every_s=0.1, lane="bench")
    beats.add("upkeep", lambda: done.append("upkeep"), every_s=60.0, lane="upkeep", at_once=True)
    beats.start()
    try:
        assert wait_for(lambda: "upkeep" in done), "a slow look holds up no other lane"
        time.sleep(1.2)
        assert "tick" not in done
        gate.set()
        assert wait_for(lambda: "tick" in done)
        time.sleep(0.05)
        assert done.count("tick") <= 3, "made up once, not twelve times"
    finally:
        gate.set()
        beats.stop()


def test_what_fails_on_a_beat_is_said_until_it_works_again_and_goes_on(wall):
    fails = [True, True, False]

    def do():
        if fails and fails.pop(0):
            raise RuntimeError("the card is gone")

    beats = Beats(ClockWatch(wall), ("upkeep",))
    beats.add("upkeep", do, every_s=0.3, lane="upkeep")
    beats.start()
    try:
        assert wait_for(lambda: beats.trouble() != "")
        assert beats.trouble() == "upkeep fails (RuntimeError): see the log"
        assert wait_for(lambda: not fails and beats.trouble() == "")
    finally:
        beats.stop()


@given(every_s=st.floats(0.2, 7200.0), before_s=st.floats(-1e9, 1e9))
def test_the_next_beat_is_always_to_come_and_never_more_than_one_beat_away(every_s, before_s):
    due = Beat(every_s).get_next_fire_time(NOW + timedelta(seconds=before_s), NOW)
    assert NOW < due <= NOW + timedelta(seconds=every_s)


def test_beats_in_time_keep_their_measure():
    due, beat = NOW, Beat(5.0)
    for number in range(1, 20):
        due = beat.get_next_fire_time(due, due + timedelta(seconds=0.01 * number))
    assert due == NOW + timedelta(seconds=95.0)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (timedelta(hours=-1), "its clock went back by 60 min"),
        (timedelta(seconds=30), "its clock went forward by 30 s"),
        (timedelta(days=20000), "its clock went forward by 20000 days"),
    ],
)
def test_a_clock_that_was_set_is_said_for_an_hour(step, words):
    clock = ToldClock(100.0, NOW)
    watch = ClockWatch(clock)
    clock.tell(101.0, NOW + timedelta(seconds=1))
    assert watch.look() == 0.0 and watch.why() == ""
    clock.tell(102.0, NOW + timedelta(seconds=2) + step)
    assert watch.look() == pytest.approx(step.total_seconds())
    assert watch.why().startswith(words)
    clock.tell(102.0 + SAID_FOR_S - 2, NOW + step + timedelta(seconds=SAID_FOR_S))
    assert watch.look() == 0.0 and watch.why()
    clock.tell(102.0 + SAID_FOR_S, NOW + step + timedelta(seconds=2 + SAID_FOR_S))
    assert watch.why() == ""


def test_a_night_of_the_change_of_clocks_and_the_network_s_small_corrections_are_no_step():
    """Moments are UTC: on 29 March 2026 at 01:00 UTC nothing happens to them. Slewing: at most 500 ppm."""
    start = datetime(2026, 3, 29, 0, 50, tzinfo=UTC)
    clock = ToldClock(0.0, start)
    watch = ClockWatch(clock)
    for second in range(1200):
        clock.tell(float(second), start + timedelta(seconds=second * 1.0005))
        assert watch.look() == 0.0


def test_a_clock_that_went_back_over_a_restart_is_said():
    assert "back by 60 min over the restart" in ClockWatch(ToldClock(0.0, NOW), went_back_s=3600.0).why()
