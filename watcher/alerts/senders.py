"""Hand a letter to a phone, a mailbox or a web address, and say whether trying again can help.

apprise knows the services; it is loaded only when a channel is set (0.4 s and 44 MB).
"""

from __future__ import annotations

import logging
import re
from collections.abc import Sequence
from pathlib import Path
from threading import Lock
from typing import Any

from watcher.alerts.channels import Channel, scrubbed
from watcher.alerts.gathering import urgency_of
from watcher.alerts.letter_words import ENGLISH
from watcher.alerts.speaker import ring
from watcher.records.letters import Letter, Outgoing, SendFailed, Sent, Urgency
from watcher.records.notices import Notice

_LOG = logging.getLogger(__name__)
_PERMANENT_CODES = frozenset({400, 401, 403, 404, 405, 406, 410, 411, 413, 414, 415, 422, 451})
"""Answers of a web server that stay the same when the same request is made again (RFC 9110, section 15.5).
408, 425 and 429 ask for another try; 407 and 409 may pass."""
_CODE = re.compile(r"error[=:]\s*(\d{3})\b")
_MAIL_REFUSED = re.compile(r"\(5\d\d, b['\"]")
"""A mail server's 5xx answer is final (RFC 5321, section 4.2.1), as smtplib words it."""
_NEVER_LEFT = re.compile(
    r"NewConnectionError|NameResolutionError|ConnectTimeout|Connection refused|unreachable|not known|No route"
)
"""Words of the standard library and of requests when no connection was made: nothing can have arrived."""
_REPEAT = "(Sent again: this may have reached you before.)"
_LONGEST_WHY = 200


class UnusableChannel(ValueError):
    """A channel's address cannot be used. Its message names the channel and holds no secret."""


class Senders:
    """Every channel of one bench. Safe to call from several threads; a slow channel holds up only its caller.

    Parameters
    ----------
    channels : sequence of Channel
        In the order of the settings; names must differ.
    state_dir : Path or None
        Where services may keep their own small state (a locked-down service can write nowhere else).

    Raises
    ------
    UnusableChannel
        When an address is not understood, with the name of the channel.
    """

    def __init__(self, channels: Sequence[Channel], state_dir: Path | None = None) -> None:
        self._channels = {channel.name: channel for channel in channels}
        if len(self._channels) != len(channels):
            raise UnusableChannel("two alert channels have the same name; give each its own")
        self._state_dir = state_dir
        self._load = Lock()
        self._services: dict[str, Any] = {}
        for channel in channels:
            if not channel.rings_here:
                self._service(channel)

    @property
    def names(self) -> tuple[str, ...]:
        """Every channel, in the order of the settings."""
        return tuple(self._channels)

    def masked(self, name: str) -> str:
        """Return the channel's address as it may be shown."""
        return self._channels[name].masked

    @property
    def channels(self) -> tuple[Channel, ...]:
        """Every channel, in the order of the settings."""
        return tuple(self._channels.values())

    def for_step(self, step: int) -> tuple[str, ...]:
        """Return the channels that a call of this step of escalation goes to."""
        return tuple(name for name, channel in self._channels.items() if channel.from_step <= step)

    def deliver(self, outgoing: Outgoing) -> Sent | SendFailed:
        """Try once to hand over one letter; return within the channel's time-out.

        Parameters
        ----------
        outgoing : Outgoing
            The letter and its channel. A possible repeat is marked in the text.
        """
        letter = outgoing.letter
        channel = self._channels.get(letter.channel)
        if channel is None:
            return SendFailed(letter.channel, True, f"there is no channel {letter.channel!r} in the settings")
        if channel.rings_here:
            return ring(channel.name, letter.urgency, channel.timeout_s)
        text = f"{letter.text}\n{_REPEAT}" if outgoing.repeat else letter.text
        try:
            result = self._service(channel).notify(
                body=text,
                title=letter.title,
                notify_type=_notify_type(letter.urgency),
                body_format="text",
                interpret_escapes=False,
                timeout=channel.timeout_s,
                log_level=logging.DEBUG,
            )
        except UnusableChannel as wrong:
            return SendFailed(channel.name, True, str(wrong))
        except Exception as fault:  # noqa: BLE001 one of 180 services' code failed: the others must go on
            why = scrubbed(str(fault), channel.url)[:_LONGEST_WHY]
            return SendFailed(
                channel.name, False, f"{channel.name} ({channel.masked}) failed: {why}", unsure=True
            )
        return _outcome(channel, result)

    def send(self, notice: Notice, text: str) -> Sent | SendFailed:
        """Hand a notice to every channel of its step at once, without an outbox.

        Returns
        -------
        Sent or SendFailed
            `Sent` when at least one channel took it, else the failure that is most worth another try.
        """
        names = self.for_step(notice.step)
        if not names:
            return SendFailed("", True, "no alert channel is set")
        letters = [letter_for(notice, text, channel=name) for name in names]
        outcomes = [self.deliver(Outgoing(number, letter)) for number, letter in enumerate(letters)]
        failures = [outcome for outcome in outcomes if isinstance(outcome, SendFailed)]
        for failure in failures:
            _LOG.warning(
                "event=send_failed channel=%s permanent=%s why=%r",
                failure.channel,
                failure.permanent,
                failure.why,
            )
        for outcome in outcomes:
            if isinstance(outcome, Sent):
                return outcome
        return min(failures, key=lambda failure: failure.permanent)

    def _service(self, channel: Channel) -> Any:
        with self._load:
            if channel.name not in self._services:
                self._services[channel.name] = _apprise(channel, self._state_dir)
            return self._services[channel.name]


def letter_for(notice: Notice, text: str, *, channel: str) -> Letter:
    """Write the letter about one notice for one channel."""
    alert = notice.alert
    words = ENGLISH.texts[f"kind_{alert.kind.value}"]
    return Letter(
        channel=channel,
        title=f"{alert.mould}: {words}" if alert.mould else words,
        text=text,
        written_s=alert.at_s,
        written_at=alert.at,
        alert_ids=(alert.alert_id,),
        urgency=urgency_of(notice),
        step=notice.step,
    )


def _notify_type(urgency: Urgency) -> str:
    return {Urgency.QUIET: "info", Urgency.CALL: "warning", Urgency.ALARM: "failure"}[urgency]


def _apprise(channel: Channel, state_dir: Path | None) -> Any:
    import apprise

    # apprise logs whole addresses, tokens included, when it cannot read them; we log our own masked lines
    logging.getLogger("apprise").propagate = False
    # whether a letter may have arrived stands only in the lines for debugging
    logging.getLogger("apprise").setLevel(logging.DEBUG)
    logging.getLogger("urllib3").setLevel(logging.WARNING)  # its lines for debugging hold whole addresses
    asset = apprise.AppriseAsset(
        app_id="Tipbell",
        app_desc="Calls when a mould must be tipped",
        storage_path=str(state_dir) if state_dir else None,
        storage_mode="auto" if state_dir else "memory",
    )
    service = apprise.Apprise(asset=asset)
    if not service.add(channel.url):
        kind = channel.url.partition("://")[0] if "://" in channel.url else ""
        raise UnusableChannel(
            f"the address of channel {channel.name!r} is not understood"
            + (
                f" as a {kind}:// address"
                if kind
                else ": it must begin with its kind, such as ntfy:// or mailto://"
            )
        )
    return service


def _outcome(channel: Channel, result: Any) -> Sent | SendFailed:
    if result:
        return Sent(channel.name)
    where = f"{channel.name} ({channel.masked})"
    if result.status.name == "TIMEOUT":
        return SendFailed(
            channel.name, False, f"{where} gave no answer within {channel.timeout_s:g} s", unsure=True
        )
    entries = [entry for one in result.results for entry in one.logs()]
    told = [str(entry.message) for entry in entries if entry.level not in ("DEBUG", "TRACE")]
    details = "\n".join(str(entry.message) for entry in entries)
    reason = scrubbed(told[-1], channel.url)[:_LONGEST_WHY] if told else "no reason was given"
    codes = {int(code) for message in told for code in _CODE.findall(message)}
    refused = bool(_MAIL_REFUSED.search(details))
    permanent = refused or bool(codes & _PERMANENT_CODES)
    answered = bool(codes) or refused or bool(_NEVER_LEFT.search(details))
    cure = "; correct its address or password" if permanent else ""
    return SendFailed(
        channel.name, permanent, f"{where} did not take the message: {reason}{cure}", unsure=not answered
    )
