"""A blind camera is one call, not one for each mould; and what else concerns the bench as a whole."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from bench_looks import at, bench, look, names, no_frame, run, run_notices, say, tick
from casting_bench import casting

from watcher.alerts.wording import sentence
from watcher.records.bench import CallRules
from watcher.records.notices import AlarmState, Kind, Why
from watcher.records.readings import Contents
from watcher.records.said import What


def two_casting():
    """Beaker and cream jug, both full since 50 s, both last read then."""
    return casting(
        ready_s=5000, latest_s=6000, mould="cream jug", present=casting(ready_s=3000, latest_s=4000)
    )


def blind_for(first, last):
    """Every five seconds a try that gives no picture, every second a tick."""
    for second in range(first, last):
        if second % 5 == 0:
            yield no_frame(second)
        yield tick(second)


def seeing(first, last, *moulds, level_mm=6.0):
    for second in range(first, last):
        if second % 5 == 0:
            for mould in moulds:
                yield look(second, level_mm=level_mm + second / 1000, mould=mould)
        yield tick(second)


EYES = (Kind.BLIND, Kind.CAMERA_BLIND)
TIPS = (Kind.SOON, Kind.READY, Kind.LATE)


def told(notices, kinds=tuple(Kind)):
    return [(round(at_s), n.alert.kind, n.why) for at_s, n in notices if n.alert.kind in kinds]


def state_of(present, kind, mould=""):
    return next(a.state for a in present.alerts if a.kind is kind and a.mould == mould)


def test_a_camera_that_is_gone_is_called_once_and_mutes_its_moulds():
    present, notices = run_notices(two_casting(), blind_for(51, 700))
    assert told(notices) == [(115, Kind.CAMERA_BLIND, Why.FIRST), (295, Kind.CAMERA_BLIND, Why.AGAIN),
                             (475, Kind.CAMERA_BLIND, Why.AGAIN)]  # fmt: skip
    assert state_of(present, Kind.BLIND, "beaker") is AlarmState.SUPPRESSED
    assert state_of(present, Kind.BLIND, "cream jug") is AlarmState.SUPPRESSED


def test_the_call_says_which_moulds_are_forecasts_from_when_on_and_when_they_are_due():
    present, notices = run_notices(replace(two_casting(), zone="Europe/Lisbon"), blind_for(700, 800))
    text = sentence(notices[0][1], present)
    # 50 s after 8:00 UTC is 8:00 in Lisbon in winter; 3000 s is 8:50, 5000 s is 9:23
    assert text == (
        "The camera cannot be used: the camera is unplugged. Forecasts only: beaker from 08:00 on"
        " (tip about 08:50); cream jug from 08:00 on (tip about 09:23)."
    )


def test_a_mould_is_still_called_by_forecast_while_the_camera_is_blind():
    _, notices = run_notices(casting(ready_s=600, latest_s=900), blind_for(51, 1000))
    kinds = [n.alert.kind for _, n in notices if n.why is Why.FIRST]
    assert kinds == [Kind.CAMERA_BLIND, Kind.SOON, Kind.READY, Kind.LATE]


def test_a_short_stall_or_a_flickering_plug_calls_nobody_or_once():
    _, notices = run_notices(two_casting(), [*blind_for(51, 100), *seeing(100, 200, "beaker", "cream jug")])
    assert told(notices, EYES) == []
    flicker = []
    for start in range(200, 700, 20):
        flicker += [*blind_for(start, start + 15), *seeing(start + 15, start + 20, "beaker", "cream jug")]
    _, notices = run_notices(two_casting(), flicker)
    assert [kind for _, kind, why in told(notices, EYES) if why is Why.FIRST] == [Kind.CAMERA_BLIND]


def test_when_it_sees_again_that_is_said_with_what_is_not_read_yet():
    present, _ = run_notices(two_casting(), blind_for(700, 1000))
    present, notices = run_notices(present, seeing(1000, 1300, "beaker"))
    assert told(notices, EYES)[0] == (1010, Kind.CAMERA_BLIND, Why.CLEARED)
    cleared = next(n for _, n in notices if n.why is Why.CLEARED)
    text = sentence(cleared, replace(present, now_s=1010.0))
    assert text == "The camera sees again; it had not since 08:12. Not read yet: cream jug."
    assert state_of(present, Kind.CAMERA_BLIND) is AlarmState.RETURNED_UNACKNOWLEDGED
    assert state_of(present, Kind.BLIND, "beaker") is AlarmState.NORMAL
    # the jug has not been read for three minutes since the camera came back: now it is called for itself
    assert (1180, Kind.BLIND, Why.FIRST) in told(notices)
    assert state_of(present, Kind.BLIND, "cream jug") is AlarmState.UNACKNOWLEDGED
    present, _ = run(present, [say(1301, What.ACKNOWLEDGED, mould="")])
    assert state_of(present, Kind.CAMERA_BLIND) is AlarmState.NORMAL


def test_a_camera_over_an_idle_bench_calls_nobody_until_something_is_poured():
    present, notices = run_notices(bench(), blind_for(1, 300))
    assert notices == []
    assert state_of(present, Kind.CAMERA_BLIND) is AlarmState.SUPPRESSED
    present, notices = run_notices(present, [say(301, What.FILLED), *blind_for(302, 310)])
    assert told(notices)[0][1:] == (Kind.CAMERA_BLIND, Why.FIRST)


def test_after_a_restart_a_blind_camera_is_not_called_anew_nor_said_to_see():
    present, _ = run_notices(two_casting(), blind_for(700, 800))
    again = replace(present, camera_why="", camera_bad_s=None, camera_well_s=None, last_frame_s=None)
    _, notices = run_notices(again, [tick(801), tick(802), *blind_for(803, 900)])
    assert notices == []


def test_a_mould_lost_again_long_after_it_was_seen_is_called_once_more_and_not_before():
    present, notices = run_notices(
        two_casting(), [*map(tick, range(51, 300)), *seeing(300, 400, "beaker", "cream jug")]
    )
    assert told(notices).count((231, Kind.BLIND, Why.FIRST)) == 2
    present, notices = run_notices(present, map(tick, range(400, 800)))
    assert told(notices, EYES) == [], "lost again within ten minutes: the page says so, nobody is called"
    present, notices = run_notices(present, [*map(tick, range(800, 900))])
    assert told(notices, EYES) == [(831, Kind.BLIND, Why.AGAIN)] * 2


def test_a_filling_disk_is_said_once_and_over_when_there_is_room():
    faults = {Kind.DISK_FILLING: "the disk fills up (400 MB free)"}
    present, notices = run_notices(replace(bench(), faults=faults), map(tick, range(1, 2000)))
    assert told(notices) == [(1, Kind.DISK_FILLING, Why.FIRST)]
    assert sentence(notices[0][1], present) == "The bench's computer: the disk fills up (400 MB free)."
    present, notices = run_notices(replace(present, faults={}), [tick(2000), tick(2001)])
    assert state_of(present, Kind.DISK_FILLING) is AlarmState.RETURNED_UNACKNOWLEDGED
    present, _ = run_notices(replace(present, faults=faults), [tick(3000)])
    assert len([a for a in present.alerts if a.kind is Kind.DISK_FILLING]) == 2, (
        "a second time is a second call"
    )


def test_in_the_silent_first_days_everything_is_raised_and_nobody_is_called():
    rules = CallRules(silent_until=at(700))
    present, notices = run_notices(replace(casting(), rules=rules), map(tick, range(51, 690)))
    assert notices == []
    assert state_of(present, Kind.READY, "beaker") is AlarmState.SUPPRESSED
    _, events = run(replace(casting(), rules=rules), map(tick, range(51, 690)))
    assert "ready" in names(events)
    present, notices = run_notices(present, map(tick, range(690, 1000)))
    # when calling begins, what still stands is called, and the louder calls count from then on
    assert told(notices, TIPS)[:2] == [(700, Kind.READY, Why.FIRST), (720, Kind.LATE, Why.FIRST)]
    assert [(round(at_s), n.step) for at_s, n in notices if n.why is Why.AGAIN] == [(900, 1)]


def test_a_mould_out_of_service_and_back_is_called_again_where_it_is_still_due():
    present, _ = run_notices(
        casting(latest_s=1e6), [*map(tick, range(51, 610)), say(610, What.OUT_OF_SERVICE)]
    )
    assert state_of(present, Kind.READY, "beaker") is AlarmState.OUT_OF_SERVICE
    present, notices = run_notices(
        present, [*map(tick, range(611, 2000)), say(2000, What.IN_SERVICE), tick(2001)]
    )
    assert [(n.alert.kind, n.why) for _, n in notices] == [
        (Kind.READY, Why.AGAIN),
    ]


def test_a_seen_tip_answers_every_call_of_its_mould():
    present, _ = run_notices(casting(latest_s=700), [*map(tick, range(51, 710))])
    assert state_of(present, Kind.LATE, "beaker") is AlarmState.UNACKNOWLEDGED
    gone = [look(s, contents=Contents.AWAY) for s in (710, 720)]
    present, notices = run_notices(present, [*gone, *map(tick, range(721, 3000))])
    assert notices == []
    mine = [a for a in present.alerts if a.mould == "beaker"]
    assert {a.state for a in mine} == {AlarmState.NORMAL}
    late = next(a for a in mine if a.kind is Kind.LATE)
    assert late.acked_at is not None and at(710) <= late.acked_at <= at(720) + timedelta(seconds=1)
