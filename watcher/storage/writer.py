"""The one thread that writes.

It takes whatever waits, works out what differs from what the database holds, and writes that in one
transaction. When it cannot write (disk full, read-only, gone) nothing is dropped: what waits is kept and
tried again every second, and the newest bench carries all that happened to its casts meanwhile.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import replace
from threading import Condition, Thread
from typing import Any

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, OperationalError, SQLAlchemyError

from watcher.clock import Moment
from watcher.storage.changes import changes
from watcher.storage.desk import Desk
from watcher.storage.known import Draft, Known, Row
from watcher.storage.outbox import Posted, letter_row, standing_row
from watcher.storage.pending import Pending
from watcher.storage.rows import carry_out
from watcher.storage.schema import BENCHES, EVENTS, OUTBOX, SAID

_LOG = logging.getLogger(__name__)
MOMENT_EVERY_S = 30.0
"""How often the bench's newest moment is written while nothing else happens. [s]"""

_TRY_AGAIN_S = 1.0
_CLOSE_WITHIN_S = 15.0


class JournalFailed(OSError):
    """Something could not be written now. The message is a plain sentence with what to do."""


class Writer:
    """Write until closed.

    Parameters
    ----------
    engine : Engine
        Used by this thread alone.
    desk : Desk
    known : Known
        What the database holds at the start.
    tried : callable
        Told of new letters as soon as they were written, or could not be.
    """

    def __init__(
        self, engine: Engine, desk: Desk, known: Known, tried: Callable[[Sequence[Posted]], None]
    ) -> None:
        self._engine = engine
        self.desk = desk
        self._known = known
        self._tried = tried
        self._pending = Pending()
        self._changed = Condition()
        self._closing = False
        self.trouble = ""
        self._thread = Thread(target=self._run, name="journal", daemon=True)
        self._thread.start()

    def gather(self, into: Callable[[Pending], None]) -> None:
        """Let something be added to what waits."""
        with self._changed:
            if self._closing:
                raise JournalFailed("the journal is closed")
            into(self._pending)
            self._changed.notify()

    def close(self) -> None:
        """Write what waits, then stop. Twice is fine."""
        with self._changed:
            self._closing = True
            self._changed.notify()
        self._thread.join(_CLOSE_WITHIN_S)

    def _run(self) -> None:
        while True:
            with self._changed:
                if self.trouble and not self._closing:
                    self._changed.wait(_TRY_AGAIN_S)
                while not self._pending and not self._closing:
                    self._changed.wait()
                taken, self._pending = self._pending, Pending()
                closing = self._closing
            if taken:
                self._write(taken)
            if closing:
                return

    def _write(self, taken: Pending) -> None:
        fault: BaseException | None = None
        try:
            answers = self._transact(taken)
        except OperationalError as error:
            fault = self._note(error)
            self._engine.dispose()  # after a fault of the disk only a new connection is sure to start clean
            with self._changed:
                self._pending.put_back(taken)
        except (SQLAlchemyError, ValueError, TypeError, ArithmeticError) as error:
            fault = self._note(error)
            self._salvage(taken)
        else:
            if self.trouble:
                _LOG.warning("event=journal_well_again")
            self.trouble = ""
            for job, answer in zip(taken.jobs, answers, strict=True):
                job.answer.set_result(answer)
        self._tried(taken.fresh)
        _tell(taken.waiting, fault)
        if fault is not None:
            _tell([job.answer for job in taken.jobs], fault)

    def _transact(self, taken: Pending) -> list[Any]:
        desk = self.desk
        known, draft = self._known, Draft()
        for stand in taken.stands:
            known = changes(stand.bench, stand.events, known, desk, draft)
        _words(desk, taken, draft)
        bench = taken.stands[-1].bench if taken.stands else None
        if bench is not None and bench.now_at is not None:
            if draft.changes or bench.now_s - known.moment_s >= MOMENT_EVERY_S:
                now = Moment(bench.now_s, bench.now_at, *_start(desk))
                draft.put(BENCHES, moment_row(desk, now), new=True, durable=False)
                known = replace(known, moment_s=bench.now_s)
        answers: list[Any] = []
        if draft.changes or taken.jobs:
            with self._engine.connect() as connection:
                _set_safety(connection, draft.durable or taken.must_last)
                with connection.begin():
                    carry_out(connection, draft.changes, desk.bench_id)
                    answers = [job.do(connection) for job in taken.jobs]
        self._known = known
        return answers

    def _note(self, error: Exception) -> JournalFailed:
        said = str(error.orig) if isinstance(error, DBAPIError) else str(error)
        sentence = _sentence(said)
        if sentence != self.trouble:
            _LOG.error("event=journal_failed why=%r said=%r", sentence, said)
        self.trouble = sentence
        return JournalFailed(sentence)

    def _salvage(self, taken: Pending) -> None:
        """Write each part alone, and let go of the one that can never be written."""
        parts = [
            Pending(letters=taken.letters + taken.fresh),
            Pending(standings=taken.standings),
            Pending(said=taken.said),
            *(Pending(stands=[stand]) for stand in taken.stands),
        ]
        for part in parts:
            try:
                self._transact(part)
            except OperationalError:
                with self._changed:
                    self._pending.put_back(part)
            except (SQLAlchemyError, ValueError, TypeError, ArithmeticError):
                _LOG.exception("event=journal_part_lost")


def _set_safety(connection: Connection, durable: bool) -> None:
    """Wait for the disk after this transaction only where it matters: waiting is slow and wears out cards."""
    if connection.dialect.name == "sqlite":
        raw = connection.connection.cursor()  # before the transaction begins: within one it has no effect
        raw.execute(f"PRAGMA synchronous={'FULL' if durable else 'NORMAL'}")
        raw.close()


def moment_row(desk: Desk, moment: Moment) -> Row:
    """Return the bench's row: its newest moment and the newest number it gave."""
    return {
        "bench_id": desk.bench_id,
        "last_seq": desk.numbers.last,
        "now_s": moment.at_s,
        "now_at": moment.at,
        "boot_id": moment.boot_id,
        "ahead_s": moment.ahead_s,
    }


def _start(desk: Desk) -> tuple[str, float]:
    return (desk.boot.boot_id, desk.boot.ahead_s) if desk.boot is not None else ("", 0.0)


def _words(desk: Desk, taken: Pending, draft: Draft) -> None:
    """Add events, what the caster said, and letters."""
    for event in [event for stand in taken.stands for event in stand.events]:
        row = {
            "mould": event.mould,
            "event": event.event,
            "at_s": event.at_s,
            "at": event.at,
            "detail": event.detail,
        }
        draft.put(EVENTS, _own(desk) | row, new=True)
    for said, cast_id in taken.said:
        row = {
            "what": said.what.value,
            "at_s": said.at_s,
            "at": said.at,
            "mould": said.mould,
            "cast_id": cast_id,
            "alert_id": said.alert_id,
            "value": said.value,
            "note": said.note,
            "who": said.who,
            "word_id": said.word_id,
        }
        draft.put(SAID, _own(desk) | row, new=True)
    for post in (*taken.letters, *taken.fresh):
        own = {"bench_id": desk.bench_id, "seq": post.letter_id, "changed": desk.numbers.take()}
        draft.put(OUTBOX, own | letter_row(post), new=True)
    for post in taken.standings.values():
        own = {"bench_id": desk.bench_id, "seq": post.letter_id, "changed": desk.numbers.take()}
        draft.put(OUTBOX, own | standing_row(post), new=False)


def _own(desk: Desk) -> Row:
    return {"bench_id": desk.bench_id, "seq": desk.numbers.take()}


def _tell(waiting: Sequence[Future[Any]], fault: BaseException | None) -> None:
    for one in waiting:
        if fault is None:
            one.set_result(None)
        else:
            one.set_exception(fault)


def _sentence(said: str) -> str:
    if "full" in said:
        return (
            "the disk is full: nothing is remembered until space is freed; casts are still watched and called"
        )
    if "readonly" in said or "read-only" in said:
        return "the journal may not be written: make its disk writable; casts are still watched and called"
    if "unable to open" in said or "I/O error" in said:
        return (
            "the journal's disk does not answer: look at its plug or card; casts are still watched and called"
        )
    if "locked" in said:
        return "another program holds the journal; stop it"
    return f"the journal cannot be written ({said[:120]}); casts are still watched and called"
