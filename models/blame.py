"""Who is slow: residuals of all moulds' casts say whether slip and room are behind it, or one mould."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from models.doors import BadValue, number
from models.ranged import Ranged, lognormal

Array = npt.NDArray[np.float64]

SHIFT_SIGMA = 0.20
"""How far a slip, a room or a damp mould shifts times when it does, as a logarithm (guess)."""

HABIT_SIGMA = 0.04
"""How far a mould's forecast is off all day for no cause worth finding, as a logarithm (guess)."""

ODD_SIGMA = 0.06
"""Scatter of one cast that nothing explains, as a logarithm (guess; as in `models.mould_memory`)."""

_USUAL = 0.50  # a day on which nothing is wrong, before any cast was seen (guess)
_SHARED = 0.25  # slip or room; half of it from the day's first cast on
_CLEAR = 0.80  # chance from which a culprit is named

WORTH_SAYING = 0.05
"""A shift below 5 % is not worth anybody's walk."""


class Culprit(StrEnum):
    """What the residuals point to."""

    NOTHING = "nothing"
    ALL = "all"  # slip or room: weigh the slip again, look at the thermometer
    ONE = "one"  # that mould: dry it, look at its face
    UNCLEAR = "unclear"  # something is off; too few casts of too few moulds to say whose it is


@dataclass(frozen=True, slots=True)
class Residual:
    """One finished cast against its forecast.

    Attributes
    ----------
    mould : str
    at_h : float
        Hours on any clock. [h]
    log_ratio : float
        log of time taken over time foretold: above 0 is slow.
    sigma : float
        Standard deviation of the forecast's log.
    """

    mould: str
    at_h: float
    log_ratio: float
    sigma: float


@dataclass(frozen=True, slots=True)
class Blame:
    """The verdict.

    Attributes
    ----------
    culprit : Culprit
    mould : str or None
        The one, with `ONE`.
    time_ratio : Ranged
        Its times over those foretold (`ALL`: everybody's).
    since_h : float or None
        With `ALL`: from when on, where the start is plain to see. [h]
    """

    culprit: Culprit
    mould: str | None
    time_ratio: Ranged
    since_h: float | None = None


def blame(casts: Sequence[Residual]) -> Blame:
    """Find whether all moulds are off, or one.

    Parameters
    ----------
    casts : sequence of Residual
        Recent casts (a day or a few), any order.

    Notes
    -----
    Three stories compete by their evidence, each normal: nothing is off; everybody is, from some cast
    on; one mould is. Each mould may be off by a little all day in any of them. With one mould alone, shared
    and own cannot be told apart: then the answer is at most `UNCLEAR`.
    """
    _check(casts)
    if not casts:
        return Blame(Culprit.NOTHING, None, Ranged(1.0, 1.0, 1.0))
    ordered = sorted(casts, key=lambda c: c.at_h)
    stories = _stories(ordered)
    chances = np.exp(np.array([s.log_chance for s in stories]) - max(s.log_chance for s in stories))
    chances /= chances.sum()
    of = {
        culprit: float(sum(p for p, s in zip(chances, stories, strict=True) if s.culprit is culprit))
        for culprit in (Culprit.NOTHING, Culprit.ALL, Culprit.ONE)
    }
    for culprit in (Culprit.ALL, Culprit.ONE):
        if of[culprit] > _CLEAR and len({c.mould for c in ordered}) > 1:
            best = max((s for s in stories if s.culprit is culprit), key=lambda s: s.log_chance)
            if abs(best.shift) > WORTH_SAYING:
                ratio = lognormal(math.exp(best.shift), best.sigma)
                return Blame(culprit, best.mould, ratio, best.since_h)
    culprit = Culprit.NOTHING if of[Culprit.NOTHING] >= 0.5 else Culprit.UNCLEAR
    everybody = next(s for s in stories if s.culprit is Culprit.ALL)
    return Blame(culprit, None, lognormal(math.exp(everybody.shift), everybody.sigma))


@dataclass(frozen=True, slots=True)
class _Story:
    culprit: Culprit
    mould: str | None
    since_h: float | None
    shift: float
    sigma: float
    log_chance: float


def _stories(casts: list[Residual]) -> list[_Story]:
    """All stories, the one of everybody from the first cast on being the first of its kind."""
    n, moulds = len(casts), sorted({c.mould for c in casts})
    starts = sorted({c.at_h for c in casts})
    told = [_told(casts, np.zeros(n), Culprit.NOTHING, None, None, _USUAL)]
    for i, start in enumerate(starts):
        share = 0.5 if i == 0 else 0.5 / (len(starts) - 1)
        share = 1.0 if len(starts) == 1 else share
        held = np.array([float(c.at_h >= start) for c in casts])
        told.append(_told(casts, held, Culprit.ALL, None, start if i else None, _SHARED * share))
    own = (1.0 - _USUAL - _SHARED) / len(moulds)
    for mould in moulds:
        held = np.array([float(c.mould == mould) for c in casts])
        told.append(_told(casts, held, Culprit.ONE, mould, None, own))
    return told


def _told(
    casts: list[Residual],
    held: Array,
    culprit: Culprit,
    mould: str | None,
    since_h: float | None,
    prior: float,
) -> _Story:
    seen = np.array([c.log_ratio for c in casts])
    same = np.array([[a.mould == b.mould for b in casts] for a in casts], dtype=np.float64)
    spread = np.diag([c.sigma**2 + ODD_SIGMA**2 for c in casts]) + HABIT_SIGMA**2 * same
    spread += SHIFT_SIGMA**2 * np.outer(held, held)
    solved = np.linalg.solve(spread, np.column_stack([seen, held]))
    _, log_det = np.linalg.slogdet(spread)
    shift = SHIFT_SIGMA**2 * float(held @ solved[:, 0])
    variance = SHIFT_SIGMA**2 * (1.0 - SHIFT_SIGMA**2 * float(held @ solved[:, 1]))
    log_chance = math.log(prior) - 0.5 * (float(log_det) + float(seen @ solved[:, 0]))
    return _Story(culprit, mould, since_h, shift, math.sqrt(variance), log_chance)


def _check(casts: Sequence[Residual]) -> None:
    for i, cast in enumerate(casts, 1):
        if not cast.mould:
            raise BadValue(f"cast {i} names no mould; give the mould's name")
        number(f"cast {i} time", cast.at_h, wanted="hours", least=-1e9, most=1e9)
        number(
            f"cast {i} log ratio",
            cast.log_ratio,
            wanted="log of taken over foretold, -3 to 3",
            least=-3,
            most=3,
        )
        number(f"cast {i} sigma", cast.sigma, wanted="the forecast's spread, above 0 to 3", above=0, most=3)
