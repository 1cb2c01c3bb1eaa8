"""When a mould is called: soon, ready, late, each once; what silence and doubt do to a call."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench_looks import bench, look, names, no_frame, run, run_notices, say, tick

from models.tip import TipEstimate
from watcher.alerts.wording import sentence
from watcher.records.bench import Bench, Forecast
from watcher.records.notices import AlarmState, Kind, Notice, Why
from watcher.records.readings import Contents, Missed
from watcher.records.said import What


def casting(*, ready_s: float = 600.0, latest_s: float = 720.0) -> Bench:
    """A beaker filled at 50 s whose wall will be there at `ready_s`, as if its levels had said so."""
    present, _ = run(bench(), [look(4, contents=Contents.EMPTY), look(50, level_mm=2.5)])
    tip = TipEstimate(1.0, 0.9, 1.1, ready_s, ready_s - 40, ready_s + 40, latest_s=latest_s)
    state = present.moulds["beaker"]
    state = replace(state, cast=replace(state.cast, estimate=tip))
    return replace(present, moulds={**present.moulds, "beaker": state})


def ticks(first: int, last: int) -> list:
    return [tick(s) for s in range(first, last + 1)]


def raised(events: list, name: str) -> list[float]:
    return [e.at_s for e in events if e.event == name]


def test_soon_ready_and_late_are_called_once_each_at_their_moments() -> None:
    present, events = run(casting(), ticks(51, 1000))
    # a quarter of the 550 s from full to ready is 137.5 s: shorter than the four minutes asked for
    assert raised(events, "soon") == [463]
    assert raised(events, "ready") == [600]
    assert raised(events, "late") == [720]
    assert present.moulds["beaker"].cast.forecast is Forecast.LATE


def test_a_long_cast_is_called_soon_four_minutes_ahead() -> None:
    _, events = run(casting(ready_s=3050, latest_s=3600), ticks(51, 3060))
    assert raised(events, "soon") == [2810]


def test_an_estimate_that_wobbles_about_the_moment_calls_once() -> None:
    present, first = run(casting(), ticks(51, 605))
    state = present.moulds["beaker"]
    later = replace(state.cast.estimate, ready_s=640.0)
    state = replace(state, cast=replace(state.cast, estimate=later))
    present = replace(present, moulds={**present.moulds, "beaker": state})
    _, second = run(present, ticks(606, 700))
    assert len(raised(first + second, "ready")) == 1


def test_no_call_goes_out_while_the_mould_looks_tipped_already() -> None:
    present, _ = run(casting(), ticks(51, 590))
    present, events = run(present, [look(595, contents=Contents.AWAY), *ticks(596, 619)])
    assert raised(events, "ready") == []
    _, events = run(present, [look(620, contents=Contents.AWAY), *ticks(621, 800)])
    assert names(events) == ["tipped"]


def test_a_passing_arm_delays_a_call_but_does_not_swallow_it() -> None:
    present, _ = run(casting(), ticks(51, 590))
    arm = [look(595, contents=Contents.AWAY), *ticks(596, 624)]
    _, events = run(present, [*arm, look(625, contents=Contents.SLIP), *ticks(625, 700)])
    assert raised(events, "ready") == [625]
    assert raised(events, "tipped_unseen") == []


def asked_about(last_looks: list, until_s: int = 700) -> tuple[Bench, list]:
    """A beaker that looked tipped at 595 s, five seconds before it is due, and what was seen since."""
    present, _ = run(casting(), ticks(51, 590))
    return run(present, [look(595, contents=Contents.EMPTY), *last_looks, *ticks(596, until_s)])


@pytest.mark.parametrize(
    "since",
    [[no_frame(598)], [look(600, missed=Missed.HAND, hand=True)], []],
    ids=["the camera dies", "a hand stays", "no look comes"],
)
def test_a_mould_that_looked_tipped_when_last_seen_is_asked_about_at_its_time_not_called(since: list) -> None:
    present, events = asked_about(since)
    assert raised(events, "ready") == raised(events, "late") == []
    (asked_s,) = raised(events, "tipped_unseen")
    assert 600 < asked_s <= 640
    alert = next(a for a in present.alerts if a.kind is Kind.TIPPED_UNSEEN)
    assert alert.state is AlarmState.UNACKNOWLEDGED
    assert sentence(Notice(alert, Why.FIRST)).startswith("beaker: was it tipped?")


def test_the_question_is_asked_again_louder_until_somebody_answers() -> None:
    present, _ = run(casting(), ticks(51, 590))
    looks = [look(595, contents=Contents.EMPTY), no_frame(598)]
    present, told = run_notices(present, [*looks, *ticks(599, 900)])
    steps = [n.step for _, n in told if n.alert.kind is Kind.TIPPED_UNSEEN]
    assert steps == [0, 1]
    _, told = run_notices(present, [say(901, What.TIPPED), *ticks(901, 2000)])
    assert not [n for _, n in told if n.alert.mould]


def test_a_mould_asked_about_is_called_at_once_when_slip_is_seen_in_it_after_all() -> None:
    present, _ = asked_about([no_frame(598)])
    present, events = run(present, [look(701, contents=Contents.SLIP), *ticks(701, 705)])
    assert raised(events, "ready") == [701]
    states = {a.kind: a.state for a in present.alerts}
    assert states[Kind.TIPPED_UNSEEN] is AlarmState.NORMAL


def test_a_mould_asked_about_that_is_seen_empty_again_was_tipped_when_it_first_looked_so() -> None:
    present, _ = asked_about([no_frame(598)])
    present, events = run(present, [look(701, contents=Contents.EMPTY), *ticks(701, 1000)])
    assert names(events) == ["tipped"]
    assert present.moulds["beaker"].cast.tipped_s == 595
    assert {a.state for a in present.alerts if a.mould} == {AlarmState.NORMAL}


def test_a_hole_that_closes_while_the_mould_looks_tipped_is_asked_about_too() -> None:
    present = casting(ready_s=4000, latest_s=5000)
    state = present.moulds["beaker"]
    state = replace(state, cast=replace(state.cast, estimate=replace(state.cast.estimate, shut_s=1000.0)))
    present = replace(present, moulds={**present.moulds, "beaker": state})
    _, events = run(present, [look(60, contents=Contents.EMPTY), no_frame(61), *ticks(62, 1100)])
    assert raised(events, "hole_closing") == []
    assert raised(events, "tipped_unseen") == [700]


def test_a_mould_unseen_for_minutes_is_said_to_be_unseen_and_still_called() -> None:
    _, events = run(casting(), ticks(51, 620))
    assert raised(events, "blind") == [231]  # three minutes after the last reading at 50 s
    assert raised(events, "ready") == [600]


def test_a_level_out_of_sight_is_named_as_the_reason() -> None:
    present, _ = run(
        casting(), [look(60, missed=Missed.OUT_OF_SIGHT, contents=Contents.SLIP), *ticks(61, 300)]
    )
    blind = next(a for a in present.alerts if a.kind is Kind.BLIND)
    assert "out of sight" in blind.why


def test_a_tip_answers_the_call_for_it() -> None:
    present, _ = run(casting(), ticks(51, 610))
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert ready.state is AlarmState.UNACKNOWLEDGED
    present, _ = run(present, [say(612, What.TIPPED), tick(613)])
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert ready.state is AlarmState.NORMAL
    assert ready.acked_at is not None


def test_ready_takes_the_place_of_soon() -> None:
    present, _ = run(casting(), ticks(51, 610))
    states = {a.kind: a.state for a in present.alerts if a.mould == "beaker"}
    assert states[Kind.SOON] is AlarmState.NORMAL
    assert states[Kind.READY] is AlarmState.UNACKNOWLEDGED


def test_an_acknowledged_call_stays_acknowledged_and_listed() -> None:
    present, _ = run(casting(), [*ticks(51, 610), say(611, What.ACKNOWLEDGED), *ticks(612, 640)])
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert ready.state is AlarmState.ACKNOWLEDGED


def test_a_snoozed_call_comes_back_after_the_minutes_asked_for() -> None:
    present, _ = run(casting(latest_s=5000), [*ticks(51, 610), say(610, What.SNOOZED, value=2.0)])
    present, _ = run(present, ticks(611, 729))
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert ready.state is AlarmState.SHELVED
    present, _ = run(present, ticks(730, 731))
    ready = next(a for a in present.alerts if a.kind is Kind.READY)
    assert ready.state is AlarmState.UNACKNOWLEDGED


def test_a_mould_out_of_service_is_not_called() -> None:
    _, events = run(casting(), [say(60, What.OUT_OF_SERVICE), *ticks(61, 900)])
    assert raised(events, "ready") == []


def test_a_mould_without_a_target_is_watched_but_never_called() -> None:
    present = casting()
    state = present.moulds["beaker"]
    tip = replace(state.cast.estimate, ready_s=None, ready_low_s=None, ready_high_s=None, latest_s=None)
    state = replace(state, cast=replace(state.cast, estimate=tip))
    present = replace(present, moulds={**present.moulds, "beaker": state})
    _, events = run(present, ticks(51, 3000))
    assert not {"soon", "ready", "late"} & set(names(events))


def test_a_hole_that_will_be_shut_by_its_ring_is_told_five_minutes_ahead() -> None:
    present = casting(ready_s=4000, latest_s=5000)
    state = present.moulds["beaker"]
    state = replace(state, cast=replace(state.cast, estimate=replace(state.cast.estimate, shut_s=1000.0)))
    present = replace(present, moulds={**present.moulds, "beaker": state})
    _, events = run(present, ticks(51, 1100))
    assert raised(events, "hole_closing") == [700]


def test_alerts_that_are_over_are_let_go_after_a_day_and_never_raised_again() -> None:
    present, _ = run(casting(), [*ticks(51, 610), say(612, What.TIPPED), tick(613)])
    assert len(present.alerts) >= 2
    present, events = run(present, [tick(613 + 86_400), tick(613 + 86_401), tick(613 + 2 * 86_400)])
    assert present.alerts == ()
    assert raised(events, "ready") == []


@pytest.mark.parametrize(
    ("missed", "word"), [(Missed.COVERED, "lies over the pour hole"), (Missed.FROTHED, "froth")]
)
def test_what_hides_the_slip_is_named_as_the_reason(missed: Missed, word: str) -> None:
    present, _ = run(casting(), [look(60, missed=missed, contents=Contents.SLIP), *ticks(61, 300)])
    blind = next(a for a in present.alerts if a.kind is Kind.BLIND)
    assert word in blind.why
