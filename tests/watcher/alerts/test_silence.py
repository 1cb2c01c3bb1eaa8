"""A bench that falls silent is called about once, by its own call, with what is known of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import MappingProxyType

from bench_looks import bench, run_notices, tick

from watcher.alerts.silence import is_missed, silence_id, what_is_known
from watcher.alerts.wording import sentence
from watcher.records.notices import AlarmState, Kind, Why
from watcher.records.others import OtherBench, OtherMould

HEARD = datetime(2026, 3, 5, 13, 2, tzinfo=UTC)
ZONE = "Europe/Berlin"  # an hour ahead of UTC in March
JUG = OtherMould("the jug", "casting", True, HEARD, 1.8, HEARD + timedelta(minutes=29))
BEAKER = OtherMould("beaker", "casting", True, HEARD, 1.2, HEARD + timedelta(minutes=3))
EMPTY = OtherMould("planter", "empty", False)
BENCH_2 = OtherBench("Bench 2", "", 300.0, HEARD, (JUG, EMPTY))
CALL = "Bench 2/bench_silent/20260305T130200Z"


def test_the_call_says_when_it_was_heard_and_what_was_to_be_ready_when():
    assert what_is_known(BENCH_2, ZONE) == (
        "Bench 2 was last heard at 14:02; the jug there was to be ready at 14:31"
    )
    both = replace(BENCH_2, moulds=(JUG, BEAKER, EMPTY))
    assert what_is_known(both, ZONE).endswith("there were to be ready: beaker 14:05, the jug 14:31")
    unsure = replace(BENCH_2, moulds=(replace(JUG, ready_at=None),))
    assert what_is_known(unsure, ZONE).endswith("the jug is cast there, for when was not known yet")
    assert what_is_known(replace(BENCH_2, gone=True), ZONE).startswith("Bench 2 was shut down at 14:02;")


def test_an_empty_bench_is_missed_in_its_own_hours_alone_and_not_once_it_was_shut_down():
    assert is_missed(BENCH_2, HEARD)
    assert is_missed(replace(BENCH_2, gone=True), HEARD), "slip stands there all the same"
    empty = replace(BENCH_2, moulds=(EMPTY,), zone=ZONE)
    assert not is_missed(empty, HEARD)
    working = replace(empty, hours="08:00-18:00")
    assert is_missed(working, HEARD)
    assert is_missed(working, datetime(2026, 3, 5, 16, 59, tzinfo=UTC))
    assert not is_missed(working, datetime(2026, 3, 5, 17, 1, tzinfo=UTC)), "18:01 in Berlin"
    assert not is_missed(replace(working, gone=True), HEARD)


def known(present, silences):
    return replace(present, silences=None if silences is None else MappingProxyType(silences))


def calls(notices):
    return [(n.alert.alert_id, n.why) for _, n in notices if n.alert.kind is Kind.BENCH_SILENT]


def test_each_silent_bench_is_one_call_that_is_settled_when_it_is_heard_again():
    why = what_is_known(BENCH_2, ZONE)
    other = silence_id(replace(BENCH_2, bench_id="Bench 3"))
    present = known(bench(), {CALL: why, other: "Bench 3 was last heard at 14:02; nothing was cast there"})
    present, notices = run_notices(present, [tick(second) for second in range(1, 100)])
    assert sorted(calls(notices)) == [(CALL, Why.FIRST), (other, Why.FIRST)]
    assert sentence(notices[0][1], present) == why + "."
    present, notices = run_notices(known(present, None), [tick(100)])
    assert calls(notices) == [], "after a restart nothing is known yet, so nothing is over"
    present, notices = run_notices(known(present, {other: "still"}), [tick(101)])
    assert calls(notices) == [(CALL, Why.CLEARED)]
    assert sentence(notices[0][1], present) == "Bench 2 is heard again."
    states = {alert.alert_id: alert.state for alert in present.alerts}
    assert states == {CALL: AlarmState.RETURNED_UNACKNOWLEDGED, other: AlarmState.UNACKNOWLEDGED}


def test_a_silent_bench_is_called_again_louder_until_somebody_answers():
    present = known(bench(), {CALL: "it is silent"})
    _, notices = run_notices(present, [tick(second) for second in range(1, 400)])
    assert calls(notices) == [(CALL, Why.FIRST), (CALL, Why.AGAIN), (CALL, Why.AGAIN)]
