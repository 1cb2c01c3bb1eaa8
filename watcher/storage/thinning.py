"""After some weeks a minute's readings become one; casts, fillings and all that was said stay for ever."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, bindparam, delete, func, select

from watcher.storage.schema import ESTIMATES, FILLINGS, MOULDS, READINGS

KEEP_ALL_S = 28 * 86_400.0
"""Readings younger than this are all kept. [s]"""

ONE_IN_S = 60.0
"""Of older ones the first of each such span is kept, and the last of its filling. [s]"""

_AT_ONCE = 20  # fillings in one transaction: the writer must not be kept from the bench for long


def thick_fillings(
    connection: Connection,
    bench_id: str,
    now_s: float,
    *,
    keep_all_s: float = KEEP_ALL_S,
    one_in_s: float = ONE_IN_S,
) -> tuple[int, ...]:
    """Return some old fillings of casts that no mould holds any more, with more readings than are kept.

    A slow question for a connection that only reads: the writer is not kept from the bench.

    Parameters
    ----------
    now_s : float
        The bench's present moment. [s]
    keep_all_s : float
        Age from which a filling is thinned. [s]
    one_in_s : float
        Span of which one reading is kept. [s]
    """
    own, read = FILLINGS.c, READINGS.c
    open_casts = select(MOULDS.c.cast_id).where(MOULDS.c.bench_id == bench_id, MOULDS.c.cast_id.is_not(None))
    spans = func.count(func.distinct(func.round(read.at_s / one_in_s - 0.5)))
    query = (
        select(own.seq)
        .join(READINGS, (read.bench_id == own.bench_id) & (read.filling_seq == own.seq))
        .where(own.bench_id == bench_id, own.latest_s < now_s - keep_all_s, own.cast_id.not_in(open_casts))
        .group_by(own.seq)
        .having(func.count() > spans + 2)
        .limit(_AT_ONCE)
    )
    return tuple(int(seq) for (seq,) in connection.execute(query))


def thin(
    connection: Connection,
    bench_id: str,
    fillings: Sequence[int],
    *,
    estimates_before_s: float,
    one_in_s: float = ONE_IN_S,
) -> int:
    """Thin out these fillings, and drop some of what was foretold before a moment; return the rows gone."""
    gone = 0
    own = READINGS.c
    for filling_seq in fillings:
        readings = connection.execute(
            select(own.seq, own.at_s)
            .where(own.bench_id == bench_id, own.filling_seq == filling_seq)
            .order_by(own.seq)
        ).all()
        kept = _kept([row.at_s for row in readings], one_in_s)
        rows = [{"own_seq": row.seq} for place, row in enumerate(readings) if place not in kept]
        if rows:
            connection.execute(
                delete(READINGS).where(own.bench_id == bench_id, own.seq == bindparam("own_seq")), rows
            )
        gone += len(rows)
    return gone + _old_estimates(connection, bench_id, estimates_before_s)


def _kept(times_s: list[float], one_in_s: float) -> set[int]:
    kept, spans = {len(times_s) - 1}, set()
    for place, at_s in enumerate(times_s):
        span = at_s // one_in_s
        if span not in spans:
            spans.add(span)
            kept.add(place)
    return kept


def _old_estimates(connection: Connection, bench_id: str, before_s: float) -> int:
    """Drop what was foretold for old casts: the last word stands in the cast itself."""
    own = ESTIMATES.c
    old = select(own.seq).where(own.bench_id == bench_id, own.at_s < before_s).limit(2000)
    gone = connection.execute(delete(ESTIMATES).where(own.bench_id == bench_id, own.seq.in_(old)))
    return int(gone.rowcount)
