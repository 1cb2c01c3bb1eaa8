"""The part of `tipbell check` about calls: every channel, who is called when, and those outside."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from datetime import UTC, datetime
from urllib.parse import urlsplit

from watcher.alerts.channels import Channel, channels_of, masked
from watcher.alerts.mqtt import MessageServer
from watcher.alerts.quiet import QuietHours, quiet_span
from watcher.alerts.senders import Senders, UnusableChannel
from watcher.commands.finding import Finding
from watcher.records.letters import Letter, Outgoing, Sent, Urgency
from watcher.settings import Settings

ANSWER_S = 5.0
PORTS = {"http": 80, "https": 443, "mqtt": 1883, "mqtts": 8883}
TRIAL = "This is a trial by `tipbell check`. Nothing is to be done."


def call_findings(settings: Settings, now: datetime, *, send: bool) -> Iterator[Finding]:
    """Try every way by which somebody is told.

    Parameters
    ----------
    settings : Settings
    now : datetime
        The present moment, aware.
    send : bool
        Let every channel carry a trial message; without it nothing is sent to anybody.
    """
    channels = channels_of(settings)
    if not channels:
        yield Finding("channels", True, "none is set: calls are on the page only")
    for channel in channels:
        yield _channel(channel, now, send=send)
    yield from _ladder(settings, channels)
    yield from _silence(settings, now)
    yield from _outside(settings)


def _channel(channel: Channel, now: datetime, *, send: bool) -> Finding:
    what = f"channel {channel.name}"
    try:
        senders = Senders([channel])
    except UnusableChannel as fault:
        return Finding(what, False, str(fault))
    if not send:
        return Finding(what, True, f"{channel.masked} is understood (nothing was sent: --send does)")
    letter = Letter(channel.name, "Tipbell: a trial", TRIAL, 0.0, now.astimezone(UTC), (), Urgency.CALL)
    outcome = senders.deliver(Outgoing(0, letter))
    if isinstance(outcome, Sent):
        return Finding(what, True, f"{channel.masked} took a trial message: look whether it has come")
    return Finding(what, False, outcome.why)


def _ladder(settings: Settings, channels: list[Channel]) -> Iterator[Finding]:
    """Say who is called at night, and whether somebody is never called at all."""
    calls = settings.calls
    never = [one.name for one in channels if one.from_step > 0 and not calls.again_min]
    if never:
        says = (
            f"again_min is empty, so {', '.join(never)} would never be called; give minutes, such as [3, 6]"
        )
        yield Finding("again_min", False, says)
    if channels and all(one.from_step > 0 for one in channels):
        first = min(one.from_step for one in channels)
        yield Finding(
            "channels", True, f"the first call is on the page alone; phones from call {first + 1} on"
        )
    if not calls.quiet or not channels:
        return
    hours = QuietHours(quiet_span(calls.quiet), settings.bench.zone, channels)
    awake = [one.name for one in channels if not hours.rests(one.name, Urgency.CALL)]
    yield Finding(
        "quiet hours", True, f"{calls.quiet} ({settings.bench.zone}): calls ring on {', '.join(awake)}"
    )


def _silence(settings: Settings, now: datetime) -> Iterator[Finding]:
    until = settings.calls.rules(settings.bench.zone).silent_until
    if until is not None and now < until:
        day = settings.calls.silent_until
        yield Finding("calls", True, f"off until {day}: this bench only records till then")


def _outside(settings: Settings) -> Iterator[Finding]:
    named = {"sign of life": settings.outside.sign_of_life, "message server": settings.outside.messages}
    for what, secret in named.items():
        if secret is None:
            continue
        address = secret.get_secret_value()
        try:
            if what == "message server":
                MessageServer(address)
            yield _answers(what, address)
        except UnusableChannel as fault:
            yield Finding(what, False, str(fault))


def _answers(what: str, address: str) -> Finding:
    """Try whether somebody answers there; nothing is told to them."""
    parts = urlsplit(address)
    if parts.scheme not in PORTS or not parts.hostname:
        return Finding(what, False, "the address must be http://... or https://...")
    try:
        port = parts.port or PORTS[parts.scheme]
        socket.create_connection((parts.hostname, port), ANSWER_S).close()
    except (OSError, ValueError):
        return Finding(what, False, f"{masked(address)} does not answer: is it up, and the network?")
    return Finding(what, True, f"{masked(address)} answers (nothing was told)")
