"""Spare and trimmings kept for the tank: how much, by day and by slip."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from watcher.desk.local_day import day_of
from watcher.records.afterwards import Told, ToldKind


@dataclass(frozen=True, slots=True)
class ReclaimSum:
    """What was kept on one day of one slip.

    Attributes
    ----------
    day : date
        In the bench's zone.
    slip : str
        The gravity that its casts were poured with; empty where no slip was kept.
    grams : float
        As wet as it was weighed. [g]
    casts : int
    """

    day: date
    slip: str
    grams: float
    casts: int


def reclaim_sums(told: Iterable[Told], slip_of: Mapping[str, str], zone: str) -> tuple[ReclaimSum, ...]:
    """Add reclaim up, newest day first.

    Parameters
    ----------
    told : iterable of Told
        Other things told are passed over.
    slip_of : mapping of str to str
        The gravity of each cast's slip, by the cast's id.
    zone : str
    """
    groups: dict[tuple[date, str], list[Told]] = {}
    for one in told:
        if one.kind is ToldKind.RECLAIM:
            groups.setdefault((day_of(one.at, zone), slip_of.get(one.cast_id, "")), []).append(one)
    return tuple(
        ReclaimSum(day, slip, sum(one.amount for one in some), len({one.cast_id for one in some}))
        for (day, slip), some in sorted(groups.items(), key=lambda group: group[0], reverse=True)
    )
