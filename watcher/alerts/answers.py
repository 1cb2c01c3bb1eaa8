"""What the caster says to an alert: heard, not yet, out of service."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.notices import AlarmState, Alert
from watcher.records.said import Said, What

SNOOZE_MIN = 3.0
"""How long a call is put off when no time is given. [min]"""

OPEN = (AlarmState.UNACKNOWLEDGED, AlarmState.SHELVED, AlarmState.RETURNED_UNACKNOWLEDGED)


def answer(alerts: tuple[Alert, ...], said: Said) -> tuple[Alert, ...]:
    """Return the alerts after the caster has said something about them.

    An answer goes to the alert named, else to every open alert of the mould named, else to all open ones.
    """
    return tuple(_answered(alert, said) if _meant(alert, said) else alert for alert in alerts)


def wake(alerts: tuple[Alert, ...], now_s: float) -> tuple[tuple[Alert, ...], tuple[Alert, ...]]:
    """End shelving whose time is over; return all alerts, and those that call again."""
    woken = tuple(
        replace(alert, state=AlarmState.UNACKNOWLEDGED, shelved_until_s=None)
        for alert in alerts
        if _over(alert, now_s)
    )
    if not woken:
        return alerts, ()
    by_id = {alert.alert_id: alert for alert in woken}
    return tuple(by_id.get(alert.alert_id, alert) for alert in alerts), woken


def _over(alert: Alert, now_s: float) -> bool:
    return (
        alert.state is AlarmState.SHELVED
        and alert.shelved_until_s is not None
        and now_s >= alert.shelved_until_s
    )


def _meant(alert: Alert, said: Said) -> bool:
    if said.alert_id:
        return alert.alert_id == said.alert_id
    return not said.mould or alert.mould == said.mould


def _answered(alert: Alert, said: Said) -> Alert:
    if alert.state not in OPEN:
        return alert
    match said.what:
        case What.ACKNOWLEDGED | What.TIPPED | What.TIPPED_TOO_SOON:
            return replace(alert, state=AlarmState.ACKNOWLEDGED, acked_at=said.at, shelved_until_s=None)
        case What.SNOOZED:
            minutes = said.value if said.value is not None else SNOOZE_MIN
            return replace(alert, state=AlarmState.SHELVED, shelved_until_s=said.at_s + 60.0 * minutes)
        case What.OUT_OF_SERVICE:
            return replace(alert, state=AlarmState.OUT_OF_SERVICE)
        case _:
            return alert
