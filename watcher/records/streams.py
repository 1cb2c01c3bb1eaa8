"""Slip as it falls into a pour hole: where it was seen to cross the rim, moment by moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class StreamSeen:
    """A stream over one mould in one picture.

    Attributes
    ----------
    mould : str
    across_mm : float
        Where it crosses the rim's level, sideways from the hole's middle as the camera sees it; right is
        positive. How far it stands towards the camera cannot be told from one picture. [mm]
    sigma_mm : float
        Standard deviation of its error. [mm]
    """

    mould: str
    across_mm: float
    sigma_mm: float


@dataclass(frozen=True, slots=True)
class Glance:
    """All streams of one picture; a glance tells of nothing else."""

    taken_s: float
    taken_at: datetime
    streams: tuple[StreamSeen, ...] = ()


@dataclass(frozen=True, slots=True)
class StreamPoint:
    """Where a stream was at a moment of the bench's steady clock. [s, mm]."""

    at_s: float
    across_mm: float


@dataclass(frozen=True, slots=True)
class OneSpot:
    """For how long a stream fell on one spot, and where. [s, mm].

    `across_mm` is counted as in `StreamSeen`.
    """

    from_s: float
    to_s: float
    across_mm: float

    @property
    def lasted_s(self) -> float:
        """How long it stayed. [s]."""
        return self.to_s - self.from_s
