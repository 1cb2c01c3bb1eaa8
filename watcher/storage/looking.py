"""Look into a bench's journal without holding it: the bench may be watched meanwhile."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from sqlalchemy import create_engine, make_url
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import NullPool

from watcher.records.kept import KeptCast
from watcher.storage.engine import JournalUnusable
from watcher.storage.restoring import read_casts


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
    parsed = make_url(url)
    if parsed.get_backend_name() == "sqlite":
        path = Path(parsed.database or "")
        if not path.exists():
            return {name: () for name in moulds}
        address = f"{path.resolve().as_uri()}?mode=ro"
        engine = create_engine(
            "sqlite://", creator=lambda: sqlite3.connect(address, uri=True), poolclass=NullPool
        )
    else:
        engine = create_engine(url, poolclass=NullPool)
    try:
        with engine.connect() as connection:
            return {name: read_casts(connection, bench_id, name, limit) for name in moulds}
    except SQLAlchemyError as fault:
        said = " ".join(str(getattr(fault, "orig", fault)).split())
        raise JournalUnusable(
            f"the bench's memory cannot be read: {said}; `tipbell check` tries it"
        ) from None
    finally:
        engine.dispose()
