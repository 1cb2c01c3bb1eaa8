"""One plain sentence for each call, short enough for a locked phone's screen."""

from __future__ import annotations

from collections.abc import Callable

from watcher.records.notices import Alert, Kind, Notice, Why


def sentence(notice: Notice) -> str:
    """Return what a notice says in words."""
    alert = notice.alert
    text = _BODY[alert.kind](alert)
    return f"Again: {text}" if notice.why is Why.AGAIN else text


def _wall(alert: Alert) -> str:
    return f", wall about {alert.wall_mm:.1f} mm" if alert.wall_mm is not None else ""


def _soon(alert: Alert) -> str:
    if alert.due_s is None:
        return f"{alert.mould}: soon to be tipped."
    minutes = max(1, round((alert.due_s - alert.at_s) / 60.0))
    return f"{alert.mould}: tip in about {minutes} min{_wall(alert)}."


_BODY: dict[Kind, Callable[[Alert], str]] = {
    Kind.SOON: _soon,
    Kind.READY: lambda a: f"{a.mould}: tip now{_wall(a)}.",
    Kind.LATE: lambda a: f"{a.mould}: past its time, tip at once{_wall(a)}.",
    Kind.BLIND: lambda a: f"{a.mould}: {a.why}.",
    Kind.CAMERA_BLIND: lambda a: f"The camera cannot be used: {a.why}.",
    Kind.HOLE_CLOSING: lambda a: f"{a.mould}: {a.why}.",
    Kind.LEAKING: lambda a: f"{a.mould}: leaking? {a.why}.",
    Kind.TOP_UP: lambda a: f"{a.mould}: top up. {a.why}",
}
