"""The thread that keeps a bench and the shared database in step: rows out, words in."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Thread

from watcher.storage.awaiting import AT_ONCE, Awaiting
from watcher.storage.carrying import AnotherHome, Sender, be_heard, carry, load
from watcher.storage.journal import Journal
from watcher.storage.link import Away, Link
from watcher.storage.words import Word, heard_before, took, untaken
from watcher.storage.writer import JournalFailed

_LOG = logging.getLogger(__name__)
EVERY_S = 1.0
"""How often rows are carried and words are looked for. [s]"""

HEARD_EVERY = 5
"""In how many rounds a bench is heard once, even with nothing to carry."""

_WITHIN_S = 20.0
_STOP_WITHIN_S = 2.0
_GOODBYE_WITHIN_S = 0.5


@dataclass(frozen=True, slots=True)
class Round:
    """What one round did: rows that were carried, words that were taken."""

    rows: int = 0
    words: int = 0


class Courier:
    """Carry until closed.

    Parameters
    ----------
    journal : Journal
        The bench's own, in a file.
    awaiting : Awaiting
        What of it is still to be carried.
    link : Link
        Used by this courier alone.
    sender : Sender, optional
        What the bench tells of itself; without it only its name.
    hear : callable
        Takes in a word from another bench's page, once; returns why not, or an empty text.
    """

    def __init__(
        self,
        journal: Journal,
        awaiting: Awaiting,
        link: Link,
        sender: Sender | None = None,
        hear: Callable[[Word], str] = lambda word: "",
    ) -> None:
        self._journal = journal
        self._awaiting = awaiting
        self._link = link
        self._sender = sender or Sender(journal.bench_id, awaiting.home_id)
        self._hear = hear
        self._why = ""
        self._elsewhere: dict[str, None] = {}
        self._rounds = 0
        self._told: set[str] = set()
        self._stop = Event()
        self._thread = Thread(target=self._run, name="courier", daemon=True)

    @property
    def trouble(self) -> str:
        """A plain sentence while something does not work; else empty."""
        moulds = ", ".join(self._elsewhere)
        also = f"another bench casts in a mould called {moulds} too: tip it there, or give one its own name"
        return "; ".join(said for said in (self._link.trouble or self._why, also if moulds else "") if said)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def close(self) -> None:
        """Carry what waits and say goodbye, if that goes at once, then stop."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(_STOP_WITHIN_S)
            self._say_goodbye()
        self._link.close()

    def once(self) -> Round:
        """Do one round.

        Raises
        ------
        Away, AnotherHome, JournalFailed
            Nothing is lost: the next round does it.
        """
        rows = self._carry()
        return Round(rows, self._take_words())

    def _run(self) -> None:
        while True:
            try:
                done = self.once()
                self._why = ""
            except (Away, AnotherHome, JournalFailed) as fault:
                done = Round()
                self._why = str(fault)
            except Exception:  # noqa: BLE001 nothing that comes from outside may end the rounds
                done = Round()
                self._why = "rows cannot be carried to the shared database: see the log"
                _LOG.exception("event=courier_failed")
            if self._stop.wait(0.0 if done.rows >= AT_ONCE else EVERY_S):
                return

    def _say_goodbye(self) -> None:
        try:
            self._link.do(lambda shared: be_heard(shared, self._sender, gone=True), _GOODBYE_WITHIN_S)
        except (Away, AnotherHome):
            return  # the others notice by themselves

    def _carry(self) -> int:
        noted = self._awaiting.first()
        self._rounds += 1
        if not noted:
            if self._rounds % HEARD_EVERY == 1:
                self._link.do(lambda shared: be_heard(shared, self._sender), _WITHIN_S)
            return 0
        given = self._journal.ask(lambda own: load(own, self._sender.bench_id, noted))
        blocked = self._link.do(lambda shared: carry(shared, self._sender, given), _WITHIN_S)
        for row in given.rows.get("moulds", ()):
            self._elsewhere.pop(row["name"], None)
        self._elsewhere.update(dict.fromkeys(blocked))
        self._awaiting.carried(noted)
        return len(noted)

    def _take_words(self) -> int:
        words = self._link.do(lambda shared: untaken(shared, self._sender.bench_id))
        for word in words:
            self._take(word)
        return len(words)

    def _take(self, word: Word) -> None:
        answer = ""
        if word.word_id not in self._told and not self._heard(word):
            answer = self._hear(word)
            if not answer:
                self._told.add(word.word_id)
        if not answer and not self._heard(word):
            return  # it waits in the bench's own inbox; struck off once it is written
        self._link.do(lambda shared: took(shared, word.word_id, answer))
        self._told.discard(word.word_id)
        _LOG.info("event=word_taken word=%s what=%s answer=%r", word.word_id, word.what.value, answer)

    def _heard(self, word: Word) -> bool:
        # asked of the writer, so behind all that waits to be written
        return self._journal.write(lambda own: heard_before(own, self._sender.bench_id, word.word_id))
