"""Letters that outlive a power cut: about to be sent is written before sending, told or failed after.

The memory decides what is due, so that nothing is asked of the disk while nothing waits; the database is
where the memory comes from after a restart. A disk that cannot be written must not silence an alarm: a letter
then goes out all the same, and the worst is that it is sent again after a restart.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from threading import Lock

from sqlalchemy import Connection, select

from watcher.records.letters import Letter, LetterState, Outgoing, SendFailed
from watcher.records.pauses import LETTER_PAUSES_S, MOST_LETTER_TRIES, pause_s
from watcher.storage.known import Row
from watcher.storage.schema import OUTBOX

_LOG = logging.getLogger(__name__)
OPEN = (LetterState.WAITING, LetterState.SENDING, LetterState.RETRYING)


@dataclass(frozen=True, slots=True)
class Posted:
    """A letter with its number and where it stands. `due_s` is known only to this run of the program."""

    letter_id: int
    letter: Letter
    state: LetterState = LetterState.WAITING
    tries: int = 0
    repeat: bool = False
    why: str = ""
    due_s: float = float("-inf")


class JournalOutbox:
    """The letters of one bench.

    Parameters
    ----------
    unfinished : sequence of Posted
        What the last run left: told to be sent, but not told to have ended. Those that were about to be sent
        may have arrived: they are marked as repeats.
    take_number : callable
        Gives a new letter its number.
    store : callable
        Writes rows of new letters and of changed ones; where its third argument is true it returns once they
        would survive a power cut, and raises OSError when they cannot be written now (they are then written
        as soon as they can).
    """

    def __init__(
        self,
        unfinished: Sequence[Posted],
        take_number: Callable[[], int],
        store: Callable[[Sequence[Posted], Sequence[Posted], bool], None],
    ) -> None:
        self._lock = Lock()
        self._take_number = take_number
        self._store = store
        self._heard: Callable[[], None] = _nobody
        self._posted = {
            post.letter_id: replace(
                post, state=LetterState.RETRYING, repeat=post.repeat or post.state is LetterState.SENDING
            )
            for post in unfinished
        }

    def number(self, letters: Sequence[Letter]) -> tuple[Posted, ...]:
        """Give new letters their numbers; they are not yet due."""
        return tuple(Posted(self._take_number(), letter) for letter in letters)

    def listen(self, heard: Callable[[], None]) -> None:
        """Tell somebody whenever letters may be sent that could not be before: from the writer's thread."""
        self._heard = heard

    def enter(self, posts: Sequence[Posted]) -> None:
        """Let letters be sent: they have been written, or cannot be written now."""
        if not posts:
            return
        with self._lock:
            self._posted.update({post.letter_id: post for post in posts})
        self._heard()

    def put(self, letters: Sequence[Letter]) -> None:
        """Take letters in; when this returns they survive a power cut, unless the disk cannot be written."""
        posts = self.number(letters)
        self._try_to_store(posts, ())
        self.enter(posts)

    def claim(
        self, channel: str, now_s: float, holds: Callable[[Letter], bool] | None = None
    ) -> Outgoing | None:
        """Write that the oldest due letter of this channel is about to be sent; return it, or None.

        A letter that is held (quiet hours) waits, also over a restart; later ones may overtake it.
        """
        with self._lock:
            due = [
                post
                for post in self._posted.values()
                if post.letter.channel == channel
                and post.state is not LetterState.SENDING
                and post.due_s <= now_s
                and not (holds is not None and holds(post.letter))
            ]
            if not due:
                return None
            before = min(due, key=lambda post: post.letter_id)
            post = replace(before, state=LetterState.SENDING)
            self._posted[post.letter_id] = post
        self._try_to_store((), (post,))
        return Outgoing(post.letter_id, post.letter, post.tries, post.repeat)

    def told(self, outgoing: Outgoing) -> None:
        """Write that the channel took it."""
        self._end(outgoing.letter_id, LetterState.TOLD, "")

    def failed(self, outgoing: Outgoing, failure: SendFailed, now_s: float) -> None:
        """Write that it was not taken: tried again after a growing pause, or given up with the reason."""
        tries = outgoing.tries + 1
        if failure.permanent or tries >= MOST_LETTER_TRIES:
            self._end(outgoing.letter_id, LetterState.FAILED, failure.why)
            return
        with self._lock:
            post = self._posted.get(outgoing.letter_id)
            if post is None:  # withdrawn meanwhile
                return
            post = replace(
                post,
                state=LetterState.RETRYING,
                tries=tries,
                repeat=post.repeat or failure.unsure,
                why=failure.why,
                due_s=now_s + pause_s(LETTER_PAUSES_S, tries),
            )
            self._posted[post.letter_id] = post
        self._try_to_store((), (post,))

    def withdraw(self, alert_ids: Collection[str]) -> int:
        """Drop letters not yet sent that are about nothing but these alerts; return how many. Never waits."""
        with self._lock:
            gone = [
                replace(post, state=LetterState.WITHDRAWN)
                for post in self._posted.values()
                if post.state is not LetterState.SENDING
                and post.letter.alert_ids
                and set(post.letter.alert_ids) <= set(alert_ids)
            ]
            for post in gone:
                del self._posted[post.letter_id]
        if gone:
            self._try_to_store((), gone, wait=False)
        return len(gone)

    def waiting(self) -> tuple[Posted, ...]:
        """Return every letter that has not come to its end, oldest first: for the page."""
        with self._lock:
            return tuple(sorted(self._posted.values(), key=lambda post: post.letter_id))

    def _end(self, letter_id: int, state: LetterState, why: str) -> None:
        with self._lock:
            post = self._posted.pop(letter_id, None)
        if post is not None:
            self._try_to_store((), (replace(post, state=state, tries=post.tries + 1, why=why),))

    def _try_to_store(self, new: Sequence[Posted], changed: Sequence[Posted], *, wait: bool = True) -> None:
        try:
            self._store(new, changed, wait)
        except OSError as fault:
            _LOG.error("event=outbox_not_written why=%r", str(fault))


def _nobody() -> None:
    """Nobody listens."""


def announced_since(connection: Connection, bench_id: str, since_s: float) -> dict[str, float]:
    """Return which alerts the letters since a moment were about, each with when it was first written [s]."""
    own = OUTBOX.c
    query = (
        select(own.alert_ids, own.written_s)
        .where(own.bench_id == bench_id, own.written_s >= since_s)
        .order_by(own.written_s.desc())
    )
    return {
        alert_id: row.written_s for row in connection.execute(query) for alert_id in json.loads(row.alert_ids)
    }


def letter_row(post: Posted) -> Row:
    """Return a new letter's columns."""
    letter = post.letter
    return {
        "channel": letter.channel,
        "title": letter.title,
        "text": letter.text,
        "written_s": letter.written_s,
        "written_at": letter.written_at,
        "alert_ids": json.dumps(letter.alert_ids),
        "urgency": letter.urgency.value,
        "step": letter.step,
        **standing_row(post),
    }


def standing_row(post: Posted) -> Row:
    """Return the columns that change on a letter's way."""
    return {"state": post.state.value, "tries": post.tries, "repeat": post.repeat, "why": post.why}
