"""What the caster says to an alert: heard, not yet, out of service and back."""

from __future__ import annotations

from dataclasses import replace

from watcher.alerts.states import Happening, after
from watcher.records.notices import AlarmState, Alert
from watcher.records.said import Said, What

SNOOZE_MIN = 3.0
"""How long a call is put off when no time is given. [min]"""

HEARD = frozenset({What.ACKNOWLEDGED, What.TIPPED, What.TIPPED_TOO_SOON})
OPEN = (AlarmState.UNACKNOWLEDGED, AlarmState.SHELVED, AlarmState.RETURNED_UNACKNOWLEDGED)


def answer(alerts: tuple[Alert, ...], said: Said) -> tuple[Alert, ...]:
    """Return the alerts after the caster has said something about them.

    An answer goes to the alert named, else to every open alert of the mould named, else to all open ones.
    """
    return tuple(_answered(alert, said) if _meant(alert, said) else alert for alert in alerts)


def acknowledged(alert: Alert, said: Said) -> Alert:
    """Return an open alert that somebody has heard."""
    state = alert.state
    if state is AlarmState.SHELVED:  # whoever answers a call that was put off has heard it
        state = after(state, Happening.UNSHELVED, standing=True)
    state = after(state, Happening.ACKNOWLEDGED, standing=True)
    return replace(alert, state=state, acked_at=said.at, shelved_until_s=None)


def wake(alerts: tuple[Alert, ...], now_s: float) -> tuple[tuple[Alert, ...], tuple[Alert, ...]]:
    """End shelving whose time is over; return all alerts, and those that call again.

    An alert that wakes keeps the moment: from it the next louder call is counted anew.
    """
    woken = {
        alert.alert_id: replace(alert, state=after(alert.state, Happening.UNSHELVED, standing=True))
        for alert in alerts
        if _over(alert, now_s)
    }
    if not woken:
        return alerts, ()
    calm = tuple(
        replace(woken[alert.alert_id], step=0) if alert.alert_id in woken else alert for alert in alerts
    )
    return calm, tuple(woken.values())


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
    state = alert.state
    if said.what is What.IN_SERVICE:
        return replace(alert, state=after(state, Happening.PUT_BACK, standing=True))
    if state not in OPEN:
        return alert
    if said.what in HEARD:
        return acknowledged(alert, said)
    if said.what is What.SNOOZED:
        minutes = said.value if said.value is not None else SNOOZE_MIN
        shelved = after(state, Happening.SHELVED, standing=True)
        return replace(alert, state=shelved, shelved_until_s=said.at_s + 60.0 * minutes)
    if said.what is What.OUT_OF_SERVICE:
        return replace(alert, state=after(state, Happening.TAKEN_OUT, standing=True))
    return alert
