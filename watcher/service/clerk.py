"""Write down every step, and its letters in the same transaction; once written, the postman is rung for."""

from __future__ import annotations

from collections.abc import Sequence

from watcher.alerts.bench_wide import casting
from watcher.alerts.gathering import (
    MOST_AHEAD_S,
    TOGETHER_S,
    followers,
    letter_of,
    unannounced,
    urgency_of,
)
from watcher.alerts.letter_words import ENGLISH, LetterWords
from watcher.alerts.postman import Postman
from watcher.alerts.quiet import QuietHours
from watcher.alerts.senders import Senders
from watcher.records.bench import Bench, Step
from watcher.records.letters import Letter, Urgency
from watcher.records.notices import AlarmState, Kind, Notice, Why
from watcher.records.said import Said
from watcher.storage.journal import Journal
from watcher.storage.outbox import announced_since


class Clerk:
    """Carries out what the bench has decided.

    Parameters
    ----------
    journal : Journal
    senders : Senders
        Who may be reached.
    postman : Postman
        Is rung for as soon as letters may leave: when they are written, or cannot be.
    quiet : QuietHours, optional
        Without it no hour is quiet.
    words : LetterWords
        The language of the letters.
    """

    def __init__(
        self,
        journal: Journal,
        senders: Senders,
        postman: Postman,
        quiet: QuietHours | None = None,
        words: LetterWords = ENGLISH,
    ) -> None:
        self._journal = journal
        self._senders = senders
        self._words = words
        journal.outbox.listen(postman.ring)
        self._quiet = quiet if quiet is not None else QuietHours(None, "UTC", senders.channels)
        last = journal.last_moment()
        since_s = (last.at_s if last is not None else 0.0) - MOST_AHEAD_S
        letters = journal.ask(lambda connection: announced_since(connection, journal.bench_id, since_s))
        # for when a call was announced is not known any more after a restart: any time that it may have been
        self._announced = {
            alert_id: (written_s, written_s + MOST_AHEAD_S + TOGETHER_S)
            for alert_id, written_s in letters.items()
        }

        self._promised: dict[str, str] = {}

    def __call__(self, step: Step, said: Said | None) -> None:
        """Take in one step of the bench."""
        letters = self._letters(step)
        self._journal.add(step, said, letters)
        if self._journal.outbox.waiting():
            # whoever has answered need not be called on a phone that was out of reach till now
            self._journal.outbox.withdraw(_answered(step) | self._overtaken(step.bench))

    def _letters(self, step: Step) -> list[Letter]:
        if not step.to_send:
            return []
        bench = step.bench
        notices = unannounced(step.to_send, self._announced, bench.now_s)
        if not notices:
            return []
        after_them = followers(notices, bench)
        for one in after_them:
            self._announced[one.alert_id] = (one.call_s - TOGETHER_S, one.call_s + TOGETHER_S)
            self._promised[one.alert_id] = one.cast_id
        self._forget(bench.now_s)
        letters = []
        for channel in self._senders.names:
            mine = [notice for notice in notices if channel in self._reached(notice, bench)]
            if mine:
                follow = after_them if _announces(mine) else ()
                letters.append(letter_of(mine, follow, bench, channel, self._words))
        return letters

    def _reached(self, notice: Notice, bench: Bench) -> frozenset[str]:
        """Return the channels that a notice goes to; where all of them rest, the next ones do."""
        names = self._senders.for_step(notice.step)
        urgency = urgency_of(notice)
        at = bench.now_at if bench.now_at is not None else notice.alert.at
        if urgency is Urgency.QUIET or not self._quiet.quiet(at):
            return frozenset(names)
        if any(not self._quiet.rests(name, urgency) for name in names):
            return frozenset(names)
        awake = [one for one in self._senders.channels if not self._quiet.rests(one.name, urgency)]
        first = min((one.from_step for one in awake), default=0)
        return frozenset((*names, *(one.name for one in awake if one.from_step == first)))

    def _overtaken(self, bench: Bench) -> frozenset[str]:
        """Return the calls that were announced and will never come: their mould was tipped before."""
        open_ = {state.cast.cast_id for state in casting(bench) if state.cast is not None}
        return frozenset(alert_id for alert_id, cast_id in self._promised.items() if cast_id not in open_)

    def _forget(self, now_s: float) -> None:
        for alert_id in [key for key, (_, to_s) in self._announced.items() if to_s < now_s]:
            del self._announced[alert_id]
            if not self._journal.outbox.waiting():
                self._promised.pop(alert_id, None)


def _announces(notices: Sequence[Notice]) -> bool:
    """Whether a letter about these calls to tip for the first time, so that it names those that follow."""
    tips = (Kind.SOON, Kind.READY)
    return any(notice.why is Why.FIRST and notice.alert.kind in tips for notice in notices)


def _answered(step: Step) -> frozenset[str]:
    """Return the alerts about which no letter need leave any more."""
    return frozenset(
        alert.alert_id for alert in step.bench.alerts if alert.state is not AlarmState.UNACKNOWLEDGED
    )
