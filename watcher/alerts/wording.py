"""One plain sentence for each call, short enough for a locked phone's screen."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from models.tip import TipEstimate
from watcher.alerts.bench_wide import casting
from watcher.alerts.letter_words import ENGLISH, LetterWords
from watcher.records.bench import Bench, MouldState
from watcher.records.notices import Alert, Kind, Notice, Why

FORECAST_AFTER_S = 90.0
"""A mould that was not read for so long is a forecast. [s]"""


def sentence(notice: Notice, bench: Bench | None = None, words: LetterWords = ENGLISH) -> str:
    """Return what a notice says in words.

    Parameters
    ----------
    notice : Notice
    bench : Bench, optional
        The present, for what concerns several moulds, and for the zone of the times.
    words : LetterWords
        The language.
    """
    alert = notice.alert
    if notice.why is Why.CLEARED:
        return _over(alert, bench, words)
    if alert.kind is Kind.CAMERA_BLIND:
        text = _camera_blind(alert, bench, words)
    elif alert.kind is Kind.TOP_UP:
        text = _top_up(alert, bench, words)
    elif alert.kind is Kind.SOON:
        text = _soon(alert, words)
    else:
        why = words.why(alert.why)
        if alert.kind is Kind.BENCH_SILENT:
            why = f"{why[:1].upper()}{why[1:]}"
        text = words.tell(_BODY[alert.kind], mould=alert.mould, why=why, wall=_wall(alert, words))
    return words.tell("again", text=text) if notice.why is Why.AGAIN else text


def clock(at: datetime, zone: str) -> str:
    """Return a moment as the clock on the wall shows it."""
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"


def moment_at(alert: Alert, at_s: float) -> datetime:
    """Return a second of the bench as a moment, counted from an alert's own."""
    return alert.at + timedelta(seconds=at_s - alert.at_s)


def _wall(alert: Alert, words: LetterWords) -> str:
    return words.tell("wall", wall=words.number(alert.wall_mm)) if alert.wall_mm is not None else ""


def _soon(alert: Alert, words: LetterWords) -> str:
    if alert.due_s is None:
        return words.tell("soon_some_time", mould=alert.mould)
    minutes = max(1, round((alert.due_s - alert.at_s) / 60.0))
    return words.tell("soon", mould=alert.mould, minutes=minutes, wall=_wall(alert, words))


def _top_up(alert: Alert, bench: Bench | None, words: LetterWords) -> str:
    if alert.due_s is None or bench is None:
        return words.tell("top_up", mould=alert.mould)
    if alert.due_s <= alert.at_s:
        return words.tell("top_up_now", mould=alert.mould)
    at = clock(moment_at(alert, alert.due_s), bench.zone)
    return words.tell("top_up_before", mould=alert.mould, at=at)


def _camera_blind(alert: Alert, bench: Bench | None, words: LetterWords) -> str:
    text = words.tell("camera_blind", why=words.why(alert.why))
    moulds = _forecasts(alert, bench, words)
    return f"{text} {words.tell('forecasts_only', list='; '.join(moulds))}" if moulds else text


def _over(alert: Alert, bench: Bench | None, words: LetterWords) -> str:
    if alert.kind is Kind.BENCH_SILENT:
        return words.tell("heard_again", bench=alert.alert_id.rsplit("/", 2)[0])
    if alert.kind is not Kind.CAMERA_BLIND or bench is None:
        kind = words.texts[f"kind_{alert.kind.value}"]
        return words.tell("over", what=alert.mould or words.texts["The_bench"], kind=kind)
    left = [state.name for state in casting(bench) if _unread_s(state, bench) > FORECAST_AFTER_S]
    since = words.tell("sees_again", at=clock(alert.at, bench.zone))
    return f"{since} {words.tell('not_read_yet', list=', '.join(left))}" if left else since


def _forecasts(alert: Alert, bench: Bench | None, words: LetterWords) -> list[str]:
    """Say of each mould under cast from when on it is a forecast, and when it is due."""
    if bench is None:
        return []
    said = []
    for state in casting(bench):
        assert state.cast is not None
        read_s = state.last_read_s if state.last_read_s is not None else state.cast.began_s
        at = clock(moment_at(alert, read_s), bench.zone)
        tip = state.cast.estimate
        if isinstance(tip, TipEstimate) and tip.ready_s is not None:
            due = clock(moment_at(alert, tip.ready_s), bench.zone)
            said.append(words.tell("forecast_tip", mould=state.name, at=at, tip=due))
        else:
            said.append(words.tell("forecast_from", mould=state.name, at=at))
    return said


def _unread_s(state: MouldState, bench: Bench) -> float:
    return bench.now_s - state.last_read_s if state.last_read_s is not None else float("inf")


_BODY = {
    Kind.READY: "ready",
    Kind.LATE: "late",
    Kind.TIPPED_UNSEEN: "reason",
    Kind.BLIND: "reason",
    Kind.HOLE_CLOSING: "reason",
    Kind.LEAKING: "leaking",
    Kind.DISK_FILLING: "computer",
    Kind.BENCH_SILENT: "silent",
    Kind.CLOCK_STEPPED: "computer",
}
