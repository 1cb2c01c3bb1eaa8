"""Moments as the page writes them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from watcher.records.bench import Bench


def iso(at: datetime) -> str:
    """Return a moment in UTC, ISO 8601, tenths of a second, with Z."""
    text = at.astimezone(UTC).isoformat(timespec="milliseconds")
    return text[: text.index(".") + 2] + "Z"


def iso_or_none(at: datetime | None) -> str | None:
    """Return `iso(at)`, or None for None."""
    return None if at is None else iso(at)


def at_second(bench: Bench, moment_s: float | None) -> str | None:
    """Return the UTC moment of a second of the steady clock; None where either is unknown."""
    if moment_s is None or bench.now_at is None:
        return None
    try:
        return iso(bench.now_at + timedelta(seconds=moment_s - bench.now_s))
    except (OverflowError, ValueError):  # infinite, NaN, or past the last year that a date can hold
        return None
