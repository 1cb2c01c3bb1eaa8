"""Call again, louder, as long as nobody answers; wait a little while hands are seen at the bench."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.bench import Bench
from watcher.records.notices import AlarmState, Alert, Kind

LOUDER = frozenset(
    {
        Kind.READY,
        Kind.LATE,
        Kind.TIPPED_UNSEEN,
        Kind.HOLE_CLOSING,
        Kind.LEAKING,
        Kind.TOP_UP,
        Kind.CAMERA_BLIND,
        Kind.BENCH_SILENT,
    }
)
"""What is called again until somebody answers. The others are good to know, once."""

HANDS_SEEN_S = 40.0
"""A hand seen within this time counts as being there: looks may lie half a minute apart. [s]"""

FREQUENT_MIN = 60.0
"""After the steps of the settings the last pause goes on for about this long, then it is once in as much:
somebody may be away for the night. [min]"""


def step_at(waited_min: float, again_min: tuple[float, ...]) -> int:
    """Return the step of escalation that is due so long after the first call.

    Parameters
    ----------
    waited_min : float
        How long nobody has answered. [min]
    again_min : tuple of float
        When each step is due, growing; empty: there is only the first call. [min]
    """
    if not again_min:
        return 0
    last = again_min[-1]
    if waited_min < last:
        return sum(waited_min >= due for due in again_min)
    pause = last - again_min[-2] if len(again_min) > 1 else last
    frequent = int(min(waited_min - last, FREQUENT_MIN) // pause)
    rare = int(max(waited_min - last - FREQUENT_MIN, 0.0) // FREQUENT_MIN)
    return len(again_min) + frequent + rare


def due_at_min(step: int, again_min: tuple[float, ...]) -> float:
    """Return when a step is due after the first call; the inverse of `step_at`. [min]."""
    if step <= len(again_min):
        return again_min[step - 1]
    last = again_min[-1]
    pause = last - again_min[-2] if len(again_min) > 1 else last
    frequent = int(FREQUENT_MIN // pause)
    more = step - len(again_min)
    if more <= frequent:
        return last + more * pause
    return last + FREQUENT_MIN * (1 + more - frequent)


def louder(alert: Alert, bench: Bench, now_s: float) -> Alert | None:
    """Return the alert with its next step where it must be called again now, else None."""
    rules = bench.rules
    if alert.state is not AlarmState.UNACKNOWLEDGED or alert.kind not in LOUDER:
        return None
    since_s = alert.at_s if alert.shelved_until_s is None else alert.shelved_until_s
    waited_min = (now_s - since_s) / 60.0
    step = step_at(waited_min, rules.again_min)
    if step <= alert.step:
        return None
    held_until_min = due_at_min(alert.step + 1, rules.again_min) + rules.hands_hold_min
    if _hands(bench, now_s) and waited_min < held_until_min:
        return None
    return replace(alert, step=step)


def _hands(bench: Bench, now_s: float) -> bool:
    return bench.hands_s is not None and now_s - bench.hands_s <= HANDS_SEEN_S
