"""Another bench that is not heard of any more: when that is worth a call, and what is known."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from watcher.alerts.quiet import quiet_span
from watcher.records.notices import Kind
from watcher.records.others import OtherBench, OtherMould


def silence_id(other: OtherBench) -> str:
    """Return the id of the call: the same on every bench, a new one each time that one falls silent."""
    return f"{other.bench_id}/{Kind.BENCH_SILENT.value}/{other.heard_at:%Y%m%dT%H%M%SZ}"


def is_missed(other: OtherBench, at: datetime) -> bool:
    """Whether a bench that is not heard is to be called about: slip stands there, or it is its working day.

    One that was shut down with all moulds empty is not missed.
    """
    if any(mould.casting for mould in other.moulds):
        return True
    span = quiet_span(other.hours)
    if span is None or other.gone:
        return False
    return span.covers(at.astimezone(ZoneInfo(other.zone)).time())


def what_is_known(other: OtherBench, zone: str) -> str:
    """Return in one sentence when a bench was last heard, and what stands there.

    Parameters
    ----------
    other : OtherBench
    zone : str
        The time zone of whoever is called.
    """
    end = "was shut down" if other.gone else "was last heard"
    said = f"{other.bench_id} {end} at {_clock(other.heard_at, zone)}"
    casting = sorted((one for one in other.moulds if one.casting), key=_when)
    if not casting:
        return f"{said}; nothing was cast there"
    if len(casting) > 1:
        return f"{said}; there were to be ready: {', '.join(_ready(one, zone) for one in casting)}"
    (mould,) = casting
    if mould.ready_at is None:
        return f"{said}; {mould.name} is cast there, for when was not known yet"
    return f"{said}; {mould.name} there was to be ready at {_clock(mould.ready_at, zone)}"


def _when(mould: OtherMould) -> tuple[bool, float, str]:
    at = mould.ready_at
    return (at is None, 0.0 if at is None else at.timestamp(), mould.name)


def _ready(mould: OtherMould, zone: str) -> str:
    return f"{mould.name} {'(not known yet)' if mould.ready_at is None else _clock(mould.ready_at, zone)}"


def _clock(at: datetime, zone: str) -> str:
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"
