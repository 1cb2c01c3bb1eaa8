"""Which mould comes first, and which tips fall too close together for one pair of hands."""

from __future__ import annotations

import math
from itertools import pairwise

from watcher.page.forecasts import ready_range
from watcher.records.bench import Bench, Forecast, MouldState, Stage

HANDS_S = 120.0
"""Lifting, tipping and setting one mould to drain takes about two minutes (common practice, no source)."""

_FORECAST_RANK = {Forecast.LATE: 0, Forecast.READY: 1, Forecast.SOON: 2, Forecast.NONE: 3}
_STAGE_RANK = {
    Stage.CASTING: 3,
    Stage.FILLING: 4,
    Stage.DRAINING: 5,
    Stage.TIPPED: 5,
    Stage.UPRIGHT: 6,
    Stage.EMPTY: 7,
    Stage.DEMOULDED: 7,
    Stage.ABSENT: 8,
}


def urgency_order(bench: Bench) -> list[str]:
    """Return the names of all moulds, the one that needs hands first in front."""
    placed = [mould.name for mould in bench.layout.moulds]
    return sorted(placed, key=lambda name: (*_urgency(bench.moulds.get(name)), placed.index(name)))


def clashes(bench: Bench, hands_s: float = HANDS_S) -> list[tuple[str, str, float]]:
    """Return neighbouring tips less than `hands_s` apart: first mould, second mould, seconds between them."""
    due: list[tuple[float, str]] = []
    for state in bench.moulds.values():
        ready = ready_range(state.cast) if _waits_for_a_tip(state) else None
        if ready is not None and math.isfinite(ready.value):
            # Two that are overdue both want hands now, however long ago each was ready.
            due.append((max(ready.value, bench.now_s), state.name))
    due.sort()
    return [(a[1], b[1], b[0] - a[0]) for a, b in pairwise(due) if b[0] - a[0] < hands_s]


def _waits_for_a_tip(state: MouldState) -> bool:
    return state.in_service and state.stage is Stage.CASTING


def _urgency(state: MouldState | None) -> tuple[int, float]:
    if state is None:
        return (8, 0.0)
    if not state.in_service:
        return (9, 0.0)
    if state.stage is not Stage.CASTING or state.cast is None:
        return (_STAGE_RANK[state.stage], 0.0)
    ready = ready_range(state.cast)
    return (_FORECAST_RANK[state.cast.forecast], math.inf if ready is None else ready.value)
