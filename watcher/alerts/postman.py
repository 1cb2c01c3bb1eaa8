"""Carry letters from the outbox to the channels, a thread for each, so that a slow one holds up no other."""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event, Thread

from watcher.alerts.outbox import Outbox
from watcher.alerts.senders import Senders
from watcher.records.letters import Letter, SendFailed, Sent

_LOG = logging.getLogger(__name__)
_LOOK_AGAIN_S = 1.0
_STOP_WITHIN_S = 3.0


class Postman:
    """Deliver due letters until closed.

    Parameters
    ----------
    outbox : Outbox
        Where letters wait.
    senders : Senders
        The channels.
    now_s : callable
        The bench's steady seconds.
    heard : callable, optional
        Told of every outcome (for the page and the log), from a channel's own thread.
    holds : callable, optional
        Says which letters wait just now (quiet hours).
    """

    def __init__(
        self,
        outbox: Outbox,
        senders: Senders,
        now_s: Callable[[], float],
        heard: Callable[[Sent | SendFailed], None] | None = None,
        holds: Callable[[Letter], bool] | None = None,
    ) -> None:
        self._outbox = outbox
        self._senders = senders
        self._now_s = now_s
        self._heard = heard
        self._holds = holds
        self._stop = Event()
        self._bells = {name: Event() for name in senders.names}
        self._threads = [
            Thread(target=self._rounds, args=(name,), name=f"post-{name}", daemon=True)
            for name in senders.names
        ]
        for thread in self._threads:
            thread.start()

    def ring(self) -> None:
        """Say that new letters wait, so that they leave at once rather than within a second."""
        for bell in self._bells.values():
            bell.set()

    def close(self) -> None:
        """Stop; a letter just being sent may end as told or be sent again after the next start."""
        self._stop.set()
        self.ring()
        for thread in self._threads:
            thread.join(_STOP_WITHIN_S)

    def _rounds(self, channel: str) -> None:
        bell = self._bells[channel]
        while not self._stop.is_set():
            try:
                idle = not deliver_one(
                    self._outbox, self._senders, channel, self._now_s, self._heard, self._holds
                )
            except Exception:  # noqa: BLE001 one bad letter or a full disk must not end the rounds
                _LOG.exception("event=post_failed channel=%s", channel)
                idle = True
            if idle:
                bell.wait(_LOOK_AGAIN_S)
                bell.clear()


def deliver_one(
    outbox: Outbox,
    senders: Senders,
    channel: str,
    now_s: Callable[[], float],
    heard: Callable[[Sent | SendFailed], None] | None = None,
    holds: Callable[[Letter], bool] | None = None,
) -> bool:
    """Send the oldest due letter of one channel and note the outcome; return whether there was one."""
    outgoing = outbox.claim(channel, now_s(), holds)
    if outgoing is None:
        return False
    outcome = senders.deliver(outgoing)
    match outcome:
        case Sent():
            outbox.told(outgoing)
            _LOG.info(
                "event=told channel=%s letter=%d tries=%d", channel, outgoing.letter_id, outgoing.tries + 1
            )
        case SendFailed(permanent=permanent, why=why):
            outbox.failed(outgoing, outcome, now_s())
            _LOG.warning(
                "event=send_failed channel=%s letter=%d permanent=%s why=%r",
                channel,
                outgoing.letter_id,
                permanent,
                why,
            )
    if heard is not None:
        heard(outcome)
    return True
