"""The day at the bench: which one a moment falls in, and when it begins and ends."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def day_of(moment: datetime, zone: str) -> date:
    """Return the bench's date at a moment."""
    return moment.astimezone(ZoneInfo(zone)).date()


def span_of(day: date, zone: str, days: int = 1) -> tuple[datetime, datetime]:
    """Return when a day (or some days from it on) begins and ends in UTC, over a change of clocks too."""
    begins = datetime.combine(day, time(), ZoneInfo(zone))
    ends = datetime.combine(day + timedelta(days=days), time(), ZoneInfo(zone))
    return begins.astimezone(UTC), ends.astimezone(UTC)
