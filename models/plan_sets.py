"""Sets in the day's plan: the parts of one piece laid in together, so that they are leather-hard together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from models.doors import BadValue, number
from models.plan_hands import GRID_MIN, CastParts, HandsDay, to_grid
from models.plan_jobs import PlanAsk, PlannedSet

WIDER = (1, 2, 4)
"""A window that the day has no room for is widened so many times before the set is given up."""

_MOST_JOINS = 80  # moments of joining that are tried for one window


@dataclass(frozen=True, slots=True)
class SetParts:
    """A set on the grid: its moulds by their place in the plan, when poured parts are hard, its window."""

    name: str
    moulds: tuple[int, ...]
    hard: tuple[int, ...]
    window: int


def sets_of(ask: PlanAsk, wanted: Sequence[int]) -> tuple[SetParts, ...]:
    """Return the sets of which every part that is left is to be cast.

    Raises
    ------
    BadValue
        A set names a mould that is not in the plan, or one of another set, or its window cannot be right.
    """
    places = {mould.name: i for i, mould in enumerate(ask.moulds)}
    seen: set[str] = set()
    found = []
    for one in ask.sets:
        number(f"{one.name}: window", one.window_min, wanted="minutes, 0 to 600", least=0, most=600)
        for mould in one.moulds:
            if mould not in places or mould in seen:
                raise BadValue(
                    f"{one.name}: {mould!r} is not in the plan, or in two sets; give each mould one set"
                )
            seen.add(mould)
        for minutes in one.hard_min:
            number(f"{one.name}: hard in", minutes, wanted="minutes, -2880 to 2880", least=-2880, most=2880)
        moulds = tuple(places[mould] for mould in one.moulds)
        if moulds and len(moulds) + len(one.hard_min) > 1 and all(wanted[i] for i in moulds):
            hard = tuple(to_grid(minutes) for minutes in one.hard_min)
            found.append(SetParts(one.name, moulds, hard, to_grid(one.window_min)))
    return tuple(found)


def lay_set(
    day: HandsDay, one: SetParts, parts: Mapping[int, CastParts], free_at: Mapping[int, int], closing: int
) -> dict[int, int] | None:
    """Book all parts of a set in a day, as early as they come leather-hard together.

    Parameters
    ----------
    day : HandsDay
        Unchanged where the set finds no room.
    one : SetParts
    parts : mapping of int to CastParts
        The next cast of each mould.
    free_at : mapping of int to int
        When each mould can be poured. [grid steps]
    closing : int
        When all must have drained. [grid steps]

    Returns
    -------
    dict of int to int, or None
        The start of each; None where they do not fit.
    """
    for wider in WIDER:
        starts = _within(day, one, parts, free_at, closing, wider * one.window)
        if starts is not None:
            return starts
    return None


def _within(
    day: HandsDay,
    one: SetParts,
    parts: Mapping[int, CastParts],
    free_at: Mapping[int, int],
    closing: int,
    window: int,
) -> dict[int, int] | None:
    """Try one moment of joining after the other, each the first that the one before did not rule out."""
    longest_first = sorted(one.moulds, key=lambda i: -parts[i].can_demould)
    join = max([free_at[i] + parts[i].can_demould for i in one.moulds] + list(one.hard))
    latest = min((hard + window for hard in one.hard), default=day.steps)
    for _ in range(_MOST_JOINS):
        if join > latest:
            return None
        starts: dict[int, int] = {}
        later: int | None = None
        for i in longest_first:
            since = max(free_at[i], join - window - parts[i].can_demould)
            start = day.earliest(parts[i].rigid, since)
            if start is None or start + parts[i].drained > closing:
                _give_back(day, parts, starts)
                return None
            if start + parts[i].can_demould > join:
                later = start + parts[i].can_demould
                break
            day.book(parts[i].rigid, start)
            starts[i] = start
        if later is None:
            return starts
        _give_back(day, parts, starts)
        join = later
    return None


def planned(one: SetParts, parts: Mapping[int, CastParts], starts: Mapping[int, int]) -> PlannedSet:
    """Say when a set that was laid in is joined, and how far apart its parts come."""
    hard = [starts[i] + parts[i].can_demould for i in one.moulds] + list(one.hard)
    return PlannedSet(one.name, max(hard) * GRID_MIN, (max(hard) - min(hard)) * GRID_MIN)


def _give_back(day: HandsDay, parts: Mapping[int, CastParts], starts: Mapping[int, int]) -> None:
    for i, start in starts.items():
        day.book(parts[i].rigid, start, hands=-1)
