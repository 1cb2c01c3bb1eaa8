"""One letter for what comes together: a class of moulds gets one call, in the order of tipping.

A first call to tip names the moulds that follow it closely as well, each with its time; their own first call
is then left out, as long as it comes when it was announced. Whoever does not answer is called again for each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from models.tip import TipEstimate
from watcher.alerts.bench_wide import casting
from watcher.alerts.letter_words import ENGLISH, LetterWords
from watcher.alerts.rules import RANK, soon_lead_s
from watcher.alerts.wording import clock, moment_at, sentence
from watcher.records.bench import Bench, Forecast
from watcher.records.letters import Letter, Urgency
from watcher.records.notices import Alert, Kind, Notice, Why

TOGETHER_S = 60.0
"""Moulds whose tips lie no further apart than this come together. [s]"""

MOST_AHEAD_S = 300.0
"""No first call is left out that comes later than this after the letter which announced it. [s]"""

_URGENCY = {
    Kind.SOON: Urgency.QUIET,
    Kind.BLIND: Urgency.QUIET,
    Kind.DISK_FILLING: Urgency.QUIET,
    Kind.CLOCK_STEPPED: Urgency.QUIET,
    Kind.LATE: Urgency.ALARM,
    Kind.LEAKING: Urgency.ALARM,
    Kind.HOLE_CLOSING: Urgency.ALARM,
}
_LOUDNESS = (Urgency.QUIET, Urgency.CALL, Urgency.ALARM)
_ORDER = (
    Kind.LATE, Kind.HOLE_CLOSING, Kind.LEAKING, Kind.READY, Kind.TIPPED_UNSEEN, Kind.TOP_UP,
    Kind.BENCH_SILENT, Kind.CAMERA_BLIND, Kind.SOON,
)  # fmt: skip
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Follower:
    """A mould that a call to tip another one announces: the id of its own call, and when that is due."""

    alert_id: str
    cast_id: str
    mould: str
    call_s: float
    ready_s: float


def urgency_of(notice: Notice) -> Urgency:
    """Return how loud a notice is."""
    if notice.why is Why.CLEARED:
        return Urgency.QUIET
    return _URGENCY.get(notice.alert.kind, Urgency.CALL)


def unannounced(
    notices: Sequence[Notice], announced: Mapping[str, tuple[float, float]], now_s: float
) -> list[Notice]:
    """Leave out first calls that an earlier letter announced for about this moment.

    Parameters
    ----------
    notices : sequence of Notice
    announced : mapping of str to (float, float)
        By the id of an alert, between which moments its call was announced. [s]
    now_s : float
        [s]
    """
    return [notice for notice in notices if not _is_announced(notice, announced, now_s)]


def _is_announced(notice: Notice, announced: Mapping[str, tuple[float, float]], now_s: float) -> bool:
    if notice.why is not Why.FIRST or notice.step > 0:
        return False
    from_s, to_s = announced.get(notice.alert.alert_id, (float("inf"), float("-inf")))
    return from_s <= now_s <= to_s


def followers(notices: Sequence[Notice], bench: Bench) -> tuple[Follower, ...]:
    """Return the moulds that come so soon after those that are called that one letter does for all."""
    calls = [n.alert for n in notices if n.why is Why.FIRST and n.alert.kind in (Kind.SOON, Kind.READY)]
    if not calls:
        return ()
    kind = Kind.READY if any(alert.kind is Kind.READY for alert in calls) else Kind.SOON
    named = {alert.mould for alert in calls}
    last_s = max(max(_due_s(alert), alert.at_s) for alert in calls if alert.kind is kind)
    until_s = last_s + MOST_AHEAD_S
    found: list[Follower] = []
    coming = sorted(
        (tip.ready_s, state.name, state.cast)
        for state in casting(bench)
        if state.cast is not None
        and isinstance(tip := state.cast.estimate, TipEstimate)
        and tip.ready_s is not None
        and state.name not in named
        and RANK[state.cast.forecast] < RANK[Forecast(kind.value)]
    )
    for ready_s, name, cast in coming:
        if ready_s > min(last_s + TOGETHER_S, until_s):
            break
        last_s = max(last_s, ready_s)
        call_s = ready_s - soon_lead_s(cast, ready_s, bench.rules) if kind is Kind.SOON else ready_s
        found.append(Follower(f"{cast.cast_id}/{kind.value}", cast.cast_id, name, call_s, ready_s))
    return tuple(found)


def letter_of(
    notices: Sequence[Notice],
    after_them: Sequence[Follower],
    bench: Bench,
    channel: str,
    words: LetterWords = ENGLISH,
) -> Letter:
    """Write one letter about one or several notices, and the moulds that follow them, for one channel."""
    mine = sorted(_one_each(notices), key=_place)
    lines = [sentence(notice, bench, words) for notice in mine]
    first = mine[0].alert
    lines += [
        words.tell("follows", mould=one.mould, at=clock(moment_at(first, one.ready_s), bench.zone))
        for one in after_them
    ]
    if len(lines) > 1:
        lines = [f"{number} {line}" for number, line in enumerate(lines, 1)]
    ids = [n.alert.alert_id for n in notices if n.why is not Why.CLEARED]
    return Letter(
        channel=channel,
        title=_title(mine, after_them, words),
        text="\n".join(lines),
        written_s=bench.now_s,
        written_at=bench.now_at if bench.now_at is not None else first.at,
        alert_ids=(*ids, *(one.alert_id for one in after_them)),
        urgency=max((urgency_of(notice) for notice in notices), key=_LOUDNESS.index),
        step=max(notice.step for notice in notices),
    )


def _one_each(notices: Sequence[Notice]) -> list[Notice]:
    """Keep of several calls to tip one mould the gravest."""
    tips: dict[str, Notice] = {}
    others: list[Notice] = []
    for notice in notices:
        alert = notice.alert
        if alert.kind not in (Kind.SOON, Kind.READY, Kind.LATE) or notice.why is Why.CLEARED:
            others.append(notice)
        elif alert.mould not in tips or _place(notice) < _place(tips[alert.mould]):
            tips[alert.mould] = notice
    return [*tips.values(), *others]


def _place(notice: Notice) -> tuple[int, float]:
    kind = notice.alert.kind
    return (_ORDER.index(kind) if kind in _ORDER else len(_ORDER), _due_s(notice.alert))


def _due_s(alert: Alert) -> float:
    return alert.due_s if alert.due_s is not None else alert.at_s


def _title(notices: Sequence[Notice], after_them: Sequence[Follower], words: LetterWords) -> str:
    if len(notices) == 1 and not after_them:
        alert = notices[0].alert
        kind = words.texts[f"kind_{alert.kind.value}"]
        if notices[0].why is Why.CLEARED:
            kind = words.tell("no_more", kind=kind)
        return f"{alert.mould}: {kind}" if alert.mould else kind
    names = [n.alert.mould or words.texts["the_bench"] for n in notices] + [one.mould for one in after_them]
    names = list(dict.fromkeys(names))
    shown = ", ".join(names[:_NAMED])
    return shown if len(names) <= _NAMED else words.tell("and_more", names=shown, n=len(names) - _NAMED)
