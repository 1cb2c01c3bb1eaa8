"""Quiet hours: which channels hold which letters at night, so that what must be heard still is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from watcher.alerts.channels import Channel, WhenQuiet
from watcher.records.letters import Letter, Urgency

_SPAN = re.compile(r"([01]\d|2[0-3]):([0-5]\d)-([01]\d|2[0-3]):([0-5]\d)")


@dataclass(frozen=True, slots=True)
class QuietSpan:
    """From when to when it is quiet, by the clock on the wall; over midnight where `until` comes first."""

    begins: time
    until: time

    def covers(self, at: time) -> bool:
        """Whether a time of day lies in it; its end does not."""
        if self.begins <= self.until:
            return self.begins <= at < self.until
        return at >= self.begins or at < self.until


def quiet_span(text: str) -> QuietSpan | None:
    """Return what `22:00-07:00` means; None for an empty text.

    Raises
    ------
    ValueError
        It is no span of the day.
    """
    if not text:
        return None
    found = _SPAN.fullmatch(text)
    if found is None:
        raise ValueError("not a span of the day such as 22:00-07:00")
    hours = [int(part) for part in found.groups()]
    span = QuietSpan(time(hours[0], hours[1]), time(hours[2], hours[3]))
    if span.begins == span.until:
        raise ValueError("begins when it ends")
    return span


class QuietHours:
    """Says which letters wait for the morning.

    A letter that is good to know waits on every channel, save on those that are to ring for all. A call waits
    only on channels that are to rest altogether; where every channel is one of those, it rings on all of them
    after all: a call must be heard.

    Parameters
    ----------
    span : QuietSpan or None
        None: no hour is quiet.
    zone : str
        Time zone of the clock on the wall.
    channels : sequence of Channel
    """

    def __init__(self, span: QuietSpan | None, zone: str, channels: Sequence[Channel]) -> None:
        self._span = span
        self._zone = ZoneInfo(zone)
        self._when = {channel.name: channel.when_quiet for channel in channels}
        self._somebody = any(when is not WhenQuiet.NOTHING for when in self._when.values())

    def quiet(self, at: datetime) -> bool:
        """Whether it is quiet at a moment."""
        return self._span is not None and self._span.covers(at.astimezone(self._zone).time())

    def holds(self, letter: Letter, at: datetime) -> bool:
        """Whether a letter waits on its channel at a moment."""
        return self.quiet(at) and self.rests(letter.channel, letter.urgency)

    def rests(self, channel: str, urgency: Urgency) -> bool:
        """Whether a channel keeps such letters back in quiet hours."""
        when = self._when.get(channel, WhenQuiet.ALL)
        if urgency is Urgency.QUIET:
            return when is not WhenQuiet.ALL
        return when is WhenQuiet.NOTHING and self._somebody
