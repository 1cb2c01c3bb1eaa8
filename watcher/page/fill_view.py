"""The pour of a mould as the page shows it: how long it takes, where the stream falls, how high it came."""

from __future__ import annotations

from watcher.page.moments import at_second
from watcher.page.shapes import FillShape
from watcher.records.bench import Bench, MouldState, Stage

LATEST_S = 8.0
"""A stream that was seen longer ago is not shown as falling. [s]"""


def fill_view(bench: Bench, state: MouldState) -> FillShape | None:
    """Return the pour of the present cast while it is filled or casting; None otherwise."""
    cast = state.cast
    if cast is None or state.stage not in (Stage.FILLING, Stage.CASTING):
        return None
    filling, under_way = cast.fillings[0], state.stage is Stage.FILLING
    newest = state.stream[-1] if state.stream else None
    falls = newest is not None and under_way and bench.now_s - newest.at_s <= LATEST_S
    readings = () if under_way else filling.readings
    spot = state.one_spot
    return {
        "since": at_second(bench, cast.began_s),
        "until": None if under_way else at_second(bench, filling.latest_s),
        "full_s": None if under_way else round(max(bench.now_s - filling.latest_s, 0.0), 1),
        "level_mm": round(readings[0].level_mm, 2) if readings else None,
        "across_mm": round(newest.across_mm, 1) if falls and newest is not None else None,
        "one_spot_s": None if spot is None else round(spot.lasted_s, 1),
    }
