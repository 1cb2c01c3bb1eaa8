"""The way to the database that benches share: work is done there on a thread of its own, or given up soon.

A server that is frozen, or behind a cable that was pulled, answers nothing at all; whoever asks must not wait
for it. So each asker waits a set time and then goes on without; the thread may wait on.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NoAnswer
from queue import Queue
from threading import Lock, Thread
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from watcher.storage.engine import JournalUnusable, bring_up_to_date, server_engine

_LOG = logging.getLogger(__name__)
_Answer = TypeVar("_Answer")
REST_S = 1.0
"""After a fault nothing is tried for so long. [s]"""


class Away(OSError):
    """The shared database does not answer now. The message is a plain sentence."""


class Link:
    """One connection to the shared database, made when it is first needed and again after a fault.

    Parameters
    ----------
    url : str
        As `postgresql+psycopg://...`.
    steady_s : callable
        Seconds that only go on.
    """

    def __init__(self, url: str, steady_s: Callable[[], float] = time.monotonic) -> None:
        self._url = url
        self._steady_s = steady_s
        self._engine: Engine | None = None
        self._jobs: Queue[tuple[Callable[[Connection], Any], Future[Any]] | None] = Queue()
        self._lock = Lock()
        self._hangs: Future[Any] | None = None
        self._rest_until_s = float("-inf")
        self._why = ""
        self._thread = Thread(target=self._run, name="shared", daemon=True)
        self._thread.start()

    @property
    def trouble(self) -> str:
        """A plain sentence while the database does not answer; else empty."""
        return self._why

    def do(self, work: Callable[[Connection], _Answer], within_s: float = 2.0) -> _Answer:
        """Do something there in one transaction and return what it gave.

        Raises
        ------
        Away
            It did not answer in time, or not at all. What was asked may be done all the same.
        """
        answer: Future[_Answer] = Future()
        if self._given_up() or not self._lock.acquire(timeout=within_s):
            raise Away(self._why or "the shared database is slow")
        try:
            if self._given_up():
                raise Away(self._why)
            self._jobs.put((work, answer))
            return answer.result(within_s)
        except NoAnswer:
            self._hangs = answer
            self._why = f"the shared database has not answered for {within_s:g} s; this bench goes on alone"
            raise Away(self._why) from None
        finally:
            self._lock.release()

    def _given_up(self) -> bool:
        hangs = self._hangs is not None and not self._hangs.done()
        return hangs or self._steady_s() < self._rest_until_s

    def close(self) -> None:
        """Let go of it; what hangs is left hanging."""
        self._jobs.put(None)
        self._thread.join(1.0)

    def _run(self) -> None:
        while (job := self._jobs.get()) is not None:
            work, answer = job
            try:
                got = self._worked(work)
            except (SQLAlchemyError, JournalUnusable) as fault:
                self._fault(fault)
                answer.set_exception(Away(self._why))
            except Exception as fault:  # noqa: BLE001 whoever asked hears of it
                answer.set_exception(fault)
            else:
                if self._why:
                    _LOG.warning("event=shared_database_back")
                self._why = ""
                answer.set_result(got)
        if self._engine is not None:
            self._engine.dispose()

    def _worked(self, work: Callable[[Connection], _Answer]) -> _Answer:
        if self._engine is None:
            engine = server_engine(self._url)
            try:
                bring_up_to_date(engine, self._url)
            except BaseException:
                engine.dispose()
                raise
            self._engine = engine
        with self._engine.begin() as connection:
            return work(connection)

    def _fault(self, fault: Exception) -> None:
        said = " ".join(str(getattr(fault, "orig", None) or fault).split())
        sentence = f"the shared database does not answer ({said[:160]}); this bench goes on alone"
        if sentence != self._why:
            _LOG.error("event=shared_database_away why=%r", sentence)
        self._why = sentence
        self._rest_until_s = self._steady_s() + REST_S
        if self._engine is not None:
            self._engine.dispose()
