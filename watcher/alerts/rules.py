"""When a mould must be called: the forecast of each cast, and the alerts that follow from it.

Everything is worked out from facts and the moment. An alert is raised once for one cast (a top-up once for
one filling): its id is the cast and the kind, so a wobbling estimate, a restart or a replay cannot raise it
twice. Only a mould that was seen again and is lost again, much later, is called unseen once more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from models.fit import AbsorptionFit
from models.mould import MouldProfile
from models.tip import TipEstimate
from watcher.alerts.closing import drains_until_s, is_wide
from watcher.alerts.topping import trim_moment_s
from watcher.records.bench import CallRules, Cast, Forecast, MouldState, Stage
from watcher.records.notices import Alert, Kind
from watcher.records.readings import Missed

DOUBT_HOLDS_S = 40.0
"""A call is held back this long while the mould looks tipped already and a second look is awaited; where none
comes, the caster is asked instead of told. [s]"""

CLOSING_AHEAD_S = 300.0
CLOSING_SHARE = 1.0 / 3.0
"""A hole about to be too narrow to drain is told so long ahead, or this share of the cast's time up to then
where that is shorter: time to come and tip it. [s]"""

HANDS_S = 120.0
HANDS_SHARE = 0.1
"""A tip that is due this long before its hole closes, or this share of a short cast, still comes in time:
lifting and tipping take about two minutes (common practice, no source). [s]"""

TIPPED_WHY = "was it tipped? It looked so when it was last seen; if slip still stands in it, tip now"
CLOSING_WHY = "the ring of clay will soon close the pour hole: tip while the slip still runs"
LEAKING_WHY = "sinks faster than this mould drinks: check the seam"

UNREAD_WHY: Mapping[Missed, str] = MappingProxyType(
    {
        Missed.OUT_OF_SIGHT: "the level has sunk out of sight: the time shown is a forecast",
        Missed.COVERED: "something lies over the pour hole: the time shown is a forecast",
        Missed.FROTHED: "froth stands on the slip: the time shown is a forecast",
    }
)
"""What can be seen of why a mould is not read, said to the caster."""

TOP_UP_LEAST_S = 60.0
TOP_UP_SHARE = 0.05
"""Slip that reaches the trim line less than this before the tip, or this share of the cast's time, is left
alone: the mould is about to be emptied. [s]"""

SLOW_FROM_S = 60.0
SPARE_MM = 2.0
"""Before so long, and nearer than this to the line, a level is reckoned with in full. [s, mm]"""

RANK = {Forecast.NONE: 0, Forecast.SOON: 1, Forecast.READY: 2, Forecast.LATE: 3}


@dataclass(frozen=True, slots=True)
class Watched:
    """A mould as the rules look at it.

    Attributes
    ----------
    state : MouldState
    profile : MouldProfile
    specific_gravity : float
        Of the slip.
    """

    state: MouldState
    profile: MouldProfile
    specific_gravity: float


@dataclass(frozen=True, slots=True)
class Judged:
    """One mould judged at one moment: its new state, and every alert whose cause stands."""

    state: MouldState
    raised: tuple[Alert, ...] = ()


def soon_lead_s(cast: Cast, ready_s: float, rules: CallRules) -> float:
    """Return how long before the tip `soon` is called: `soon_min`, or a share of a short cast's time. [s]."""
    whole_s = ready_s - cast.fillings[0].latest_s
    return min(60.0 * rules.soon_min, rules.soon_share * max(whole_s, 0.0))


def forecast_at(cast: Cast, now_s: float, rules: CallRules) -> Forecast:
    """Tell how near the tip is. A step once taken is not taken back: a caster is not called twice.

    Soon: within `soon_min` of the tip, or the share `soon_share` of the cast's time for short casts.
    Ready: the wall wanted is there, more likely than not. Late: past the thick end of what is wanted.
    """
    tip = cast.estimate
    if not isinstance(tip, TipEstimate) or tip.ready_s is None:
        return cast.forecast
    due = Forecast.NONE
    if now_s >= tip.ready_s - soon_lead_s(cast, tip.ready_s, rules):
        due = Forecast.SOON
    if now_s >= tip.ready_s:
        due = Forecast.READY
    called = cast.forecast in (Forecast.READY, Forecast.LATE)
    if called and tip.latest_s is not None and now_s >= tip.latest_s:
        due = Forecast.LATE
    return max(due, cast.forecast, key=RANK.__getitem__)


def judge(watched: Watched, now_s: float, now_at: datetime, rules: CallRules) -> Judged:
    """Judge one mould at one moment."""
    state, cast = watched.state, watched.state.cast
    if cast is None or state.stage is not Stage.CASTING or not state.in_service:
        return Judged(state)
    if state.doubt_since_s is not None:
        return _doubtful(watched, cast, state.doubt_since_s, now_s, now_at, rules)
    raised: list[Alert] = []
    forecast = forecast_at(cast, now_s, rules)
    if forecast is not cast.forecast:
        raised.append(_alert(Kind(forecast.value), cast, now_s, now_at))
        state = replace(state, cast=replace(cast, forecast=forecast))
    if _blind(state, now_s, rules):
        raised.append(_alert(Kind.BLIND, cast, now_s, now_at, why=_blind_why(state)))
    closes_s = _closes_s(watched, cast, now_s)
    if closes_s is not None:
        raised.append(_alert(Kind.HOLE_CLOSING, cast, now_s, now_at, why=CLOSING_WHY, due_s=closes_s))
    top_up_s = _top_up_s(watched, cast, now_s, rules)
    if top_up_s is not None:
        alert = _alert(Kind.TOP_UP, cast, now_s, now_at, due_s=top_up_s)
        raised.append(replace(alert, alert_id=top_up_id(cast)))
    if cast.leaking:
        raised.append(_alert(Kind.LEAKING, cast, now_s, now_at, why=LEAKING_WHY))
    return Judged(state, tuple(raised))


def _doubtful(
    watched: Watched, cast: Cast, since_s: float, now_s: float, now_at: datetime, rules: CallRules
) -> Judged:
    """Judge a mould that looked tipped at its last look, which no other has borne out or gainsaid.

    To tell that it is ready would be false where it was tipped, to say nothing would be to miss it where it
    was not: the caster is asked, at the moment of the call that is due.
    """
    state = watched.state
    if now_s - since_s < DOUBT_HOLDS_S:
        return Judged(state)
    raised: list[Alert] = []
    due = forecast_at(cast, now_s, rules)
    closes_s = _closes_s(watched, cast, now_s)
    if closes_s is not None or (due is not cast.forecast and due in (Forecast.READY, Forecast.LATE)):
        alert = _alert(Kind.TIPPED_UNSEEN, cast, now_s, now_at, why=TIPPED_WHY, due_s=closes_s)
        raised.append(replace(alert, alert_id=f"{alert.alert_id}/{since_s:.0f}"))
    if _blind(state, now_s, rules):
        raised.append(_alert(Kind.BLIND, cast, now_s, now_at, why=_blind_why(state)))
    return Judged(state, tuple(raised))


def top_up_id(cast: Cast) -> str:
    """Return the id of the call to top up: one for each filling."""
    return f"{cast.cast_id}/{Kind.TOP_UP.value}/{len(cast.fillings)}"


def _closes_s(watched: Watched, cast: Cast, now_s: float) -> float | None:
    """Return when slip no longer drains, where it is time to say so: the wall comes too late, or nobody."""
    tip = cast.estimate
    if not isinstance(tip, TipEstimate):
        return None
    ahead_s = now_s + CLOSING_AHEAD_S
    closes_s = tip.shut_s if tip.shut_s is not None and tip.shut_s <= ahead_s else None
    if isinstance(cast.fit, AbsorptionFit) and not is_wide(watched.profile, tip.wall_mm):
        hangs_s = drains_until_s(cast.fit, watched.profile, watched.specific_gravity, now_s, ahead_s)
        closes_s = min((at for at in (closes_s, hangs_s) if at is not None), default=None)
    if closes_s is None:
        return None
    full_s = cast.fillings[0].latest_s
    if now_s < closes_s - min(CLOSING_AHEAD_S, CLOSING_SHARE * max(closes_s - full_s, 0.0)):
        return None
    spare_s = min(HANDS_S, HANDS_SHARE * max(closes_s - full_s, 0.0))
    in_time = tip.ready_s is not None and now_s < tip.ready_s < closes_s - spare_s
    return None if in_time else closes_s


def _top_up_s(watched: Watched, cast: Cast, now_s: float, rules: CallRules) -> float | None:
    """Return before when the mould is to be topped up, where it is time to say so."""
    trim_mm, fit, tip = watched.profile.trim_line_mm, cast.fit, cast.estimate
    if trim_mm is None or not isinstance(fit, AbsorptionFit) or not isinstance(tip, TipEstimate):
        return None
    most_s = 60.0 * rules.top_up_min
    if _far_above(trim_mm, cast, now_s + 2.0 * most_s):
        return None
    due_s = trim_moment_s(fit, trim_mm, now_s, now_s + most_s)
    if due_s is None or fit.level_at(now_s + 2.0 * most_s)[0] < trim_mm:
        return None  # a wide range alone calls nobody
    filled_s = cast.fillings[-1].latest_s
    if due_s - now_s > rules.soon_share * max(due_s - filled_s, 0.0):
        return None
    if tip.ready_s is not None:
        whole_s = tip.ready_s - cast.fillings[0].latest_s
        if due_s > tip.ready_s - max(TOP_UP_LEAST_S, TOP_UP_SHARE * whole_s):
            return None
    return due_s


def _far_above(trim_mm: float, cast: Cast, until_s: float) -> bool:
    """Whether a level cannot reach the line for long, at a glance: for every second.

    Even at three times the mean speed of this filling; roots of time only get slower, narrow holes faster.
    """
    readings = cast.fillings[-1].readings
    if len(readings) < 2 or readings[-1].at_s - readings[0].at_s < SLOW_FROM_S:
        return False
    first, last = readings[0], readings[-1]
    speed = max(last.level_mm - first.level_mm, 0.0) / (last.at_s - first.at_s)
    return last.level_mm + 3.0 * speed * (until_s - last.at_s) + SPARE_MM < trim_mm


def _blind(state: MouldState, now_s: float, rules: CallRules) -> bool:
    """Tell whether a mould under cast has not been read for too long."""
    assert state.cast is not None
    last_s = max(state.last_read_s or 0.0, state.cast.began_s)
    return now_s - last_s > 60.0 * rules.blind_min


def _blind_why(state: MouldState) -> str:
    look = state.last_look
    known = UNREAD_WHY.get(look.reading) if look is not None and isinstance(look.reading, Missed) else None
    return known or "not read for some minutes: the time shown is a forecast"


def _alert(
    kind: Kind, cast: Cast, now_s: float, now_at: datetime, *, why: str = "", due_s: float | None = None
) -> Alert:
    tip = cast.estimate if isinstance(cast.estimate, TipEstimate) else None
    if due_s is None and tip is not None:
        due_s = tip.ready_s
    return Alert(
        alert_id=f"{cast.cast_id}/{kind.value}",
        kind=kind,
        mould=cast.mould,
        cast_id=cast.cast_id,
        at_s=now_s,
        at=now_at,
        why=why,
        due_s=due_s,
        wall_mm=tip.wall_mm if tip else None,
    )
