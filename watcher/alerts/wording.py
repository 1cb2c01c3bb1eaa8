"""One plain sentence for each call, short enough for a locked phone's screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from models.tip import TipEstimate
from watcher.alerts.bench_wide import casting
from watcher.records.bench import Bench, MouldState
from watcher.records.notices import Alert, Kind, Notice, Why

FORECAST_AFTER_S = 90.0
"""A mould that was not read for so long is a forecast. [s]"""


def sentence(notice: Notice, bench: Bench | None = None) -> str:
    """Return what a notice says in words.

    Parameters
    ----------
    notice : Notice
    bench : Bench, optional
        The present, for what concerns several moulds, and for the zone of the times.
    """
    alert = notice.alert
    if notice.why is Why.CLEARED:
        return _sees_again(alert, bench)
    if alert.kind is Kind.CAMERA_BLIND:
        text = _camera_blind(alert, bench)
    elif alert.kind is Kind.TOP_UP:
        text = f"{alert.mould}: top up{_before(alert, bench)}."
    else:
        text = _BODY[alert.kind](alert)
    return f"Again: {text}" if notice.why is Why.AGAIN else text


def clock(at: datetime, zone: str) -> str:
    """Return a moment as the clock on the wall shows it."""
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"


def moment_at(alert: Alert, at_s: float) -> datetime:
    """Return a second of the bench as a moment, counted from an alert's own."""
    return alert.at + timedelta(seconds=at_s - alert.at_s)


def _wall(alert: Alert) -> str:
    return f", wall about {alert.wall_mm:.1f} mm" if alert.wall_mm is not None else ""


def _soon(alert: Alert) -> str:
    if alert.due_s is None:
        return f"{alert.mould}: soon to be tipped."
    minutes = max(1, round((alert.due_s - alert.at_s) / 60.0))
    return f"{alert.mould}: tip in about {minutes} min{_wall(alert)}."


def _before(alert: Alert, bench: Bench | None) -> str:
    if alert.due_s is None or bench is None:
        return ""
    if alert.due_s <= alert.at_s:
        return " now"
    return f" before {clock(moment_at(alert, alert.due_s), bench.zone)}"


def _camera_blind(alert: Alert, bench: Bench | None) -> str:
    text = f"The camera cannot be used: {alert.why}."
    moulds = _forecasts(alert, bench)
    return f"{text} Forecasts only: {'; '.join(moulds)}." if moulds else text


def _sees_again(alert: Alert, bench: Bench | None) -> str:
    if alert.kind is Kind.BENCH_SILENT:
        return f"{alert.alert_id.rsplit('/', 2)[0]} is heard again."
    if alert.kind is not Kind.CAMERA_BLIND or bench is None:
        return f"{alert.mould or 'The bench'}: {alert.kind.value.replace('_', ' ')} is over."
    left = [state.name for state in casting(bench) if _unread_s(state, bench) > FORECAST_AFTER_S]
    since = f"The camera sees again; it had not since {clock(alert.at, bench.zone)}."
    return f"{since} Not read yet: {', '.join(left)}." if left else since


def _forecasts(alert: Alert, bench: Bench | None) -> list[str]:
    """Say of each mould under cast from when on it is a forecast, and when it is due."""
    if bench is None:
        return []
    said = []
    for state in casting(bench):
        assert state.cast is not None
        read_s = state.last_read_s if state.last_read_s is not None else state.cast.began_s
        text = f"{state.name} from {clock(moment_at(alert, read_s), bench.zone)} on"
        tip = state.cast.estimate
        if isinstance(tip, TipEstimate) and tip.ready_s is not None:
            text += f" (tip about {clock(moment_at(alert, tip.ready_s), bench.zone)})"
        said.append(text)
    return said


def _unread_s(state: MouldState, bench: Bench) -> float:
    return bench.now_s - state.last_read_s if state.last_read_s is not None else float("inf")


_BODY: dict[Kind, Callable[[Alert], str]] = {
    Kind.SOON: _soon,
    Kind.READY: lambda a: f"{a.mould}: tip now{_wall(a)}.",
    Kind.LATE: lambda a: f"{a.mould}: past its time, tip at once{_wall(a)}.",
    Kind.TIPPED_UNSEEN: lambda a: f"{a.mould}: {a.why}.",
    Kind.BLIND: lambda a: f"{a.mould}: {a.why}.",
    Kind.HOLE_CLOSING: lambda a: f"{a.mould}: {a.why}.",
    Kind.LEAKING: lambda a: f"{a.mould}: leaking? {a.why}.",
    Kind.DISK_FILLING: lambda a: f"The bench's computer: {a.why}.",
    Kind.BENCH_SILENT: lambda a: f"{a.why[:1].upper()}{a.why[1:]}.",
    Kind.CLOCK_STEPPED: lambda a: f"The bench's computer: {a.why}.",
}
