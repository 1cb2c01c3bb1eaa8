"""Ranges against the truth: of the ranges that claim to hold it so often, how many do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats import beta, norm

from models.ranged import Z80
from watcher.proof.cast_score import RangeVote
from watcher.proof.level_score import LevelError

CLAIMS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)


@dataclass(frozen=True, slots=True)
class CalibrationCurve:
    """Claimed against held.

    Attributes
    ----------
    name : str
    claimed, held : tuple of float
        Chance that a range claims to hold the truth, and the share that did.
    count : int
        Ranges judged, those included that claimed nothing.
    """

    name: str
    claimed: tuple[float, ...]
    held: tuple[float, ...]
    count: int


def of_levels(errors: Sequence[LevelError]) -> CalibrationCurve:
    """Curve of the levels' own standard deviations, taken as normal."""
    return _curve("level", [_units(error.error_mm, error.sigma_mm) for error in errors])


def of_votes(name: str, votes: Sequence[RangeVote]) -> CalibrationCurve:
    """Curve of 80 % ranges, each side stretched as a normal one of its own width."""
    return _curve(name, [_vote_units(vote) for vote in votes])


def expected_by_chance(count: int, held: float = 0.8, inside: float = 0.9) -> tuple[float, float]:
    """Between which shares a right 80 % range would lie nine times in ten, judged `count` times.

    The equal-tailed interval of the share for `held` x `count` successes (Jeffreys' prior).
    """
    if count == 0:
        return 0.0, 1.0
    hits = held * count
    outside = (1.0 - inside) / 2.0
    share = beta(hits + 0.5, count - hits + 0.5)
    return float(share.ppf(outside)), float(share.ppf(1.0 - outside))


def _curve(name: str, units: list[float]) -> CalibrationCurve:
    reach = [float(norm.ppf((1.0 + claim) / 2.0)) for claim in CLAIMS]
    held = tuple(sum(unit <= z for unit in units) / len(units) if units else math.nan for z in reach)
    return CalibrationCurve(name, CLAIMS, held, len(units))


def _units(error: float, sigma: float | None) -> float:
    return abs(error) / sigma if sigma is not None and sigma > 0.0 else math.inf


def _vote_units(vote: RangeVote) -> float:
    if vote.low is None or vote.middle is None or vote.high is None:
        return math.inf
    off = vote.truth - vote.middle
    side = vote.high - vote.middle if off > 0 else vote.middle - vote.low
    if off == 0.0:
        return 0.0
    return _units(off, side / Z80)
