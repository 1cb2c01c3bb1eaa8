"""Look into a bench's journal without holding it: the bench may be watched meanwhile."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, create_engine, make_url, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import NullPool

from watcher.records.kept import KeptCast
from watcher.storage.engine import JournalUnusable
from watcher.storage.papers import Paper, PaperKind
from watcher.storage.restoring import read_casts
from watcher.storage.schema import PAPERS

_Answer = TypeVar("_Answer")


def look_back(url: str, bench_id: str, moulds: Sequence[str], limit: int) -> dict[str, tuple[KeptCast, ...]]:
    """Return the newest casts of each mould, newest first; nothing where there is no journal yet.

    Parameters
    ----------
    url : str
        As for `open_journal`. Nothing is written, made or brought up to date.
    bench_id : str
    moulds : sequence of str
    limit : int
        Casts of each mould at most.

    Raises
    ------
    JournalUnusable
        It cannot be read, with a plain sentence.
    """

    def ask(connection: Connection) -> dict[str, tuple[KeptCast, ...]]:
        return {name: read_casts(connection, bench_id, name, limit) for name in moulds}

    return _asked(url, ask, {})


def newest_slip(url: str, bench_id: str) -> Paper | None:
    """Return the slip that was kept last, None where there is none; raises as `look_back`."""
    own = PAPERS.c
    query = (
        select(PAPERS)
        .where(own.bench_id == bench_id, own.kind == PaperKind.SLIP.value)
        .order_by(own.seq.desc())
        .limit(1)
    )

    def ask(connection: Connection) -> Paper | None:
        row = connection.execute(query).one_or_none()
        if row is None:
            return None
        return Paper(
            PaperKind(row.kind), row.name, row.version, row.content_hash, row.text, row.why, row.kept_at
        )

    return _asked(url, ask, None)


def _asked(url: str, question: Callable[[Connection], _Answer], without: _Answer) -> _Answer:
    """Answer a question on a connection of its own; `without` where there is no journal yet."""
    parsed = make_url(url)
    if parsed.get_backend_name() == "sqlite":
        path = Path(parsed.database or "")
        if not path.exists():
            return without
        address = f"{path.resolve().as_uri()}?mode=ro"
        engine = create_engine(
            "sqlite://", creator=lambda: sqlite3.connect(address, uri=True), poolclass=NullPool
        )
    else:
        engine = create_engine(url, poolclass=NullPool)
    try:
        with engine.connect() as connection:
            return question(connection)
    except SQLAlchemyError as fault:
        said = " ".join(str(getattr(fault, "orig", fault)).split())
        raise JournalUnusable(
            f"the bench's memory cannot be read: {said}; `tipbell check` tries it"
        ) from None
    finally:
        engine.dispose()
