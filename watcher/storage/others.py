"""The other benches, as they stand in the shared database."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, select

from watcher.records.bench import Stage
from watcher.records.notices import AlarmState
from watcher.records.others import OtherAlert, OtherBench, OtherMould
from watcher.storage.schema import ALERTS, BENCHES, CASTS, MOULDS
from watcher.storage.schema_shared import HOMES
from watcher.storage.server_clock import NOW_US

_US = 1_000_000
_WITH_SLIP = (Stage.FILLING.value, Stage.CASTING.value)
ALERTS_WITHIN_S = 43_200.0
"""Unanswered calls older than this are no longer shown. [s]"""


def other_benches(shared: Connection, own_id: str) -> tuple[OtherBench, ...]:
    """Return every other bench by name, with its moulds and its unanswered calls."""
    query = (
        select(HOMES, BENCHES.c.now_s, BENCHES.c.now_at, NOW_US.label("server_now"))
        .outerjoin(BENCHES, BENCHES.c.bench_id == HOMES.c.bench_id)
        .where(HOMES.c.bench_id != own_id)
        .order_by(HOMES.c.bench_id)
    )
    benches = shared.execute(query).all()
    moulds = _by_bench(_moulds(shared, own_id))
    alerts = _by_bench(_alerts(shared, own_id))
    return tuple(
        OtherBench(
            row.bench_id,
            row.page,
            max(row.server_now / _US - row.heard_at.timestamp(), 0.0),
            row.heard_at,
            tuple(_mould(mould, row) for mould in moulds.get(row.bench_id, ())),
            tuple(
                OtherAlert(alert.alert_id, alert.kind, alert.mould, alert.at)
                for alert in alerts.get(row.bench_id, ())
                if row.now_s is None or alert.at_s > row.now_s - ALERTS_WITHIN_S
            ),
            row.gone,
            row.hours,
            row.zone,
        )
        for row in benches
    )


def _moulds(shared: Connection, own_id: str) -> list[Row[Any]]:
    own, cast = MOULDS.c, CASTS.c
    query = (
        select(own.bench_id, own.name, own.stage, own.cast_id, own.last_read_at, cast.figures)
        .outerjoin(CASTS, (cast.bench_id == own.bench_id) & (cast.cast_id == own.cast_id))
        .where(own.bench_id != own_id)
        .order_by(own.bench_id, own.name)
    )
    return list(shared.execute(query))


def _alerts(shared: Connection, own_id: str) -> list[Row[Any]]:
    own = ALERTS.c
    query = (
        select(ALERTS)
        .where(own.bench_id != own_id, own.state == AlarmState.UNACKNOWLEDGED.value)
        .order_by(own.bench_id, own.at_s)
    )
    return list(shared.execute(query))


def _by_bench(rows: list[Row[Any]]) -> dict[str, list[Row[Any]]]:
    found: dict[str, list[Row[Any]]] = {}
    for row in rows:
        found.setdefault(row.bench_id, []).append(row)
    return found


def _mould(row: Row[Any], bench: Row[Any]) -> OtherMould:
    estimate = (json.loads(row.figures).get("estimate") or {}) if row.figures else {}
    return OtherMould(
        row.name,
        row.stage,
        row.cast_id is not None and row.stage in _WITH_SLIP,
        row.last_read_at,
        _number(estimate.get("wall_mm")),
        _moment(_number(estimate.get("ready_s")), bench),
    )


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _moment(at_s: float | None, bench: Row[Any]) -> datetime | None:
    """Turn a bench's steady seconds into a moment, by that bench's own newest pair of both."""
    if at_s is None or bench.now_s is None:
        return None
    at: datetime = bench.now_at + timedelta(seconds=at_s - bench.now_s)
    return at
