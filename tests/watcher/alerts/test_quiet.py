"""Quiet hours hold what can wait, and never what must be heard."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import pytest
from memory_outbox import MemoryOutbox
from receivers import http_receiver

from watcher.alerts.channels import Channel, WhenQuiet
from watcher.alerts.postman import deliver_one
from watcher.alerts.quiet import QuietHours, QuietSpan, quiet_span
from watcher.alerts.senders import Senders
from watcher.records.letters import Letter, Urgency

NIGHT = QuietSpan(time(22), time(7))
NOON, MIDNIGHT = datetime(2026, 3, 3, 12, tzinfo=UTC), datetime(2026, 3, 4, 0, tzinfo=UTC)


def channel(name, when=WhenQuiet.CALLS, **more):
    return Channel(name, "json://127.0.0.1:9/", when_quiet=when, **more)


def letter(urgency, to="phone"):
    return Letter(to, "t", "text", 0.0, NOON, ("a",), urgency)


@pytest.mark.parametrize(
    ("span", "at", "covered"),
    [
        ("22:00-07:00", "21:59", False), ("22:00-07:00", "22:00", True), ("22:00-07:00", "00:00", True),
        ("22:00-07:00", "06:59", True), ("22:00-07:00", "07:00", False), ("12:30-14:00", "13:00", True),
        ("12:30-14:00", "14:00", False), ("12:30-14:00", "00:00", False),
    ],
)  # fmt: skip
def test_a_span_covers_its_beginning_and_not_its_end_also_over_midnight(span, at, covered):
    assert quiet_span(span).covers(time.fromisoformat(at)) is covered


@pytest.mark.parametrize("text", ["22-7", "24:00-07:00", "22:00", "07:00-07:00", "22:00-07:60"])
def test_what_is_no_span_is_refused(text):
    with pytest.raises(ValueError):
        quiet_span(text)


def test_no_span_means_no_quiet_hour():
    assert quiet_span("") is None
    assert not QuietHours(None, "UTC", [channel("phone")]).holds(letter(Urgency.QUIET), MIDNIGHT)


@pytest.mark.parametrize(
    ("when", "urgency", "held"),
    [
        (WhenQuiet.ALL, Urgency.QUIET, False), (WhenQuiet.ALL, Urgency.CALL, False),
        (WhenQuiet.CALLS, Urgency.QUIET, True), (WhenQuiet.CALLS, Urgency.CALL, False),
        (WhenQuiet.CALLS, Urgency.ALARM, False),
        (WhenQuiet.NOTHING, Urgency.QUIET, True), (WhenQuiet.NOTHING, Urgency.CALL, True),
        (WhenQuiet.NOTHING, Urgency.ALARM, True),
    ],
)  # fmt: skip
def test_each_channel_rests_as_it_is_set_while_another_one_rings(when, urgency, held):
    hours = QuietHours(NIGHT, "UTC", [channel("phone", when), channel("other")])
    assert hours.holds(letter(urgency), MIDNIGHT) is held
    assert not hours.holds(letter(urgency), NOON)


@pytest.mark.parametrize("urgency", [Urgency.CALL, Urgency.ALARM])
def test_where_every_channel_is_to_rest_a_call_rings_all_the_same(urgency):
    hours = QuietHours(NIGHT, "UTC", [channel("phone", WhenQuiet.NOTHING), channel("two", WhenQuiet.NOTHING)])
    assert not hours.holds(letter(urgency), MIDNIGHT)
    assert hours.holds(letter(Urgency.QUIET), MIDNIGHT)


def test_the_hours_are_those_of_the_clock_on_the_bench_s_wall_over_a_change_of_clocks():
    """Europe/Berlin: on 29 March 2026 at 01:00 UTC it is 03:00 after 02:00 (EU directive 2000/84/EC)."""
    hours = QuietHours(NIGHT, "Europe/Berlin", [channel("phone")])
    assert hours.quiet(datetime(2026, 3, 28, 5, 59, tzinfo=UTC)), "06:59 in winter"
    assert not hours.quiet(datetime(2026, 3, 28, 6, 0, tzinfo=UTC))
    assert hours.quiet(datetime(2026, 3, 29, 4, 59, tzinfo=UTC)), "06:59 in summer"
    assert not hours.quiet(datetime(2026, 3, 29, 5, 0, tzinfo=UTC))


def test_a_held_letter_leaves_when_the_quiet_hours_end_and_holds_up_no_call():
    outbox, now = MemoryOutbox(), [MIDNIGHT]
    with http_receiver() as receiver:
        channels = [Channel("phone", receiver.url)]
        senders, hours = Senders(channels), QuietHours(NIGHT, "UTC", channels)
        outbox.put([letter(Urgency.QUIET), letter(Urgency.ALARM)])

        def all_that_may() -> int:
            sent = 0
            while deliver_one(
                outbox, senders, "phone", lambda: 9.0, None, lambda one: hours.holds(one, now[0])
            ):
                sent += 1
            return sent

        assert all_that_may() == 1
        now[0] += timedelta(hours=6, minutes=59)
        assert all_that_may() == 0
        now[0] += timedelta(minutes=1)
        assert all_that_may() == 1
        assert len(receiver.got) == 2
