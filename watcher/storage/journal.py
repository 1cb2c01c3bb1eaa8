"""The bench's memory: takes what happened, gives it back after a restart, answers about the past."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NoAnswer
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, func, insert, select
from sqlalchemy.exc import SQLAlchemyError

from watcher.clock import Moment
from watcher.records.bench import Bench, Step
from watcher.records.kept import KeptCast, Restored
from watcher.records.letters import Letter
from watcher.records.said import Said
from watcher.storage.desk import Desk, Papers
from watcher.storage.engine import Store, open_store
from watcher.storage.numbers import Numbers
from watcher.storage.outbox import JournalOutbox, Posted
from watcher.storage.papers import Paper, PaperKind, add_version, content_hash, newest_hashes, versions
from watcher.storage.pending import Job, Pending
from watcher.storage.restoring import last_moment, read_bench, read_casts, read_letters
from watcher.storage.schema import CASTS, METADATA, STARTS
from watcher.storage.thinning import KEEP_ALL_S, thick_fillings, thin
from watcher.storage.writer import JournalFailed, Writer

_LOG = logging.getLogger(__name__)
_Answer = TypeVar("_Answer")
WAIT_S = 10.0
"""No write keeps its caller waiting longer. [s]"""

HISTORY = 20


def open_journal(url: str, bench_id: str) -> Journal:
    """Open the journal of one bench, bringing its schema up to date.

    Parameters
    ----------
    url : str
        `sqlite:///folder/journal.db`, or another database that SQLAlchemy knows.
    bench_id : str
        The bench; several may share a database.

    Raises
    ------
    JournalUnusable
        With a plain sentence and what to do.
    """
    store = open_store(url)
    try:
        return Journal(store, bench_id)
    except BaseException:
        store.close()
        raise


class Journal:
    """The memory of one bench. Open it with `open_journal`. Every method may be called from any thread."""

    def __init__(self, store: Store, bench_id: str) -> None:
        self._store = store
        self._bench_id = bench_id
        with store.reading.connect() as connection:
            found = last_moment(connection, bench_id)
            self._last = found[0] if found is not None else None
            numbers = Numbers(max(found[1] if found is not None else 0, _newest_number(connection, bench_id)))
            now_s = self._last.at_s if self._last is not None else 0.0
            self._moulds, self._alerts, known = read_bench(connection, bench_id, now_s)
            unfinished = read_letters(connection, bench_id)
            profiles, slip = newest_hashes(connection, bench_id)
            self._casts = _newest_casts(connection, bench_id)
        self.outbox = JournalOutbox(unfinished, numbers.take, self._store_letters)
        desk = Desk(bench_id, numbers, Papers(profiles, slip), self._last)
        self._writer = Writer(store.writing, desk, known, self.outbox.enter)
        self._closed = False

    @property
    def path(self) -> Path | None:
        """The file, where the journal is one."""
        return self._store.path

    @property
    def bench_id(self) -> str:
        """The bench whose journal this is."""
        return self._bench_id

    def next_number(self) -> int:
        """Return a number that no row of this bench has, for a row that is written with `write`."""
        return self._writer.desk.numbers.take()

    @property
    def trouble(self) -> str:
        """A plain sentence while nothing can be written; else empty."""
        return self._writer.trouble

    def last_moment(self) -> Moment | None:
        """Return the newest moment of the last run, from which the clock goes on; None for a new bench."""
        return self._last

    def began(self, moment: Moment) -> None:
        """Note that the service has started, by which clock; returns once it is written."""
        desk = self._writer.desk
        self._writer.desk = replace(desk, boot=moment)

        def write(connection: Connection) -> None:
            row = {"began_s": moment.at_s, "began_at": moment.at, "boot_id": moment.boot_id}
            own = {"bench_id": self._bench_id, "seq": desk.numbers.take(), "ahead_s": moment.ahead_s}
            connection.execute(insert(STARTS), own | row)

        self.write(write)

    def restore(self) -> Restored:
        """Return the bench as it stood when the last run last wrote."""
        with self._store.reading.connect() as connection:
            history = {name: read_casts(connection, self._bench_id, name, HISTORY) for name in self._moulds}
        return Restored(self._moulds, self._alerts, history)

    def add(
        self, step: Step, said: Said | None = None, letters: Sequence[Letter] = (), *, durable: bool = False
    ) -> None:
        """Take in what one input led to: the new bench, what happened, what was said, letters to be sent.

        All of it is written in one transaction, so an alert is never remembered without its letters. Call it
        for every step: only differences are written, and a step without any costs a comparison. Casts,
        alerts, words and letters survive a power cut once written; readings of the last half minute may not.

        Parameters
        ----------
        step : Step
        said : Said, optional
            The input, where it was the caster's word.
        letters : sequence of Letter
            To be sent; they come out of `outbox` once they are written (or cannot be).
        durable : bool
            Return only when it is written.

        Raises
        ------
        JournalFailed
            Only with `durable`: it is not yet written. It is kept and tried again all the same.
        """
        posts = self.outbox.number(letters)
        about = self._cast_of(said, step.bench) if said is not None else ""
        for name, state in step.bench.moulds.items():
            if state.cast is not None:
                self._casts[name] = state.cast.cast_id
        written: Future[None] = Future()

        def into(pending: Pending) -> None:
            pending.stand(step.bench, step.events)
            pending.fresh.extend(posts)
            if said is not None:
                pending.said.append((said, about))
            if durable:
                pending.waiting.append(written)

        self._writer.gather(into)
        if durable:
            _wait(written)

    def casts(self, mould: str = "", limit: int = 50) -> tuple[KeptCast, ...]:
        """Return the newest casts of a mould (of all for an empty name) with their readings, newest first."""
        return self.ask(lambda connection: read_casts(connection, self._bench_id, mould, limit))

    def ask(self, question: Callable[[Connection], _Answer]) -> _Answer:
        """Answer a question on a connection that cannot write.

        Raises
        ------
        JournalFailed
            When the disk does not answer.
        """
        try:
            with self._store.reading.connect() as connection:
                return question(connection)
        except SQLAlchemyError as fault:
            raise JournalFailed(f"the journal cannot be read: {fault}") from fault

    def write(self, do: Callable[[Connection], _Answer]) -> _Answer:
        """Let the writer do something in its next transaction, and return what it gave.

        Raises
        ------
        JournalFailed
            It could not be written, and will not be tried again.
        """
        answer: Future[_Answer] = Future()
        self._writer.gather(lambda pending: pending.jobs.append(Job(do, answer)))
        return _wait(answer)

    def keep(self, kind: PaperKind, name: str, text: str, *, why: str, at: datetime) -> Paper:
        """Keep a new version of a profile, a slip or a calibration; casts that begin from now on name it.

        Returns
        -------
        Paper
            With its version; the newest one again when it says the same.
        """
        paper = Paper(kind, name, 0, content_hash(text), text, why, at)
        number = self._writer.desk.numbers.take()
        kept = self.write(
            lambda connection: add_version(connection, paper, bench_id=self._bench_id, seq=number)
        )
        profiles, slip = self.ask(lambda connection: newest_hashes(connection, self._bench_id))
        desk = self._writer.desk
        self._writer.desk = replace(desk, papers=Papers(profiles, slip))
        return kept

    def versions(self, kind: PaperKind, name: str) -> tuple[Paper, ...]:
        """Return every version of a paper, newest first."""
        return self.ask(lambda connection: versions(connection, self._bench_id, kind, name))

    def thin(self, now_s: float) -> int:
        """Thin out readings older than four weeks, a few fillings at a time; return how many rows went.

        For a quiet hour: the writer is free for the bench in between. Safe to be killed in, and to do again.
        """
        gone = 0
        while True:
            thick = self.ask(lambda connection: thick_fillings(connection, self._bench_id, now_s))
            old_s = now_s - KEEP_ALL_S
            some = self.write(
                partial(thin, bench_id=self._bench_id, fillings=thick, estimates_before_s=old_s)
            )
            gone += some
            if not some:
                return gone

    def close(self) -> None:
        """Write what waits and let go of the file. Twice is fine."""
        if self._closed:
            return
        self._closed = True
        self._writer.close()
        self._store.close()

    def _cast_of(self, said: Said, bench: Bench) -> str:
        """Return the cast that a word is about: the mould's present one, else its last one."""
        state = bench.moulds.get(said.mould)
        if state is not None and state.cast is not None:
            return state.cast.cast_id
        return self._casts.get(said.mould, "")

    def _store_letters(self, new: Sequence[Posted], changed: Sequence[Posted], wait: bool) -> None:
        written: Future[None] = Future()

        def into(pending: Pending) -> None:
            pending.letters.extend(new)
            pending.standings.update({post.letter_id: post for post in changed})
            if wait:
                pending.waiting.append(written)

        self._writer.gather(into)
        if wait:
            _wait(written)


def _wait(answer: Future[_Answer]) -> _Answer:
    try:
        return answer.result(WAIT_S)
    except NoAnswer:
        raise JournalFailed(f"the journal's disk has not answered for {WAIT_S:g} s") from None


def _newest_number(connection: Connection, bench_id: str) -> int:
    """Return the highest number that any row of this bench bears."""
    highest = 0
    for table in METADATA.sorted_tables:
        for name in {"seq", "changed"} & set(table.c.keys()):
            query = select(func.max(table.c[name])).where(table.c.bench_id == bench_id)
            highest = max(highest, connection.execute(query).scalar() or 0)
    return highest


def _newest_casts(connection: Connection, bench_id: str) -> dict[str, str]:
    """Return the id of the last cast of each mould."""
    query = (
        select(CASTS.c.mould, CASTS.c.cast_id).where(CASTS.c.bench_id == bench_id).order_by(CASTS.c.began_s)
    )
    return {row.mould: row.cast_id for row in connection.execute(query)}
