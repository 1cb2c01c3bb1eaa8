"""What another bench remembers of a mould: read in the shared database, taken into a bench's own journal."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select

from watcher.records.bench import Stage
from watcher.records.elsewhere import History, MouldElsewhere
from watcher.storage.known import Row
from watcher.storage.papers import PaperKind
from watcher.storage.schema import (
    BENCHES,
    CASTS,
    FILLINGS,
    FINDINGS,
    MOULDS,
    PAPERS,
    READINGS,
    SAID,
    WEIGHINGS,
)
from watcher.storage.schema_told import TOLD

_WITH_SLIP = (Stage.FILLING.value, Stage.CASTING.value)
_OF_CASTS = (FILLINGS, FINDINGS, SAID)
_OF_MOULD = (WEIGHINGS, TOLD)
_SECONDS: Mapping[str, tuple[str, ...]] = {
    CASTS.name: ("began_s", "tipped_s"),
    FILLINGS.name: ("earliest_s", "latest_s"),
    READINGS.name: ("at_s",),
    SAID.name: ("at_s",),
}


def moulds_elsewhere(shared: Connection, own_id: str) -> tuple[MouldElsewhere, ...]:
    """Return the moulds that other benches know, by bench and name."""
    paper, cast = PAPERS.c, CASTS.c
    query = (
        select(
            paper.bench_id, paper.name, func.count().label("versions"), func.max(paper.kept_at).label("at")
        )
        .where(paper.bench_id != own_id, paper.kind == PaperKind.PROFILE.value)
        .group_by(paper.bench_id, paper.name)
        .order_by(paper.bench_id, paper.name)
    )
    counted = (
        select(cast.bench_id, cast.mould, func.count().label("casts"))
        .where(cast.bench_id != own_id, cast.taken_back.is_(False))
        .group_by(cast.bench_id, cast.mould)
    )
    casts = {(row.bench_id, row.mould): row.casts for row in shared.execute(counted)}
    own = MOULDS.c
    open_ = select(own.bench_id, own.name).where(own.cast_id.is_not(None), own.stage.in_(_WITH_SLIP))
    casting = {(row.bench_id, row.name) for row in shared.execute(open_)}
    return tuple(
        MouldElsewhere(
            row.bench_id,
            row.name,
            row.versions,
            row.at,
            casts.get((row.bench_id, row.name), 0),
            (row.bench_id, row.name) in casting,
        )
        for row in shared.execute(query)
    )


def history_elsewhere(shared: Connection, bench_id: str, mould: str) -> History | None:
    """Return all that a bench remembers of a mould; None where it has never had a profile of it."""
    paper = PAPERS.c
    papers = shared.execute(
        select(PAPERS)
        .where(paper.bench_id == bench_id, paper.kind == PaperKind.PROFILE.value, paper.name == mould)
        .order_by(paper.version)
    ).all()
    moment = shared.execute(select(BENCHES).where(BENCHES.c.bench_id == bench_id)).one_or_none()
    if not papers or moment is None:
        return None
    own, cast = MOULDS.c, CASTS.c
    now = shared.execute(select(MOULDS).where(own.bench_id == bench_id, own.name == mould)).one_or_none()
    casting = now is not None and now.cast_id is not None and now.stage in _WITH_SLIP
    ended = [cast.bench_id == bench_id, cast.mould == mould, cast.taken_back.is_(False)]
    if casting and now is not None:
        ended.append(cast.cast_id != now.cast_id)
    rows: dict[str, Sequence[Row]] = {CASTS.name: _rows(shared, CASTS, *ended)}
    ids = [row["cast_id"] for row in rows[CASTS.name]]
    for table in _OF_CASTS:
        rows[table.name] = _rows(shared, table, table.c.bench_id == bench_id, table.c.cast_id.in_(ids))
    fillings = [row["seq"] for row in rows[FILLINGS.name]]
    own_readings = (READINGS.c.bench_id == bench_id, READINGS.c.filling_seq.in_(fillings))
    rows[READINGS.name] = _rows(shared, READINGS, *own_readings)
    for table in _OF_MOULD:
        rows[table.name] = _rows(shared, table, table.c.bench_id == bench_id, table.c.mould == mould)
    profiles = tuple((row.text, row.why, row.kept_at) for row in papers)
    return History(bench_id, mould, profiles, rows, moment.now_s, moment.now_at, casting)


def take_in(
    journal: Connection,
    bench_id: str,
    history: History,
    next_number: Callable[[], int],
    now: tuple[float, datetime],
) -> int:
    """Add to a bench's own journal what it does not have yet of a mould's past; return how many casts came.

    Doing so again adds what is new. Casts keep their names, by which they are known again; seconds are turned
    into this bench's by both benches' clocks on the wall.

    Parameters
    ----------
    now : tuple of float and datetime
        One moment by this bench's two clocks. [s]
    """
    shift_s = (now[0] - history.now_s) - (now[1] - history.now_at).total_seconds()
    own = CASTS.c
    known = set(journal.execute(select(own.cast_id).where(own.bench_id == bench_id)).scalars())
    casts = [row for row in history.rows[CASTS.name] if row["cast_id"] not in known]
    new = {row["cast_id"] for row in casts}
    seqs: dict[int, int] = {}
    for table in (CASTS, *_OF_CASTS):
        for row in history.rows[table.name]:
            if row["cast_id"] in new:
                seq = _put(journal, table, row, bench_id, next_number, shift_s)
                if table is FILLINGS:
                    seqs[row["seq"]] = seq
    for row in history.rows[READINGS.name]:
        if row["filling_seq"] in seqs:
            changed = {**row, "filling_seq": seqs[row["filling_seq"]]}
            _put(journal, READINGS, changed, bench_id, next_number, shift_s)
    for table in _OF_MOULD:
        had = {row["at"] for row in _rows(journal, table, table.c.bench_id == bench_id)}
        for row in history.rows[table.name]:
            if row["at"] not in had:
                _put(journal, table, row, bench_id, next_number, shift_s)
    return len(casts)


def _rows(connection: Connection, table: Table[Any], *where: Any) -> list[Row]:
    query = select(table).where(*where).order_by(table.c.seq)
    return [dict(row._mapping) for row in connection.execute(query)]


def _put(
    journal: Connection,
    table: Table[Any],
    row: Row,
    bench_id: str,
    next_number: Callable[[], int],
    shift_s: float,
) -> int:
    seq = next_number()
    given = {**row, "bench_id": bench_id, "seq": seq}
    if "changed" in given:
        given["changed"] = seq
    for name in _SECONDS.get(table.name, ()):
        if given[name] is not None:
            given[name] += shift_s
    if table is CASTS:
        given["figures"] = json.dumps(_shifted(json.loads(row["figures"]), shift_s), separators=(",", ":"))
        given["steps"] = _shifted_steps(row["steps"], shift_s)
    if table is SAID:
        given["word_id"] = ""
    journal.execute(insert(table), given)
    return seq


def _shifted(figures: dict[str, Any], shift_s: float) -> dict[str, Any]:
    """Turn the moments of a tip's estimate into another bench's seconds."""
    estimate = figures.get("estimate")
    if not isinstance(estimate, dict):
        return figures
    moved = {
        key: value + shift_s if key.endswith("_s") and isinstance(value, int | float) else value
        for key, value in estimate.items()
    }
    return {**figures, "estimate": moved}


def _shifted_steps(text: str, shift_s: float) -> str:
    kept = json.loads(text)
    kept["noted"] = [[step, at_s + shift_s, said] for step, at_s, said in kept.get("noted", ())]
    return json.dumps(kept)
