"""When a mould must be called: the forecast of each cast, and the alerts that follow from it.

Everything is worked out from facts and the moment. An alert is raised once for one cast: its id is the cast
and the kind, so a wobbling estimate, a restart or a replay cannot raise it twice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from models.tip import TipEstimate
from watcher.records.bench import BenchEvent, CallRules, Cast, Forecast, MouldState, Stage
from watcher.records.notices import AlarmState, Alert, Kind
from watcher.records.readings import Missed

DOUBT_HOLDS_S = 40.0
"""A call is held back this long while the mould looks tipped already and a second look is awaited. [s]"""

LISTED_S = 86_400.0
"""An alert that is over stays listed for a day. [s]"""

CLOSING_AHEAD_S = 300.0
"""A hole about to be shut by its ring of clay is told so long ahead: time to come and tip it. [s]"""

CLOSING_WHY = "the ring of clay will soon close the pour hole: tip while the slip still runs"

RANK = {Forecast.NONE: 0, Forecast.SOON: 1, Forecast.READY: 2, Forecast.LATE: 3}


@dataclass(frozen=True, slots=True)
class Judged:
    """One mould judged at one moment: its new state, what was raised, what happened."""

    state: MouldState
    raised: tuple[Alert, ...] = ()
    events: tuple[BenchEvent, ...] = ()


def forecast_at(cast: Cast, now_s: float, rules: CallRules) -> Forecast:
    """Tell how near the tip is. A step once taken is not taken back: a caster is not called twice.

    Soon: within `soon_min` of the tip, or the share `soon_share` of the cast's time for short casts.
    Ready: the wall wanted is there, more likely than not. Late: past the thick end of what is wanted.
    """
    tip = cast.estimate
    if not isinstance(tip, TipEstimate) or tip.ready_s is None:
        return cast.forecast
    whole_s = tip.ready_s - cast.fillings[0].latest_s
    soon_s = min(60.0 * rules.soon_min, rules.soon_share * max(whole_s, 0.0))
    due = Forecast.NONE
    if now_s >= tip.ready_s - soon_s:
        due = Forecast.SOON
    if now_s >= tip.ready_s:
        due = Forecast.READY
    called = cast.forecast in (Forecast.READY, Forecast.LATE)
    if called and tip.latest_s is not None and now_s >= tip.latest_s:
        due = Forecast.LATE
    return max(due, cast.forecast, key=RANK.__getitem__)


def judge(state: MouldState, now_s: float, now_at: datetime, rules: CallRules) -> Judged:
    """Judge one mould at one moment."""
    cast = state.cast
    if cast is None or state.stage is not Stage.CASTING or not state.in_service:
        return Judged(state)
    if state.doubt_since_s is not None and now_s - state.doubt_since_s < DOUBT_HOLDS_S:
        return Judged(state)
    raised: list[Alert] = []
    forecast = forecast_at(cast, now_s, rules)
    if forecast is not cast.forecast:
        raised.append(_alert(Kind(forecast.value), cast, now_s, now_at))
        state = replace(state, cast=replace(cast, forecast=forecast))
    if _blind(state, now_s, rules):
        raised.append(_alert(Kind.BLIND, cast, now_s, now_at, why=_blind_why(state)))
    if _closing(cast, now_s):
        raised.append(_alert(Kind.HOLE_CLOSING, cast, now_s, now_at, why=CLOSING_WHY))
    if cast.leaking:
        raised.append(
            _alert(
                Kind.LEAKING, cast, now_s, now_at, why="sinks faster than this mould drinks: check the seam"
            )
        )
    return Judged(state, tuple(raised))


def merge(
    alerts: tuple[Alert, ...], raised: tuple[Alert, ...], now_s: float
) -> tuple[tuple[Alert, ...], tuple[Alert, ...]]:
    """Add alerts that are not there yet, let go of old ones that are over; return all, and the new ones."""
    known = {alert.alert_id for alert in alerts}
    new = tuple(alert for alert in raised if alert.alert_id not in known)
    if not any(_gone(alert, now_s) for alert in alerts):
        return (*alerts, *new), new
    return (*(alert for alert in alerts if not _gone(alert, now_s)), *new), new


def _gone(alert: Alert, now_s: float) -> bool:
    return alert.state is AlarmState.NORMAL and now_s - alert.at_s > LISTED_S


def settle(alerts: tuple[Alert, ...], state: MouldState) -> tuple[Alert, ...]:
    """Bring alerts of one mould in line with its stage: a tip answers every call that asked for it.

    A call that was overtaken by the next (soon by ready, ready by late) returns to normal: one mould asks for
    one thing at a time.
    """
    return tuple(_settled(alert, state) if alert.mould == state.name else alert for alert in alerts)


def _settled(alert: Alert, state: MouldState) -> Alert:
    if alert.state in (AlarmState.NORMAL, AlarmState.OUT_OF_SERVICE):
        return alert
    cast = state.cast
    over = cast is None or cast.cast_id != alert.cast_id or state.stage is not Stage.CASTING
    overtaken = (
        cast is not None
        and alert.kind in (Kind.SOON, Kind.READY)
        and RANK[cast.forecast] > RANK[Forecast(alert.kind.value)]
    )
    back = alert.kind is Kind.BLIND and state.last_read_s is not None and state.last_read_s > alert.at_s
    return replace(alert, state=AlarmState.NORMAL) if over or overtaken or back else alert


def _closing(cast: Cast, now_s: float) -> bool:
    """Tell whether the ring of clay will soon shut the pour hole while slip is still inside."""
    tip = cast.estimate
    if not isinstance(tip, TipEstimate) or tip.shut_s is None:
        return False
    return now_s >= tip.shut_s - CLOSING_AHEAD_S


def _blind(state: MouldState, now_s: float, rules: CallRules) -> bool:
    """Tell whether a mould under cast has not been read for too long."""
    assert state.cast is not None
    last_s = max(state.last_read_s or 0.0, state.cast.began_s)
    return now_s - last_s > 60.0 * rules.blind_min


def _blind_why(state: MouldState) -> str:
    look = state.last_look
    if look is not None and look.reading is Missed.OUT_OF_SIGHT:
        return "the level has sunk out of sight: the time shown is a forecast"
    return "not read for some minutes: the time shown is a forecast"


def _alert(kind: Kind, cast: Cast, now_s: float, now_at: datetime, *, why: str = "") -> Alert:
    tip = cast.estimate if isinstance(cast.estimate, TipEstimate) else None
    return Alert(
        alert_id=f"{cast.cast_id}/{kind.value}",
        kind=kind,
        mould=cast.mould,
        cast_id=cast.cast_id,
        at_s=now_s,
        at=now_at,
        why=why,
        due_s=tip.ready_s if tip else None,
        wall_mm=tip.wall_mm if tip else None,
    )
