"""Judge the whole bench at one moment: what is raised, what is over, who is to be told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from watcher.alerts import answers, bench_wide
from watcher.alerts.escalation import louder
from watcher.alerts.rules import RANK, Watched, judge, top_up_id
from watcher.alerts.states import Happening, after
from watcher.records.bench import Bench, BenchEvent, Forecast, MouldState, Stage
from watcher.records.notices import AlarmState, Alert, Kind, Notice, Why

LISTED_S = 86_400.0
"""An alert that is over stays listed for a day. [s]"""

LOST_AGAIN_S = 600.0
"""A mould that was seen again and is lost again is called anew only so long after the first time. [s]"""

TOGETHER_S = 45.0
"""A louder call takes along those that would follow within this time: a class gets one, not ten. [s]"""

_BACK = {Kind.CAMERA_BLIND: "seen_again", Kind.BENCH_SILENT: "heard_again"}
"""What whoever was called is told as well once it is over, and what has then happened."""

OVER = (AlarmState.NORMAL, AlarmState.RETURNED_UNACKNOWLEDGED)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The bench after it was judged, what happened to it, and what is to be told."""

    bench: Bench
    events: tuple[BenchEvent, ...] = ()
    to_send: tuple[Notice, ...] = ()


def judge_bench(bench: Bench, now_s: float, now_at: datetime) -> Verdict:
    """Judge every mould and the bench as a whole; raise each alert once, settle those that are over."""
    bench = bench_wide.noted(bench, now_s)
    states: dict[str, MouldState] = {}
    raised: list[Alert] = []
    for name, state in bench.moulds.items():
        watched = Watched(state, bench.layout.mould(name).profile, bench.slip.specific_gravity)
        judged = judge(watched, now_s, now_at, bench.rules)
        states[name] = judged.state
        raised.extend(judged.raised)
    raised.extend(bench_wide.raised(bench, now_s, now_at))
    bench = replace(bench, moulds=MappingProxyType(states), now_s=now_s, now_at=now_at)
    alerts, new, again = merge(bench.alerts, tuple(raised), now_s, now_at)
    settled = tuple(_settled(alert, bench, states, now_at) for alert in alerts)
    cleared = tuple(
        now for was, now in zip(alerts, settled, strict=True) if was is not now and _is_cleared(was, now)
    )
    alerts, woken = answers.wake(settled, now_s)
    alerts, unmuted = _muted(alerts, bench, frozenset(a.alert_id for a in new))
    alerts, called = _louder(alerts, bench, now_s)
    events = [BenchEvent(a.mould, a.kind.value, now_s, now_at, a.why) for a in (*new, *again)]
    events += [BenchEvent("", _BACK[a.kind], now_s, now_at) for a in cleared]
    by_id = {alert.alert_id: alert for alert in alerts}
    heard = {alert.alert_id for alert in alerts if alert.state is AlarmState.UNACKNOWLEDGED}
    first = [by_id[a.alert_id] for a in new if a.alert_id in heard]
    repeated = [a for a in (*woken, *again) if a.alert_id in heard]
    notices = (
        *(Notice(a, Why.FIRST, a.step) for a in first),
        *unmuted,
        *(Notice(a, Why.AGAIN, a.step) for a in (*repeated, *called)),
        *(Notice(a, Why.CLEARED) for a in cleared),
    )
    return Verdict(replace(bench, alerts=alerts), tuple(events), notices)


def merge(
    alerts: tuple[Alert, ...], raised: tuple[Alert, ...], now_s: float, now_at: datetime
) -> tuple[tuple[Alert, ...], tuple[Alert, ...], tuple[Alert, ...]]:
    """Add alerts that are not there yet, let go of old ones that are over.

    Returns
    -------
    tuple
        All alerts; the new ones; those of moulds that were seen again and are lost anew.
    """
    known = {alert.alert_id: alert for alert in alerts}
    wide = {alert.kind for alert in alerts if not alert.mould and alert.state not in OVER}
    new: list[Alert] = []
    again: dict[str, Alert] = {}
    for alert in raised:
        before = known.get(alert.alert_id)
        if before is not None:
            if _lost_again(before, now_s):
                state = after(before.state, Happening.OCCURRED, standing=True)
                again[alert.alert_id] = replace(alert, state=state, at_s=now_s, at=now_at)
        elif alert.mould or alert.kind is Kind.BENCH_SILENT or alert.kind not in wide:
            new.append(_after_the_call_before(alert, alerts))
    kept = tuple(again.get(alert.alert_id, alert) for alert in alerts if not _gone(alert, now_s))
    if len(kept) == len(alerts) and not new and not again:
        return alerts, (), ()
    return (*kept, *new), tuple(new), tuple(again.values())


def _after_the_call_before(alert: Alert, alerts: tuple[Alert, ...]) -> Alert:
    """Let `late` go on from the step to which `ready` was called without an answer."""
    if alert.kind is not Kind.LATE:
        return alert
    steps = [
        before.step
        for before in alerts
        if before.cast_id == alert.cast_id
        and before.kind is Kind.READY
        and before.state is AlarmState.UNACKNOWLEDGED
    ]
    return replace(alert, step=max(steps, default=0))


def _lost_again(alert: Alert, now_s: float) -> bool:
    return alert.kind is Kind.BLIND and alert.state in OVER and now_s - alert.at_s >= LOST_AGAIN_S


def _gone(alert: Alert, now_s: float) -> bool:
    return alert.state in OVER and now_s - alert.at_s > LISTED_S


def _is_cleared(was: Alert, now: Alert) -> bool:
    """Tell whether somebody who was called because of camera or other bench may hear that it is over."""
    told = was.state in (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)
    return was.kind in _BACK and told and now.state in OVER


def _settled(alert: Alert, bench: Bench, states: Mapping[str, MouldState], now_at: datetime) -> Alert:
    """Bring one alert in line with what stands now."""
    if alert.state is AlarmState.NORMAL:
        return alert
    if not alert.mould:
        return alert if bench_wide.stands(bench, alert) else _passed(alert)
    state = states.get(alert.mould)
    cast = state.cast if state is not None else None
    if (
        state is None
        or cast is None
        or cast.cast_id != alert.cast_id
        or state.stage not in (Stage.CASTING, Stage.FILLING)
    ):
        return _answered(alert, now_at)
    if alert.kind is Kind.TOP_UP and alert.alert_id != top_up_id(cast):
        return _answered(alert, now_at)
    if alert.kind is Kind.TIPPED_UNSEEN and state.doubt_since_s is None:
        return _answered(alert, now_at)  # slip was seen in it after all
    overtaken = (
        alert.kind in (Kind.SOON, Kind.READY) and RANK[cast.forecast] > RANK[Forecast(alert.kind.value)]
    )
    back = alert.kind is Kind.BLIND and state.last_read_s is not None and state.last_read_s > alert.at_s
    return replace(alert, state=AlarmState.NORMAL) if overtaken or back else alert


def _passed(alert: Alert) -> Alert:
    """Return an alert whose cause has passed by itself."""
    return replace(alert, state=_after_its_cause(alert.state))


def _answered(alert: Alert, now_at: datetime) -> Alert:
    """Return an alert that a deed has answered: the tip or the top-up that it asked for, seen or said."""
    waited = alert.state in (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED_UNACKNOWLEDGED)
    state = after(alert.state, Happening.ACKNOWLEDGED, standing=True)
    return replace(
        alert,
        state=_after_its_cause(state),
        acked_at=now_at if waited and not alert.acked_at else alert.acked_at,
    )


def _after_its_cause(state: AlarmState) -> AlarmState:
    """Return the state once the cause has passed; an alert that was put off or muted is over with it."""
    for end in (Happening.UNSHELVED, Happening.UNMUTED, Happening.PUT_BACK):
        state = after(state, end, standing=False)
    return after(state, Happening.RETURNED, standing=False)


def _muted(
    alerts: tuple[Alert, ...], bench: Bench, new: frozenset[str]
) -> tuple[tuple[Alert, ...], tuple[Notice, ...]]:
    """Mute what has a cause that calls already, and give back its voice where the cause alone has passed.

    The moment in `shelved_until_s` tells one that somebody was called for from one that nobody heard of yet.
    """
    unmuted: list[Notice] = []
    found: list[Alert] = []
    now_s = bench.now_s
    for alert in alerts:
        mute = bench_wide.mutes(bench, alert)
        if alert.state is AlarmState.UNACKNOWLEDGED and mute:
            told_s = alert.shelved_until_s if alert.alert_id in new else now_s
            state = after(alert.state, Happening.MUTED, standing=True)
            alert = replace(alert, state=state, shelved_until_s=told_s)
        elif alert.state is AlarmState.SUPPRESSED and not mute:
            why = Why.FIRST if alert.shelved_until_s is None else Why.AGAIN
            state = after(alert.state, Happening.UNMUTED, standing=True)
            alert = replace(alert, state=state, shelved_until_s=now_s)
            unmuted.append(Notice(alert, why, alert.step))
        found.append(alert)
    return tuple(found), tuple(unmuted)


def _louder(
    alerts: tuple[Alert, ...], bench: Bench, now_s: float
) -> tuple[tuple[Alert, ...], tuple[Alert, ...]]:
    """Raise the step of every alert that nobody has answered for too long, those just before it with it."""
    if not any(louder(alert, bench, now_s) for alert in alerts):
        return alerts, ()
    soon_s = now_s + TOGETHER_S
    called = {alert.alert_id: up for alert in alerts if (up := louder(alert, bench, soon_s)) is not None}
    return tuple(called.get(alert.alert_id, alert) for alert in alerts), tuple(called.values())
