"""The hands' day on a grid of quarter minutes: where a cast with all its steps still fits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.plan_jobs import PlanMould

GRID_MIN = 0.25
"""Everything in a plan starts and ends on this grid. [min]"""

Counts = npt.NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Part:
    """One stretch of a cast, in grid steps from its pour.

    Either hands at work, or the span about a tip from which every other tip's span is kept away: other work
    may lie in it, since it can wait the minutes that a tip comes early or late.
    """

    begin: int
    end: int
    is_span: bool


@dataclass(frozen=True, slots=True)
class CastParts:
    """A cast as the grid sees it, in grid steps from its pour.

    Attributes
    ----------
    rigid : tuple of Part
        Pour, top-ups and tip, then the span about the tip: they move together.
    ready : int
        When the wall is expected to be ready.
    drained, can_demould : int
        From when on the mould has drained, and can be demoulded.
    demould : int
        Length of demoulding.
    """

    rigid: tuple[Part, ...]
    ready: int
    drained: int
    can_demould: int
    demould: int


class HandsDay:
    """Who is busy when. Working memory of one planning run; never kept."""

    def __init__(self, hands: int, steps: int) -> None:
        self._hands = hands
        self._busy: Counts = np.zeros(steps, dtype=np.int16)
        self._spans: Counts = np.zeros(steps, dtype=np.int16)

    @property
    def steps(self) -> int:
        """Length of the day in grid steps."""
        return len(self._busy)

    def earliest(self, parts: Sequence[Part], since: int) -> int | None:
        """First start from `since` on at which all parts find hands; None if none."""
        longest = max(part.end for part in parts)
        count = self.steps - longest - since + 1
        if count <= 0:
            return None
        full = np.concatenate([[0], np.cumsum(self._busy >= self._hands)])
        spans = np.concatenate([[0], np.cumsum(self._spans > 0)])
        clash = np.zeros(count, dtype=bool)
        for part in parts:
            sums = spans if part.is_span else full
            begin, end = since + part.begin, since + part.end
            clash |= sums[end : end + count] > sums[begin : begin + count]
        first = int(np.argmin(clash))
        return None if clash[first] else since + first

    def fits(self, parts: Sequence[Part], start: int) -> bool:
        """Whether all parts of a cast that starts at `start` find hands within the day."""
        for part in parts:
            where = slice(start + part.begin, start + part.end)
            taken = self._spans[where] > 0 if part.is_span else self._busy[where] >= self._hands
            if start + part.end > self.steps or taken.any():
                return False
        return True

    def book(self, parts: Sequence[Part], start: int, hands: int = 1) -> None:
        """Take hands for all parts of a cast that starts at `start`; -1 gives them back."""
        for part in parts:
            layer = self._spans if part.is_span else self._busy
            layer[start + part.begin : start + part.end] += hands


def to_grid(minutes: float) -> int:
    """Minutes in grid steps, rounded up."""
    return math.ceil(minutes / GRID_MIN - 1e-9)


def cast_parts(mould: PlanMould, cast: int, slack: float) -> CastParts:
    """Lay out cast number `cast` (0: the next) of a mould, `slack` standard deviations about its tip."""
    casting = mould.cast_min[cast]
    pour = to_grid(mould.pour_min)
    ready = pour + to_grid(casting)
    tip = to_grid(mould.tip_min)
    spare = round(casting * (math.exp(slack * mould.sigma_log) - 1.0) / GRID_MIN)
    first = max(ready - spare, pour)
    parts = [Part(0, pour, False)]
    for share in mould.top_up_at:
        begin = pour + to_grid(share * casting)
        parts.append(Part(begin, min(begin + to_grid(mould.top_up_min), ready), False))
    parts.append(Part(ready, ready + tip, False))
    parts.append(Part(first, ready + spare + tip, True))
    after = ready + tip
    return CastParts(
        rigid=tuple(p for p in parts if p.end > p.begin),
        ready=ready,
        drained=after + to_grid(mould.drain_min),
        can_demould=after + to_grid(mould.set_min),
        demould=to_grid(mould.demould_min),
    )
