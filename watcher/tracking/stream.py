"""Where the stream of a pour fell, and whether it fell on one spot for too long."""

from __future__ import annotations

import itertools
from dataclasses import replace
from statistics import median

from watcher.records.bench import BenchEvent, MouldState
from watcher.records.streams import OneSpot, StreamPoint

BEGUN, FILLED, ONE_SPOT = "filling", "filled", "one_spot"
"""Events: a pour has begun, is over; its stream fell on one spot for too long."""

TOO_LONG_S = 15.0
"""A stream that falls on one spot for longer may leave a hot spot there: the spot is washed and packed, and
repels glaze later. Keep it moving (common practice, no source; the seconds are a guess). [s]"""

SPOT_MM = 5.0
"""Half the width of one spot, the error of a sighting included (guess). [mm]"""

OUTSIDE = 0.2
"""Share of the sightings that may lie outside a spot without its being left: errors, a splash."""

GAP_S = 8.0
"""A stream not seen for longer has stopped, or is hidden: nobody knows where it fell. [s]"""

BEFORE_S = 60.0
"""Sightings so long before slip is seen in the hole belong to its pour. [s]"""

MOST = 240
"""So many sightings of a pour are kept."""


def with_sighting(points: tuple[StreamPoint, ...], at_s: float, across_mm: float) -> tuple[StreamPoint, ...]:
    """Add a sighting; what is older than any pour goes."""
    kept = tuple(p for p in points if at_s - p.at_s < BEFORE_S * 5.0 and p.at_s < at_s)
    return (*kept[-MOST + 1 :], StreamPoint(at_s, across_mm))


def of_pour(points: tuple[StreamPoint, ...], begun_s: float) -> tuple[StreamPoint, ...]:
    """Return the sightings that belong to a pour that was noticed at a moment."""
    return tuple(p for p in points if p.at_s >= begun_s - BEFORE_S)


def poured_on(state: MouldState, at_s: float, across_mm: float) -> MouldState:
    """Take in where the stream over a mould was seen."""
    state = replace(state, stream=with_sighting(state.stream, at_s, across_mm))
    return replace(state, one_spot=_of_cast(state))


def told(state: MouldState, events: tuple[BenchEvent, ...]) -> tuple[MouldState, tuple[BenchEvent, ...]]:
    """Say of a pour that is over how high it stands, and that its stream stayed on one spot, if it did."""
    begun = any(event.event == BEGUN for event in events)
    filled = any(event.event == FILLED for event in events)
    if not begun and not filled:
        return state, events
    state = replace(state, one_spot=_of_cast(state))
    after: list[BenchEvent] = []
    for event in events:
        if event.event != FILLED or state.cast is None:
            after.append(event)
            continue
        readings = state.cast.fillings[0].readings
        level = f"{readings[0].level_mm:.1f} mm" if readings else ""
        after.append(replace(event, detail=event.detail or level))
        if state.one_spot is not None:
            after.append(replace(event, event=ONE_SPOT, detail=f"{state.one_spot.lasted_s:.0f} s"))
    return state, tuple(after)


def _of_cast(state: MouldState) -> OneSpot | None:
    return None if state.cast is None else too_long(of_pour(state.stream, state.cast.began_s))


def longest_stay(points: tuple[StreamPoint, ...]) -> OneSpot | None:
    """Find the longest time over which a stream fell on one spot.

    Parameters
    ----------
    points : tuple of StreamPoint
        In order of time.

    Returns
    -------
    OneSpot or None
        None with fewer than three sightings on one spot.
    """
    best: OneSpot | None = None
    for first in range(len(points)):
        for last in range(len(points) - 1, first + 1, -1):
            if best is not None and points[last].at_s - points[first].at_s <= best.lasted_s:
                break
            stay = _stay(points[first : last + 1])
            if stay is not None:
                best = stay
                break
    return best


def too_long(points: tuple[StreamPoint, ...]) -> OneSpot | None:
    """Return the longest stay where it was too long."""
    stay = longest_stay(points)
    return stay if stay is not None and stay.lasted_s >= TOO_LONG_S else None


def _stay(points: tuple[StreamPoint, ...]) -> OneSpot | None:
    """Return these sightings as one stay, if they are one: no long gap, and nearly all on one spot."""
    gaps = (b.at_s - a.at_s for a, b in itertools.pairwise(points))
    middle = median(p.across_mm for p in points)
    on_spot = [abs(p.across_mm - middle) <= SPOT_MM for p in points]
    if max(gaps, default=GAP_S + 1.0) > GAP_S or not on_spot[0] or not on_spot[-1]:
        return None
    if on_spot.count(False) > OUTSIDE * len(points):
        return None
    if any(not a and not b for a, b in itertools.pairwise(on_spot)):
        return None  # twice in a row elsewhere: it moved
    return OneSpot(points[0].at_s, points[-1].at_s, middle)
