"""An outbox that forgets everything when the test ends."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from threading import Lock

from watcher.records.letters import Letter, LetterState, Outgoing, SendFailed
from watcher.records.pauses import LETTER_PAUSES_S, MOST_LETTER_TRIES, pause_s


class MemoryOutbox:
    """An outbox that holds its letters in memory alone."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._letters: list[Letter] = []
        self._states: list[LetterState] = []
        self._tries: list[int] = []
        self._due_s: list[float] = []
        self._repeat: list[bool] = []
        self.why: dict[int, str] = {}

    def put(self, letters: Sequence[Letter]) -> None:
        """Take letters in."""
        with self._lock:
            for letter in letters:
                self._letters.append(letter)
                self._states.append(LetterState.WAITING)
                self._tries.append(0)
                self._due_s.append(letter.written_s)
                self._repeat.append(False)

    def claim(
        self, channel: str, now_s: float, holds: Callable[[Letter], bool] | None = None
    ) -> Outgoing | None:
        """Return the oldest letter of this channel that is due and not held."""
        with self._lock:
            for number, letter in enumerate(self._letters):
                open_ = self._states[number] in (LetterState.WAITING, LetterState.RETRYING)
                due = letter.channel == channel and self._due_s[number] <= now_s
                if open_ and due and not (holds is not None and holds(letter)):
                    self._states[number] = LetterState.SENDING
                    return Outgoing(number, letter, self._tries[number], self._repeat[number])
        return None

    def told(self, outgoing: Outgoing) -> None:
        """Note that the channel took it."""
        with self._lock:
            self._states[outgoing.letter_id] = LetterState.TOLD

    def failed(self, outgoing: Outgoing, failure: SendFailed, now_s: float) -> None:
        """Note that it was not taken, and when to try again."""
        number = outgoing.letter_id
        with self._lock:
            self._tries[number] += 1
            self._repeat[number] = self._repeat[number] or failure.unsure
            given_up = failure.permanent or self._tries[number] >= MOST_LETTER_TRIES
            self._states[number] = LetterState.FAILED if given_up else LetterState.RETRYING
            self._due_s[number] = now_s + pause_s(LETTER_PAUSES_S, self._tries[number])
            self.why[number] = failure.why

    def withdraw(self, alert_ids: Collection[str]) -> int:
        """Drop letters not yet sent that are about nothing but these alerts."""
        gone = 0
        with self._lock:
            for number, letter in enumerate(self._letters):
                open_ = self._states[number] in (LetterState.WAITING, LetterState.RETRYING)
                if open_ and letter.alert_ids and set(letter.alert_ids) <= set(alert_ids):
                    self._states[number] = LetterState.WITHDRAWN
                    gone += 1
        return gone

    def letters(self) -> tuple[tuple[Letter, LetterState], ...]:
        """Return every letter with its state, oldest first."""
        with self._lock:
            return tuple(
                (replace(letter), state) for letter, state in zip(self._letters, self._states, strict=True)
            )
