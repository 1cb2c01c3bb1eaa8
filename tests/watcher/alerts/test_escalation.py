"""Nobody answers: the call comes again, louder, at the times set, and waits a little while for hands."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench_looks import look, run_notices, say, tick
from casting_bench import casting

from watcher.alerts.escalation import due_at_min, step_at
from watcher.records.bench import CallRules
from watcher.records.notices import AlarmState, Kind, Why
from watcher.records.readings import Missed
from watcher.records.said import What

AGAIN = (3.0, 6.0, 10.0)


def ready_calls(notices):
    return [(at_s, n.why, n.step) for at_s, n in notices if n.alert.kind is Kind.READY]


def never_late(**given):
    return casting(latest_s=1e6, **given)


def test_a_call_that_nobody_answers_comes_again_at_each_step():
    _, notices = run_notices(never_late(), [tick(s) for s in range(51, 1300)])
    assert ready_calls(notices) == [
        (600.0, Why.FIRST, 0),
        (780.0, Why.AGAIN, 1),
        (960.0, Why.AGAIN, 2),
        (1200.0, Why.AGAIN, 3),
    ]


def test_after_the_last_step_it_goes_on_at_the_last_pause_for_an_hour_then_hourly():
    assert [step_at(minutes, AGAIN) for minutes in (0, 2.9, 3, 6, 9.9, 10, 14, 18)] == [
        0,
        0,
        1,
        2,
        2,
        3,
        4,
        5,
    ]
    in_a_night = step_at(8 * 60.0, AGAIN)
    assert in_a_night == 3 + 15 + 6, (
        "15 pauses of four minutes fit into the hour, then seven hours less ten min"
    )
    for step in range(1, in_a_night + 1):
        assert step_at(due_at_min(step, AGAIN), AGAIN) == step
        assert step_at(due_at_min(step, AGAIN) - 1e-6, AGAIN) == step - 1


def test_without_steps_there_is_one_call():
    assert step_at(1e4, ()) == 0


@pytest.mark.parametrize("what", [What.ACKNOWLEDGED, What.TIPPED])
def test_an_answer_ends_it(what):
    _, notices = run_notices(
        never_late(), [*map(tick, range(51, 700)), say(700, what), *map(tick, range(701, 2000))]
    )
    assert ready_calls(notices) == [(600.0, Why.FIRST, 0)]


def test_after_not_yet_the_steps_count_from_when_it_called_anew():
    _, notices = run_notices(
        never_late(),
        [*map(tick, range(51, 650)), say(650, What.SNOOZED, value=5), *map(tick, range(651, 1200))],
    )
    assert ready_calls(notices) == [(600.0, Why.FIRST, 0), (950.0, Why.AGAIN, 0), (1130.0, Why.AGAIN, 1)]


def hands(first, last):
    """Every second a tick; every ten seconds a look in which a hand covers the pour hole."""
    for second in range(first, last):
        if second % 10 == 0:
            yield look(second, missed=Missed.HAND, hand=True)
        yield tick(second)


def test_hands_at_the_bench_hold_a_louder_call_back_for_three_minutes_at_most():
    _, notices = run_notices(never_late(), [*map(tick, range(51, 700)), *hands(700, 1200)])
    assert ready_calls(notices)[:2] == [(600.0, Why.FIRST, 0), (960.0, Why.AGAIN, 2)]
    # the first step was due at 780 s; when its hold is over, the second is due and is called in its place


def test_hands_that_leave_let_the_call_come_at_once():
    _, notices = run_notices(
        never_late(), [*map(tick, range(51, 700)), *hands(700, 800), *map(tick, range(800, 960))]
    )
    again = ready_calls(notices)[1]
    assert 790 + 40 < again[0] <= 832
    assert again[1:] == (Why.AGAIN, 1)


def test_a_first_call_is_never_held_back():
    _, notices = run_notices(never_late(), [*hands(51, 650)])
    assert ready_calls(notices) == [(600.0, Why.FIRST, 0)]


def test_late_goes_on_from_the_step_that_ready_had_come_to():
    _, notices = run_notices(casting(latest_s=1000), [*map(tick, range(51, 1700))])
    late = [(at_s, n.why, n.step) for at_s, n in notices if n.alert.kind is Kind.LATE]
    assert late == [(1000.0, Why.FIRST, 2), (1600.0, Why.AGAIN, 3)]
    assert ready_calls(notices)[-1] == (960.0, Why.AGAIN, 2)


def test_soon_is_said_once():
    present = never_late()
    present = replace(present, rules=CallRules(again_min=(0.5,)))
    _, notices = run_notices(present, [tick(s) for s in range(51, 600)])
    assert [n.why for _, n in notices if n.alert.kind is Kind.SOON] == [Why.FIRST]


def test_a_step_is_not_called_twice_after_a_restart():
    present, _ = run_notices(never_late(), [tick(s) for s in range(51, 800)])
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert (ready.state, ready.step) == (AlarmState.UNACKNOWLEDGED, 1)
    _, notices = run_notices(replace(present, now_s=0.0), [tick(s) for s in range(800, 959)])
    assert notices == []
