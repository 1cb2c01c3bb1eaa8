"""The outbox of a bench that shares a database: its own letters first, then those that others cannot send.

A letter is claimed in the shared database before it is sent, so that one bench alone sends it. A bench that
cannot reach that database sends its own all the same, marked as a possible repeat once another bench may have
taken it over. A letter of another bench is always marked so: whether it was sent before its bench fell silent
is not known.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from threading import Lock

from watcher.records.letters import Letter, LetterState, Outgoing, SendFailed
from watcher.records.pauses import LETTER_PAUSES_S, pause_s
from watcher.storage.claims import LEASE_S, Claim, Taken, claim_other, claim_own, end_claim
from watcher.storage.link import Away, Link
from watcher.storage.outbox import JournalOutbox

_LOG = logging.getLogger(__name__)
OTHERS_EVERY_S = 2.0
"""How often another bench's letters are looked for. [s]"""

ALONE_S = LEASE_S / 2
"""A letter younger than this cannot have been taken over: the lease is twice as long. [s]"""

_WITHIN_S = 2.0
_NO_USE_S = 300.0


class SharedOutbox:
    """Letters of this bench and, where they fall silent, of the others. Any method from any thread.

    Parameters
    ----------
    own : JournalOutbox
        The outbox of the bench's own journal.
    link : Link
        To the shared database; used by this outbox alone.
    bench_id : str
    """

    def __init__(self, own: JournalOutbox, link: Link, bench_id: str) -> None:
        self._own = own
        self._link = link
        self._bench_id = bench_id
        self._lock = Lock()
        self._fences: dict[int, int] = {}
        self._taken: dict[int, Taken] = {}
        self._number = 0
        self._next_look_s: dict[str, float] = {}

    def put(self, letters: Sequence[Letter]) -> None:
        """Take letters of this bench in."""
        self._own.put(letters)

    def withdraw(self, alert_ids: Collection[str]) -> int:
        """Drop letters of this bench that are no longer needed."""
        return self._own.withdraw(alert_ids)

    def claim(
        self, channel: str, now_s: float, holds: Callable[[Letter], bool] | None = None
    ) -> Outgoing | None:
        """Return the next letter to be sent on this channel, claimed; None while there is none."""
        outgoing = self._own.claim(channel, now_s, holds)
        if outgoing is None:
            return self._of_others(channel, now_s, holds)
        try:
            claim = self._link.do(
                lambda shared: claim_own(shared, self._bench_id, outgoing.letter_id), _WITHIN_S
            )
        except Away:
            old = now_s - outgoing.letter.written_s > ALONE_S
            return replace(outgoing, repeat=outgoing.repeat or old)
        return self._allowed(outgoing, claim, now_s)

    def told(self, outgoing: Outgoing) -> None:
        """Write that the channel took it."""
        if outgoing.letter_id < 0:
            self._end_taken(outgoing, LetterState.TOLD, 0.0)
            return
        self._own.told(outgoing)
        with self._lock:
            fence = self._fences.pop(outgoing.letter_id, None)
        if fence is not None:
            self._end(self._bench_id, outgoing.letter_id, fence, LetterState.TOLD, 0.0)

    def failed(self, outgoing: Outgoing, failure: SendFailed, now_s: float) -> None:
        """Write that it was not taken; from now on another bench may try as well."""
        if outgoing.letter_id < 0:
            rest_s = _NO_USE_S if failure.permanent else pause_s(LETTER_PAUSES_S, outgoing.tries + 1)
            self._end_taken(outgoing, LetterState.RETRYING, rest_s)
            return
        self._own.failed(outgoing, failure, now_s)
        with self._lock:
            fence = self._fences.pop(outgoing.letter_id, None)
        if fence is not None:
            self._end(self._bench_id, outgoing.letter_id, fence, LetterState.RETRYING, 0.0)

    def _allowed(self, outgoing: Outgoing, claim: Claim, now_s: float) -> Outgoing | None:
        if claim.ended:
            _LOG.info("event=told_elsewhere letter=%d by=%s", outgoing.letter_id, claim.by)
            self._own.told(outgoing)
            return None
        if claim.fence is None:
            why = f"bench {claim.by} is sending it"
            self._own.failed(outgoing, SendFailed(outgoing.letter.channel, False, why, unsure=True), now_s)
            return None
        with self._lock:
            self._fences[outgoing.letter_id] = claim.fence
        elsewhere = claim.by not in ("", self._bench_id)
        return replace(outgoing, repeat=outgoing.repeat or elsewhere)

    def _of_others(
        self, channel: str, now_s: float, holds: Callable[[Letter], bool] | None
    ) -> Outgoing | None:
        with self._lock:
            if now_s < self._next_look_s.get(channel, float("-inf")):
                return None
            self._next_look_s[channel] = now_s + OTHERS_EVERY_S
        try:
            taken = self._link.do(lambda shared: claim_other(shared, self._bench_id, channel), _WITHIN_S)
        except Away:
            return None
        if taken is None:
            return None
        if holds is not None and holds(taken.letter):
            self._end(taken.bench_id, taken.seq, taken.fence, LetterState.RETRYING, _NO_USE_S)
            return None
        with self._lock:
            self._number -= 1
            self._taken[self._number] = taken
            self._next_look_s.pop(channel)
        _LOG.warning("event=taken_over bench=%s letter=%d", taken.bench_id, taken.seq)
        return Outgoing(self._number, taken.letter, taken.tries, repeat=True)

    def _end_taken(self, outgoing: Outgoing, state: LetterState, rest_s: float) -> None:
        with self._lock:
            taken = self._taken.pop(outgoing.letter_id)
        self._end(taken.bench_id, taken.seq, taken.fence, state, rest_s)

    def _end(self, bench_id: str, seq: int, fence: int, state: LetterState, rest_s: float) -> None:
        try:
            ours = self._link.do(
                lambda shared: end_claim(shared, bench_id, seq, fence, state, rest_s), _WITHIN_S
            )
        except Away:
            return  # the lease ends by itself; a letter told is carried as such with the next rows
        if not ours:
            _LOG.warning("event=taken_over_meanwhile bench=%s letter=%d", bench_id, seq)
