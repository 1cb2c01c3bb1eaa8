"""From the bench to real receivers: who is called at which step, at night, and after a restart."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from bench_looks import at, run_notices, say, tick
from casting_bench import casting
from receivers import Receiver, http_receiver

from watcher.alerts.channels import Channel, WhenQuiet
from watcher.alerts.postman import Postman
from watcher.alerts.quiet import QuietHours, quiet_span
from watcher.alerts.senders import Senders
from watcher.clock import ToldClock
from watcher.pipeline import advance
from watcher.records.bench import Bench
from watcher.records.notices import AlarmState, Kind
from watcher.records.said import Said, What
from watcher.service.clerk import Clerk
from watcher.storage.journal import open_journal


class Service:
    """All between the bench's thinking and the phones, on a told clock."""

    def __init__(self, folder: Path, channels: list[Channel], quiet: str, present: Bench, shift: timedelta):
        self.journal = open_journal(f"sqlite:///{folder / 'journal.db'}", present.bench_id)
        self.clock = ToldClock(present.now_s, at(present.now_s))
        senders = Senders(channels)
        self.hours = QuietHours(quiet_span(quiet), "UTC", channels)
        self.shift = shift
        self.postman = Postman(
            self.journal.outbox,
            senders,
            self.clock.now_s,
            None,
            lambda letter: self.hours.holds(letter, self.clock.now_at()),
        )
        self.clerk = Clerk(self.journal, senders, self.postman, self.hours)
        self.present = present

    def go(self, inputs) -> None:
        for given in inputs:
            moment = (
                replace(given, at=given.at + self.shift)
                if isinstance(given, Said)
                else replace(given, now_at=given.now_at + self.shift)
            )
            step = advance(self.present, moment)
            self.present = step.bench
            assert self.present.now_at is not None
            self.clock.tell(self.present.now_s, self.present.now_at)
            self.clerk(step, given if isinstance(given, Said) else None)
            if step.to_send:
                self.settle()

    def settle(self) -> None:
        """Wait until all that may leave now has left."""
        self.journal.write(lambda connection: None)
        until = time.monotonic() + 10.0
        while time.monotonic() < until:
            free = [
                post for post in self.journal.outbox.waiting()
                if not self.hours.holds(post.letter, self.clock.now_at())
            ]  # fmt: skip
            if not free:
                return
            self.postman.ring()
            time.sleep(0.01)
        raise AssertionError("the post does not leave")

    def close(self) -> None:
        self.postman.close()
        self.journal.close()


@contextmanager
def served(
    folder: Path, present: Bench, *whens: tuple[int, WhenQuiet], quiet: str = "", hours: float = 0.0
) -> Iterator[tuple[Service, list[Receiver]]]:
    """One channel and receiver for each (first step, what it does when it is quiet)."""
    with ExitStack() as stack:
        phones = [stack.enter_context(http_receiver()) for _ in whens]
        channels = [
            Channel(f"phone {number}", phone.url, from_step=step, when_quiet=when)
            for number, (phone, (step, when)) in enumerate(zip(phones, whens, strict=True))
        ]
        service = Service(folder, channels, quiet, present, timedelta(hours=hours))
        try:
            yield service, phones
        finally:
            service.close()


def titles(phone: Receiver) -> list[str]:
    return [got["title"] for got in phone.got]


def test_the_second_person_is_called_only_when_the_first_has_not_answered(tmp_path: Path) -> None:
    ways = ((0, WhenQuiet.CALLS), (1, WhenQuiet.CALLS), (2, WhenQuiet.CALLS))
    with served(tmp_path, casting(latest_s=1e6), *ways) as (service, phones):
        service.go(tick(s) for s in range(598, 985))
    ready = [[title for title in titles(phone) if title == "beaker: ready"] for phone in phones]
    assert [len(some) for some in ready] == [3, 2, 1]


def test_an_answer_in_between_spares_the_second_person(tmp_path: Path) -> None:
    ways = ((0, WhenQuiet.CALLS), (1, WhenQuiet.CALLS))
    with served(tmp_path, casting(latest_s=1e6), *ways) as (service, phones):
        service.go([*map(tick, range(598, 700)), say(700, What.ACKNOWLEDGED), *map(tick, range(701, 1000))])
    assert phones[1].got == []


NIGHT = {"quiet": "22:00-07:00", "hours": 16.0}  # the bench's 08:00 becomes midnight


def test_at_night_ready_rings_and_soon_waits_and_is_dropped_when_it_is_over(tmp_path: Path) -> None:
    with served(tmp_path, casting(latest_s=1e6), (0, WhenQuiet.CALLS), **NIGHT) as (service, phones):
        service.go(map(tick, range(460, 610)))
        service.go([say(620, What.TIPPED), tick(621)])
        service.clock.tell(9 * 3600.0, at(9 * 3600.0) + timedelta(hours=16))
        service.settle()
    # unseen for minutes is good to know, and still stood; soon was overtaken
    assert titles(phones[0]) == ["beaker: ready"]


@pytest.mark.parametrize(
    ("ways", "rings"),
    [
        # the one that rests gives its place to the one that would be called later
        (((0, WhenQuiet.NOTHING), (2, WhenQuiet.CALLS)), [0, 1]),
        # both of the first step: the one that does not rest is enough
        (((0, WhenQuiet.NOTHING), (0, WhenQuiet.CALLS), (1, WhenQuiet.CALLS)), [0, 1, 0]),
        # nobody else is there: it rings after all
        (((0, WhenQuiet.NOTHING),), [1]),
        (((0, WhenQuiet.NOTHING), (1, WhenQuiet.NOTHING)), [1, 0]),
    ],
)
def test_an_alarm_that_must_be_heard_is_never_lost_to_the_night(
    tmp_path: Path, ways: tuple[tuple[int, WhenQuiet], ...], rings: list[int]
) -> None:
    with served(tmp_path, casting(latest_s=1e6), *ways, **NIGHT) as (service, phones):
        service.go(map(tick, range(598, 604)))
        assert [titles(phone).count("beaker: ready") for phone in phones] == rings


def test_a_restart_calls_nobody_twice_for_what_was_announced_or_raised(tmp_path: Path) -> None:
    present = casting(ready_s=640, latest_s=1e6, mould="cream jug", present=casting(latest_s=1e6))
    with served(tmp_path, present, (0, WhenQuiet.CALLS)) as (service, phones):
        service.go(map(tick, range(598, 620)))
        left = service.present
        ready = [got["message"] for got in phones[0].got if "tip now" in got["message"]]
        assert ready == ["1 beaker: tip now, wall about 1.0 mm.\n2 cream jug: tip at 08:10."]
    with served(tmp_path, left, (0, WhenQuiet.CALLS)) as (service, phones):
        restored = service.journal.restore()
        assert {a.kind for a in restored.alerts if a.state is AlarmState.UNACKNOWLEDGED} >= {Kind.READY}
        service.present = replace(left, alerts=restored.alerts)
        service.go(map(tick, range(620, 700)))
        assert [got["message"] for got in phones[0].got if "tip now" in got["message"]] == []
        service.go(map(tick, range(700, 790)))
        # nobody has answered: both are asked for again in one message
        assert [got["message"].splitlines() for got in phones[0].got if "Again" in got["message"]] == [
            [
                "1 Again: beaker: tip now, wall about 1.0 mm.",
                "2 Again: cream jug: tip now, wall about 1.0 mm.",
            ]
        ]


def test_a_letter_about_moulds_that_were_all_tipped_meanwhile_does_not_leave_any_more(tmp_path: Path) -> None:
    present = casting(ready_s=640, latest_s=1e6, mould="cream jug", present=casting(latest_s=1e6))
    with served(tmp_path, present, (0, WhenQuiet.CALLS)) as (service, phones):
        phones[0].status = 503  # out of reach just now
        # what was decided is written, but no letter leaves
        service.settle = lambda: service.journal.write(lambda connection: None)
        service.go([*map(tick, range(598, 610)), say(610, What.TIPPED)])
        both = [post.letter for post in service.journal.outbox.waiting() if "tip now" in post.letter.text]
        assert len(both) == 1, "the jug is still to come"
        service.go([say(611, What.TIPPED, mould="cream jug"), tick(612)])
        until = time.monotonic() + 5.0
        while service.journal.outbox.waiting() and time.monotonic() < until:
            service.go([tick(613)])
            time.sleep(0.05)
        assert service.journal.outbox.waiting() == ()


def test_the_step_of_a_call_outlives_a_restart(tmp_path: Path) -> None:
    with served(tmp_path, casting(latest_s=1e6), (0, WhenQuiet.CALLS)) as (service, _):
        service.go(map(tick, range(598, 790)))
        left = service.present
    with served(tmp_path, left, (0, WhenQuiet.CALLS)) as (service, _):
        ready = next(a for a in service.journal.restore().alerts if a.kind is Kind.READY)
        assert ready.step == 1
    assert ready == next(a for a in left.alerts if a.kind is Kind.READY)


def test_a_call_leaves_as_soon_as_it_is_written_not_at_the_postmans_next_round(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("watcher.alerts.postman._LOOK_AGAIN_S", 300.0)
    with served(tmp_path, casting(latest_s=1e6), (0, WhenQuiet.CALLS)) as (service, phones):
        for second in range(598, 602):
            step = advance(service.present, tick(second))
            service.present = step.bench
            service.clerk(step, None)
        assert phones[0].arrived.wait(30.0), "the call lay there until somebody rang"


def test_the_story_needs_no_channel(tmp_path: Path) -> None:
    with served(tmp_path, casting()) as (service, _):
        service.go(map(tick, range(598, 800)))
        assert {a.kind for a in service.present.alerts} >= {Kind.READY, Kind.LATE}
    assert run_notices(casting(), map(tick, range(598, 800)))[1]
