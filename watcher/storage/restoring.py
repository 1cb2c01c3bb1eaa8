"""Read back what the journal holds: the bench as it stood, earlier casts, and what is known as written."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Row, and_, select

from watcher.clock import Moment
from watcher.records.bench import Cast, Filling, FillingKind, Forecast, MouldState, NotYet, Reading, Stage
from watcher.records.kept import KeptCast
from watcher.records.letters import Letter, LetterState, Urgency
from watcher.records.notices import AlarmState, Alert, Kind
from watcher.records.readings import Contents
from watcher.records.said import What
from watcher.storage.changes import REMEMBERED_S, core_of
from watcher.storage.known import Known, KnownAlert, KnownCast, KnownMould
from watcher.storage.outbox import OPEN, Posted
from watcher.storage.schema import ALERTS, BENCHES, CASTS, FILLINGS, MOULDS, OUTBOX, READINGS, SAID
from watcher.storage.steps import read_steps

JUST_STARTED = NotYet("the service has just started again; the next readings tell")
VERDICTS = (What.CAME_OUT_RIGHT.value, What.TOO_THIN.value, What.TOO_THICK.value)


@dataclass(frozen=True, slots=True)
class StoredFilling:
    """A filling and the number of its row."""

    seq: int
    filling: Filling


def last_moment(connection: Connection, bench_id: str) -> tuple[Moment, int] | None:
    """Return the bench's newest moment and the newest number it gave, or None for a new bench."""
    row = connection.execute(select(BENCHES).where(BENCHES.c.bench_id == bench_id)).one_or_none()
    if row is None:
        return None
    return Moment(row.now_s, row.now_at, row.boot_id, row.ahead_s), row.last_seq


def read_bench(
    connection: Connection, bench_id: str, now_s: float
) -> tuple[dict[str, MouldState], tuple[Alert, ...], Known]:
    """Return the moulds with their casts, the last day's alerts, and all of it as already known."""
    moulds: dict[str, MouldState] = {}
    known_moulds: dict[str, KnownMould] = {}
    casts: dict[str, KnownCast] = {}
    for row in connection.execute(select(MOULDS).where(MOULDS.c.bench_id == bench_id)):
        cast = _open_cast(connection, bench_id, row.cast_id, casts)
        state = _mould(row, cast)
        moulds[row.name] = state
        core = (row.stage, row.cast_id, row.in_service, row.casts_today, state.notes)
        known_moulds[row.name] = KnownMould(row.seq, core, (), float("-inf"))
    where = and_(ALERTS.c.bench_id == bench_id, ALERTS.c.at_s > now_s - REMEMBERED_S)
    found = [
        (row.seq, alert_of(row))
        for row in connection.execute(select(ALERTS).where(where).order_by(ALERTS.c.seq))
    ]
    known_alerts = {alert.alert_id: KnownAlert(seq, alert) for seq, alert in found}
    return moulds, tuple(alert for _, alert in found), Known(known_moulds, casts, known_alerts)


def read_letters(connection: Connection, bench_id: str) -> tuple[Posted, ...]:
    """Return the letters that have not come to their end."""
    where = and_(OUTBOX.c.bench_id == bench_id, OUTBOX.c.state.in_([state.value for state in OPEN]))
    return tuple(
        _posted(row) for row in connection.execute(select(OUTBOX).where(where).order_by(OUTBOX.c.seq))
    )


def read_casts(connection: Connection, bench_id: str, mould: str, limit: int) -> tuple[KeptCast, ...]:
    """Return the newest casts of a mould (of every mould for an empty name), newest first."""
    where = [CASTS.c.bench_id == bench_id, CASTS.c.taken_back.is_(False)]
    if mould:
        where.append(CASTS.c.mould == mould)
    newest = select(CASTS).where(*where).order_by(CASTS.c.began_s.desc(), CASTS.c.seq.desc()).limit(limit)
    return tuple(kept_cast(connection, bench_id, row) for row in connection.execute(newest).all())


def _mould(row: Row[Any], cast: Cast | None) -> MouldState:
    readings = (
        [reading for filling in cast.fillings for reading in filling.readings] if cast is not None else []
    )
    last_read_s = row.last_read_s
    if readings and (last_read_s is None or readings[-1].at_s > last_read_s):
        last_read_s = readings[-1].at_s
    return MouldState(
        name=row.name,
        stage=Stage(row.stage),
        cast=cast,
        last_empty_s=row.last_empty_s,
        last_read_s=last_read_s,
        last_read_at=row.last_read_at,
        casts_today=row.casts_today,
        in_service=row.in_service,
        doubt=Contents(row.doubt) if row.doubt is not None else None,
        doubt_since_s=row.doubt_since_s,
        pending=tuple(Reading(*reading) for reading in json.loads(row.pending)),
        notes=tuple(json.loads(row.notes)),
    )


def _open_cast(
    connection: Connection, bench_id: str, cast_id: str | None, casts: dict[str, KnownCast]
) -> Cast | None:
    if cast_id is None:
        return None
    row = connection.execute(
        select(CASTS).where(CASTS.c.bench_id == bench_id, CASTS.c.cast_id == cast_id)
    ).one_or_none()
    if row is None:
        return None
    stored = _fillings(connection, bench_id, cast_id)
    cast = Cast(
        cast_id=row.cast_id,
        mould=row.mould,
        number_today=row.number_today,
        began_s=row.began_s,
        began_at=row.began_at,
        fillings=tuple(item.filling for item in stored),
        estimate=JUST_STARTED,
        forecast=Forecast(row.forecast),
        tipped_s=row.tipped_s,
        tipped_at=row.tipped_at,
        leaking=row.leaking,
        after=read_steps(row.steps),
    )
    core = core_of(cast)
    fillings = tuple((item.seq, item.filling) for item in stored)
    casts[cast_id] = KnownCast(row.seq, core, fillings, float("-inf"), float("-inf"))
    return cast


def _fillings(connection: Connection, bench_id: str, cast_id: str) -> list[StoredFilling]:
    heads = connection.execute(
        select(FILLINGS)
        .where(FILLINGS.c.bench_id == bench_id, FILLINGS.c.cast_id == cast_id)
        .order_by(FILLINGS.c.number)
    ).all()
    return [
        StoredFilling(
            head.seq,
            Filling(
                FillingKind(head.kind),
                head.earliest_s,
                head.latest_s,
                _readings(connection, bench_id, head.seq),
            ),
        )
        for head in heads
    ]


def _readings(connection: Connection, bench_id: str, filling_seq: int) -> tuple[Reading, ...]:
    columns = READINGS.c
    rows = connection.execute(
        select(*(columns[field.name] for field in fields(Reading)))
        .where(columns.bench_id == bench_id, columns.filling_seq == filling_seq)
        .order_by(columns.seq)
    )
    return tuple(Reading(*row) for row in rows)


def alert_of(row: Row[Any]) -> Alert:
    """Make the alert of a row."""
    return Alert(
        alert_id=row.alert_id,
        kind=Kind(row.kind),
        mould=row.mould,
        cast_id=row.cast_id,
        at_s=row.at_s,
        at=row.at,
        state=AlarmState(row.state),
        acked_at=row.acked_at,
        shelved_until_s=row.shelved_until_s,
        why=row.why,
        due_s=row.due_s,
        wall_mm=row.wall_mm,
        step=row.step,
    )


def _posted(row: Row[Any]) -> Posted:
    letter = Letter(
        channel=row.channel,
        title=row.title,
        text=row.text,
        written_s=row.written_s,
        written_at=row.written_at,
        alert_ids=tuple(json.loads(row.alert_ids)),
        urgency=Urgency(row.urgency),
        step=row.step,
    )
    return Posted(row.seq, letter, LetterState(row.state), row.tries, row.repeat, row.why)


def kept_cast(connection: Connection, bench_id: str, row: Row[Any]) -> KeptCast:
    """Make the whole cast of a row, with its readings and what was said of it."""
    said = connection.execute(
        select(SAID).where(SAID.c.bench_id == bench_id, SAID.c.cast_id == row.cast_id).order_by(SAID.c.seq)
    ).all()
    fillings = tuple(item.filling for item in _fillings(connection, bench_id, row.cast_id))
    return cast_of(row, fillings, said)


def cast_of(row: Row[Any], fillings: tuple[Filling, ...], said: Sequence[Row[Any]]) -> KeptCast:
    """Make the cast of its row, with the fillings and the words that were read of it."""
    verdicts = [word.what for word in said if word.what in VERDICTS]
    return KeptCast(
        cast_id=row.cast_id,
        mould=row.mould,
        number_today=row.number_today,
        began_s=row.began_s,
        began_at=row.began_at,
        tipped_s=row.tipped_s,
        tipped_at=row.tipped_at,
        leaking=row.leaking,
        fillings=fillings,
        figures=MappingProxyType(json.loads(row.figures)),
        verdict=verdicts[-1] if verdicts else "",
        notes=tuple(word.note for word in said if word.note),
        profile_hash=row.profile_hash,
        slip_hash=row.slip_hash,
        after=read_steps(row.steps),
    )
