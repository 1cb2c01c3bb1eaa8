"""Whatever happens at the bench, `ready` is called once, then again until somebody answers; never after."""

from __future__ import annotations

from dataclasses import replace

from bench_looks import at, look, no_frame, run_notices, say, tick
from casting_bench import casting
from hypothesis import given, settings
from hypothesis import strategies as st

from watcher.alerts.escalation import LOUDER
from watcher.records.bench import CallRules
from watcher.records.notices import AlarmState, Kind, Why
from watcher.records.readings import Contents, Missed
from watcher.records.said import What

READY_S, LAST_S, STEP_S = 600, 1300, 10

MISHAPS = st.lists(
    st.tuples(
        st.sampled_from(
            ["camera", "hand", "unread", "snooze", "note", "heard soon", "other mould", "arm", "out"]
        ),
        st.integers(60, LAST_S),
        st.integers(1, 400),
    ),
    max_size=8,
)


def story(mishaps, *, tipped_s=None):
    """A tick every ten seconds; looks or failures as the mishaps have it."""
    for second in range(60, LAST_S, STEP_S):
        for kind, begins_s, lasts_s in mishaps:
            if not begins_s <= second < begins_s + lasts_s:
                continue
            begins = second - STEP_S < begins_s
            match kind:
                case "camera":
                    yield no_frame(second)
                case "hand":
                    yield look(second, missed=Missed.HAND, hand=True)
                case "unread":
                    yield look(second, contents=Contents.SLIP)
                case "arm" if begins:  # over the rim for three seconds: a second look would be a tip
                    yield look(second - 7, contents=Contents.AWAY)
                    yield tick(second - 5)
                    yield look(second - 4, contents=Contents.SLIP)
                case "snooze" if begins:
                    yield say(second, What.SNOOZED, value=1 + lasts_s / 60)
                case "note" if begins:
                    yield say(second, What.NOTE)
                case "heard soon" if begins and second < READY_S:
                    yield say(second, What.ACKNOWLEDGED)
                case "other mould" if begins:
                    yield say(second, What.ACKNOWLEDGED, mould="cream jug")
                case "out" if begins:
                    yield say(second, What.OUT_OF_SERVICE)
                    yield tick(second)
                    yield say(second, What.IN_SERVICE)
        if tipped_s is not None and second == tipped_s:
            yield say(second, What.TIPPED)
        yield tick(second)


@settings(max_examples=100)
@given(MISHAPS)
def test_ready_is_called_once_in_time_and_again_until_it_is_answered(mishaps):
    present, notices = run_notices(casting(latest_s=None), story(mishaps))
    ready = [(at_s, n) for at_s, n in notices if n.alert.kind is Kind.READY]
    first = [at_s for at_s, n in ready if n.why is Why.FIRST]
    assert len(first) == 1
    assert READY_S <= first[0] <= READY_S + 60, "a passing arm may hold it for forty seconds"
    state = next(a for a in present.alerts if a.kind is Kind.READY)
    if state.state is AlarmState.UNACKNOWLEDGED:
        # nobody has answered: the newest call is no older than the longest pause, the hold and a look
        assert LAST_S - max(at_s for at_s, _ in ready) <= (4 + 3) * 60 + 2 * STEP_S
    assert state.state is not AlarmState.NORMAL


@settings(max_examples=60)
@given(MISHAPS, st.integers(READY_S // STEP_S + 1, LAST_S // STEP_S - 1))
def test_nobody_is_called_about_a_mould_that_was_tipped(mishaps, tens):
    tipped_s = STEP_S * tens
    present, notices = run_notices(casting(latest_s=900), story(mishaps, tipped_s=tipped_s))
    assert [n for at_s, n in notices if n.alert.mould == "beaker" and at_s > tipped_s] == []
    assert {a.state for a in present.alerts if a.mould == "beaker"} == {AlarmState.NORMAL}


@settings(max_examples=60)
@given(MISHAPS)
def test_in_the_silent_days_nobody_is_called_whatever_happens(mishaps):
    present = replace(casting(), rules=CallRules(silent_until=at(LAST_S + 10)))
    _, notices = run_notices(present, story(mishaps))
    assert notices == []


@settings(max_examples=60)
@given(MISHAPS)
def test_no_alarm_is_louder_than_it_may_be_nor_raised_twice(mishaps):
    present, notices = run_notices(casting(latest_s=900), story(mishaps))
    firsts = [n.alert.alert_id for _, n in notices if n.why is Why.FIRST and n.alert.kind is not Kind.BLIND]
    assert len(firsts) == len(set(firsts))
    assert all(n.step == 0 or n.alert.kind in LOUDER for _, n in notices)
    assert len({a.alert_id for a in present.alerts}) == len(present.alerts)
