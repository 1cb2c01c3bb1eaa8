"""Questions about the past: casts of some days, one cast whole, what was foretold, called and said."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Row, and_, select

from watcher.records.bench import Filling, FillingKind
from watcher.records.kept import KeptCast
from watcher.records.notices import Alert
from watcher.records.said import What
from watcher.storage.restoring import alert_of, cast_of, kept_cast
from watcher.storage.schema import ALERTS, CASTS, ESTIMATES, EVENTS, FILLINGS, SAID

_IN_ONE_ASKING = 400
"""Ids in one question: a database allows no endless list."""


@dataclass(frozen=True, slots=True)
class Foretold:
    """What was worked out for a cast at one moment; `estimate` as it was kept, with its `kind`."""

    at_s: float
    estimate: MappingProxyType[str, Any]


@dataclass(frozen=True, slots=True)
class Spoken:
    """Something said about a cast, or that happened to its mould."""

    at: datetime
    what: str
    value: float | None = None
    note: str = ""
    who: str = ""


def cast_heads(
    connection: Connection,
    bench_id: str,
    *,
    since: datetime | None = None,
    until: datetime | None = None,
    mould: str = "",
    limit: int | None = None,
) -> tuple[KeptCast, ...]:
    """Return casts that began in a span of time, newest first, their fillings without readings.

    Three questions to the database for any number of casts.
    """
    where = [CASTS.c.bench_id == bench_id, CASTS.c.taken_back.is_(False)]
    if since is not None:
        where.append(CASTS.c.began_at >= since)
    if until is not None:
        where.append(CASTS.c.began_at < until)
    if mould:
        where.append(CASTS.c.mould == mould)
    rows = connection.execute(select(CASTS).where(*where).order_by(CASTS.c.began_s.desc()).limit(limit)).all()
    ids = [row.cast_id for row in rows]
    fillings: dict[str, list[Filling]] = {cast_id: [] for cast_id in ids}
    words: dict[str, list[Row[Any]]] = {cast_id: [] for cast_id in ids}
    for begin in range(0, len(ids), _IN_ONE_ASKING):
        some = ids[begin : begin + _IN_ONE_ASKING]
        own = and_(FILLINGS.c.bench_id == bench_id, FILLINGS.c.cast_id.in_(some))
        for head in connection.execute(select(FILLINGS).where(own).order_by(FILLINGS.c.number)):
            kind = FillingKind(head.kind)
            fillings[head.cast_id].append(Filling(kind, head.earliest_s, head.latest_s))
        own = and_(SAID.c.bench_id == bench_id, SAID.c.cast_id.in_(some))
        for word in connection.execute(select(SAID).where(own).order_by(SAID.c.seq)):
            words[word.cast_id].append(word)
    return tuple(cast_of(row, tuple(fillings[row.cast_id]), words[row.cast_id]) for row in rows)


def beginnings(connection: Connection, bench_id: str) -> tuple[datetime, ...]:
    """Return when each cast began, newest first."""
    where = and_(CASTS.c.bench_id == bench_id, CASTS.c.taken_back.is_(False))
    rows = connection.execute(select(CASTS.c.began_at).where(where).order_by(CASTS.c.began_at.desc()))
    return tuple(row.began_at for row in rows)


def one_cast(connection: Connection, bench_id: str, cast_id: str) -> KeptCast | None:
    """Return one cast with all its readings; None where there is none of that id."""
    where = and_(CASTS.c.bench_id == bench_id, CASTS.c.cast_id == cast_id, CASTS.c.taken_back.is_(False))
    row = connection.execute(select(CASTS).where(where)).one_or_none()
    return None if row is None else kept_cast(connection, bench_id, row)


def foretold(connection: Connection, bench_id: str, cast_id: str) -> tuple[Foretold, ...]:
    """Return what was worked out for a cast, minute by minute, oldest first."""
    own = ESTIMATES.c
    query = select(own.at_s, own.figures).where(own.bench_id == bench_id, own.cast_id == cast_id)
    return tuple(
        Foretold(row.at_s, MappingProxyType(json.loads(row.figures).get("estimate") or {}))
        for row in connection.execute(query.order_by(own.seq))
    )


def calls(connection: Connection, bench_id: str, *, since: datetime, until: datetime) -> tuple[Alert, ...]:
    """Return every call raised in a span of time, oldest first."""
    own = ALERTS.c
    query = select(ALERTS).where(own.bench_id == bench_id, own.at >= since, own.at < until)
    return tuple(alert_of(row) for row in connection.execute(query.order_by(own.at, own.seq)))


def spoken(connection: Connection, bench_id: str, cast_id: str) -> tuple[Spoken, ...]:
    """Return what the caster said about a cast, oldest first."""
    own = SAID.c
    query = select(SAID).where(own.bench_id == bench_id, own.cast_id == cast_id).order_by(own.seq)
    return tuple(Spoken(row.at, row.what, row.value, row.note, row.who) for row in connection.execute(query))


def happened(
    connection: Connection, bench_id: str, mould: str, *, since: datetime, until: datetime
) -> tuple[Spoken, ...]:
    """Return the events of a mould in a span of time, oldest first."""
    own = EVENTS.c
    query = select(EVENTS).where(
        own.bench_id == bench_id, own.mould == mould, own.at >= since, own.at <= until
    )
    rows = connection.execute(query.order_by(own.at, own.seq))
    return tuple(Spoken(row.at, row.event, note=row.detail) for row in rows)


def one_spots(connection: Connection, bench_id: str, casts: Sequence[KeptCast]) -> dict[str, float]:
    """Return for how long a pour's stream fell on one spot, where that was too long, by the cast's id. [s].

    An event belongs to the newest of these casts that its mould had begun by then.
    """
    if not casts:
        return {}
    own, first = EVENTS.c, min(cast.began_at for cast in casts)
    query = select(EVENTS).where(own.bench_id == bench_id, own.event == "one_spot", own.at >= first)
    found: dict[str, float] = {}
    for row in connection.execute(query.order_by(own.at, own.seq)):
        begun = [cast for cast in casts if cast.mould == row.mould and cast.began_at <= row.at]
        newest = max(begun, key=lambda cast: cast.began_at, default=None)
        seconds = row.detail.partition(" ")[0]
        if (
            newest is not None
            and (newest.tipped_at is None or row.at <= newest.tipped_at)
            and seconds.isdigit()
        ):
            found[newest.cast_id] = float(seconds)
    return found


def looked_mm(connection: Connection, bench_id: str) -> dict[str, float]:
    """Return the wall that the caster last measured on each cast, by its id. [mm]."""
    own = SAID.c
    query = select(own.cast_id, own.value).where(own.bench_id == bench_id, own.what == What.LOOKED.value)
    return {
        row.cast_id: float(row.value)
        for row in connection.execute(query.order_by(own.seq))
        if row.cast_id and row.value is not None
    }
