"""What goes from the alerts to the outbox and from there to a phone: one letter for one channel."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Urgency(StrEnum):
    """How loud a letter is."""

    QUIET = "quiet"  # good to know
    CALL = "call"  # come to the bench
    ALARM = "alarm"  # something is being spoilt


@dataclass(frozen=True, slots=True)
class Letter:
    """A text for one channel about one or several alerts.

    `alert_ids` names every alert that it is about; `step` says how often nobody answered before.
    """

    channel: str
    title: str
    text: str
    written_s: float
    written_at: datetime
    alert_ids: tuple[str, ...] = ()
    urgency: Urgency = Urgency.CALL
    step: int = 0


class LetterState(StrEnum):
    """Where a letter in the outbox stands."""

    WAITING = "waiting"  # never tried
    SENDING = "sending"  # about to be sent: without an end after a restart, it is sent again
    RETRYING = "retrying"  # failed in passing, to be tried again
    TOLD = "told"
    FAILED = "failed"  # given up, with the reason
    WITHDRAWN = "withdrawn"  # no longer needed before it could be sent


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A letter taken out of the outbox to be sent now.

    `letter_id` belongs to the outbox that gave it. `tries` counts earlier attempts. `repeat` is true when an
    earlier attempt may have reached the phone although nobody heard back: the text must then say so.
    """

    letter_id: int
    letter: Letter
    tries: int = 0
    repeat: bool = False


@dataclass(frozen=True, slots=True)
class Sent:
    """The channel took the letter. Whether the phone rang is known only by the caster's answer."""

    channel: str


@dataclass(frozen=True, slots=True)
class SendFailed:
    """The channel did not take the letter.

    `permanent` is true when trying the same again cannot help (a wrong address, a refused password). `unsure`
    is true when the letter may have arrived all the same (no answer in time). `why` is a plain sentence that
    holds no password.
    """

    channel: str
    permanent: bool
    why: str
    unsure: bool = False
