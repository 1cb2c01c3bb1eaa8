"""Open the database: one connection that writes, any number that only read, the schema brought up to date."""

from __future__ import annotations

import fcntl
import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

REVISION = "0010"
"""The schema's newest revision; the same as in `migrations/versions`."""

_BUSY_MS = 5000


class JournalUnusable(OSError):
    """The journal cannot be opened. Its message is a plain sentence with what to do."""


@dataclass(frozen=True, slots=True)
class Store:
    """An open database.

    Attributes
    ----------
    writing, reading : Engine
        The one that the writer alone uses, and the one for questions, which cannot write.
    path : Path or None
        The file, where it is one.
    close : callable
        Let go of everything.
    """

    writing: Engine
    reading: Engine
    path: Path | None
    close: Callable[[], None]


def open_store(url: str) -> Store:
    """Open the database behind a URL and bring its schema up to date.

    Parameters
    ----------
    url : str
        `sqlite:///folder/journal.db`, or another database that SQLAlchemy knows.

    Raises
    ------
    JournalUnusable
        Another program holds it, it is damaged, from a newer version, or the folder cannot be written.
    """
    if make_url(url).get_backend_name() != "sqlite":
        return _open_server(url)
    path = Path(make_url(url).database or "")
    if path.name in ("", ":memory:"):
        raise JournalUnusable("the journal needs a file: sqlite:///folder/journal.db")
    lock = _hold(path)
    writing = create_engine(url, connect_args={"timeout": _BUSY_MS / 1000, "check_same_thread": False})
    event.listen(writing, "connect", _writer_settings)
    event.listen(writing, "begin", _begin_immediate)
    address = f"{path.resolve().as_uri()}?mode=ro"
    reading = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(address, uri=True, check_same_thread=False),
        poolclass=QueuePool,
    )
    event.listen(reading, "connect", _reader_settings)

    def close() -> None:
        reading.dispose()
        writing.dispose()
        if lock is not None:
            os.close(lock)

    try:
        _upgrade(writing, path)
    except BaseException:
        close()
        raise
    return Store(writing, reading, path, close)


def _open_server(url: str) -> Store:
    engine = server_engine(url)
    try:
        bring_up_to_date(engine, url)
    except BaseException:
        engine.dispose()
        raise
    return Store(engine, engine.execution_options(postgresql_readonly=True), None, engine.dispose)


def server_engine(url: str) -> Engine:
    """Return an engine for a database server that gives up soon on one that does not answer.

    A program that was stopped in the middle must not keep others waiting: the server itself ends its
    transaction after ten seconds.
    """
    within = "-c statement_timeout=20000 -c lock_timeout=10000 -c idle_in_transaction_session_timeout=10000"
    options: dict[str, Any] = {
        "connect_timeout": 3,
        "keepalives_idle": 5,
        "keepalives_interval": 2,
        "keepalives_count": 3,
        "tcp_user_timeout": 6000,
        "options": within,
    }
    postgresql = make_url(url).get_backend_name() == "postgresql"
    return create_engine(url, pool_pre_ping=True, connect_args=options if postgresql else {})


def bring_up_to_date(engine: Engine, url: str) -> None:
    """Take the schema's steps that this database has not taken yet.

    Raises
    ------
    JournalUnusable
        It does not answer, refuses us, or was written by a newer version.
    """
    _upgrade(engine, make_url(url).render_as_string(hide_password=True))


def _hold(path: Path) -> int:
    """Take the lock that keeps a second service from writing the same journal; it ends with the process."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        lock = os.open(path.with_name(path.name + ".lock"), os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as fault:
        raise JournalUnusable(
            f"cannot write in {path.parent}: {fault.strerror}; give the journal another folder"
        ) from None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(lock)
        raise JournalUnusable(f"another Tipbell is already writing {path.name}; stop it first") from None
    return lock


def _writer_settings(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # transactions begin where we say, not where the driver guesses
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={_BUSY_MS}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _reader_settings(connection: Any, _: Any) -> None:
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={_BUSY_MS}")
    cursor.execute("PRAGMA query_only=ON")
    cursor.close()


def _begin_immediate(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _upgrade(engine: Engine, name: object) -> None:
    try:
        with engine.connect() as connection:
            found = _revision(connection)
        if found == REVISION:
            return
        if found is not None and found > REVISION:
            raise JournalUnusable(
                f"{name} was written by a newer Tipbell (revision {found}); update this one"
            )
        _migrate(engine)
    except DBAPIError as fault:
        said = " ".join(str(fault.orig).split())
        cure = "if it is damaged, put the newest backup in its place"
        if engine.dialect.name != "sqlite":
            cure = "is the database server up, and are name and password right?"
        raise JournalUnusable(f"{name} cannot be used: {said}; {cure}") from fault


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def _migrate(engine: Engine) -> None:
    with engine.begin() as connection:
        if engine.dialect.name == "postgresql":  # benches that start together take turns
            connection.execute(text("SELECT pg_advisory_xact_lock(84170001)"))
            if _revision(connection) == REVISION:  # somebody before us has done it
                return
        # 0.3 s to load: only when there is something to do
        from alembic import command
        from alembic.config import Config

        settings = Config()
        settings.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
        settings.attributes["connection"] = connection
        command.upgrade(settings, "head")
