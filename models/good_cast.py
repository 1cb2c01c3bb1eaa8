"""Make it like that one: the water that a good cast gave up is the target, with no millimetre asked for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtr

from models.doors import BadValue, number
from models.ranged import Ranged

Array = npt.NDArray[np.float64]

TASTE_LOG = 0.05
"""How far two casts that a caster calls good differ in cake volume, as a logarithm (guess, about 5 %)."""

NOTICED_LOG = 0.08
"""How much thinner or thicker than wanted a wall is when a caster just says so (guess, about 8 %)."""

SURPRISE = 0.03
"""A word that had less than this chance after all words before it is shown to the caster instead of used."""

THICK_OVER_THIN = 1.10
"""Thick end of the window over its thin end: 10 % of wall, about 20 % of time (common practice)."""


class Word(StrEnum):
    """What the caster says of a cast."""

    GOOD = "good"
    TOO_THIN = "too_thin"
    TOO_THICK = "too_thick"


@dataclass(frozen=True, slots=True)
class JudgedCast:
    """A cast of one mould that the caster has judged.

    Attributes
    ----------
    name : str
        What the caster knows it by.
    water_ml, sigma_ml : float
        Water given up from full to tipped, summed over top-ups, with its standard deviation. [mL]
    water_per_cake : float
        f of the slip it was cast with.
    word : Word
    """

    name: str
    water_ml: float
    sigma_ml: float
    water_per_cake: float
    word: Word


@dataclass(frozen=True, slots=True)
class WaterTarget:
    """When to call `ready`.

    Attributes
    ----------
    water_ml : Ranged
        Water to be given up, with today's slip. [mL]
    thick_ml : float
        Water at the thick end of the window. [mL]
    rel_sigma : float
        Relative standard deviation of the target.
    used : tuple of str
        Casts that it rests on.
    questioned : tuple of str
        One sentence for each cast whose word did not fit the others and was left out.
    """

    water_ml: Ranged
    thick_ml: float
    rel_sigma: float
    used: tuple[str, ...]
    questioned: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoTarget:
    """No target yet, and why, in a sentence for the caster."""

    why: str


def water_given_ml(legs: Sequence[tuple[Array, Array]]) -> float:
    """Water given up by a cast from its levels, summed over top-ups, [mL].

    Parameters
    ----------
    legs : sequence of (level_mm, free_area_mm2), each ndarray of shape (n,)
        One pair for each stretch between top-ups: level below the rim, and free surface at that moment
        (hole less ring of cake). [mm], [mm2]

    Notes
    -----
    Sum of free surface times sinking [S28], by the trapezium rule.
    """
    total = 0.0
    for i, (level, area) in enumerate(legs, 1):
        if len(level) != len(area) or len(level) < 2:
            raise BadValue(f"leg {i} has {len(level)} levels and {len(area)} areas; give as many, at least 2")
        if not (np.isfinite(level).all() and np.isfinite(area).all() and (area >= 0).all()):
            raise BadValue(f"leg {i} holds a number that is no level or area; give finite mm and mm2")
        total += float(np.sum(0.5 * (area[1:] + area[:-1]) * np.diff(level)))
    return total / 1000.0


def target_from(casts: Sequence[JudgedCast], *, water_per_cake_today: float) -> WaterTarget | NoTarget:
    """Find the water at which to call `ready`, from what the caster said of earlier casts, oldest first.

    Parameters
    ----------
    casts : sequence of JudgedCast
        Of one mould, oldest first.
    water_per_cake_today : float
        f of today's slip, 0.01 to 3.

    Returns
    -------
    WaterTarget or NoTarget
        No target while nothing was called good and thin and thick do not yet bracket it.

    Notes
    -----
    For one mould the cake volume of a wall depends neither on K nor on dampness, and water = f x cake [S28].
    A posterior over the log of the wanted cake volume: 'good' is a measurement of it, 'too thin' and 'too
    thick' are bounds. Each word is first tested against those before it; one that had less than 3 % chance
    is not averaged in but shown. The wall's place and the slip's settling are taken as unchanged.
    """
    today = number("today's f", water_per_cake_today, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    if not casts:
        return NoTarget("no cast of this mould has been judged yet; pour one and say how it came out")
    logs = [_log_cake(cast) for cast in casts]
    grid = np.linspace(min(logs) - 1.0, max(logs) + 1.0, 4001)
    log_post = np.zeros_like(grid)
    used: list[str] = []
    questioned: list[str] = []
    for cast, log_cake in zip(casts, logs, strict=True):
        spread = math.hypot(cast.sigma_ml / cast.water_ml, TASTE_LOG)
        if used and _tail(grid, log_post, cast.word, log_cake, spread) < SURPRISE:
            questioned.append(_question(cast))
            continue
        log_post = log_post + _log_likelihood(grid, cast.word, log_cake, spread)
        used.append(cast.name)
    words = {c.word for c in casts if c.name in used}
    if Word.GOOD not in words and not {Word.TOO_THIN, Word.TOO_THICK} <= words:
        side = "thin" if Word.TOO_THIN in words else "thick"
        return NoTarget(f"so far every cast was too {side}; one that is good sets the target")
    low, middle, high = _quantiles(grid, log_post, (0.1, 0.5, 0.9))
    water = Ranged(today * math.exp(middle), today * math.exp(low), today * math.exp(high))
    return WaterTarget(
        water,
        water.value * THICK_OVER_THIN,
        _deviation(grid, log_post),
        tuple(used),
        tuple(questioned),
    )


def _log_cake(cast: JudgedCast) -> float:
    number(f"{cast.name}: water given up", cast.water_ml, wanted="mL, 0.1 to 100000", least=0.1, most=1e5)
    number(
        f"{cast.name}: spread of the water",
        cast.sigma_ml,
        wanted="mL, above 0 and at most half of the water",
        above=0,
        most=0.5 * cast.water_ml,
    )
    number(f"{cast.name}: f", cast.water_per_cake, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    return math.log(cast.water_ml / cast.water_per_cake)


def _log_likelihood(grid: Array, word: Word, log_cake: float, spread: float) -> Array:
    if word is Word.GOOD:
        return np.asarray(-0.5 * ((grid - log_cake) / spread) ** 2)
    side = 1.0 if word is Word.TOO_THIN else -1.0
    z = (side * (grid - log_cake) - NOTICED_LOG) / spread
    return np.asarray(log_ndtr(z))


def _tail(grid: Array, log_post: Array, word: Word, log_cake: float, spread: float) -> float:
    """Chance of a word as odd as this one, from what is believed so far."""
    weights = _weights(log_post)
    if word is Word.GOOD:
        below = float(np.sum(weights * ndtr((log_cake - grid) / spread)))
        return 2.0 * min(below, 1.0 - below)
    return float(np.sum(weights * np.exp(_log_likelihood(grid, word, log_cake, spread))))


def _question(cast: JudgedCast) -> str:
    said = cast.word.value.replace("_", " ")
    return (
        f"{cast.name} gave up {cast.water_ml:.0f} mL and was called {said}, which does not fit those before "
        "it; was another slip, mould or wish behind it?"
    )


def _weights(log_post: Array) -> Array:
    weights = np.exp(log_post - log_post.max())
    return np.asarray(weights / weights.sum())


def _quantiles(grid: Array, log_post: Array, shares: tuple[float, ...]) -> tuple[float, ...]:
    cumulative = np.cumsum(_weights(log_post))
    return tuple(float(v) for v in np.interp(shares, cumulative, grid))


def _deviation(grid: Array, log_post: Array) -> float:
    weights = _weights(log_post)
    mean = float(np.sum(weights * grid))
    return math.sqrt(float(np.sum(weights * (grid - mean) ** 2)))
