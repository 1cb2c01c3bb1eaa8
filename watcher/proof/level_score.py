"""How near the levels were, how many were read, and how many were made up."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from models.ranged import Z80
from watcher.proof.measured_lines import Lines, key
from watcher.proof.truth_tables import TrueRow, Truth

GROSS_MM = 2.0
SLIVER = 0.15
"""With less of the liquid's edge in view a reading is welcome, not asked for."""

WITHOUT_SLIP = frozenset(("absent", "empty", "tipped", "drained"))
FIRST_READINGS = 3
"""The drop is reckoned from the middle one of so many first readings."""


@dataclass(frozen=True, slots=True)
class LevelError:
    """One reading that was asked for and given. `sigma_mm` None: it was not said how sure it is. [mm]."""

    time_s: float
    mould: str
    error_mm: float
    sigma_mm: float | None

    @property
    def gross(self) -> bool:
        """Whether it is far off."""
        return abs(self.error_mm) > GROSS_MM


@dataclass(frozen=True, slots=True)
class LevelFigures:
    """Figures of one recording; None where there is nothing to judge.

    Attributes
    ----------
    eligible, hidden, false_seen : int
        Lines in view; casts out of view; levels given where none could be.
    read_share, gross_share : float or None
        Read of those in view; far off of those read.
    rms_mm, bias_mm, drop_rms_mm : float or None
        Over those not far off. [mm]
    range_held : float or None
        Share of all read whose truth lies within the claimed 80 % range.
    errors : tuple of LevelError
        Every reading that counts.
    drops_mm : tuple of float
        Errors of the drop since full. [mm]
    """

    eligible: int
    hidden: int
    false_seen: int
    read_share: float | None
    gross_share: float | None
    rms_mm: float | None
    bias_mm: float | None
    drop_rms_mm: float | None
    range_held: float | None
    errors: tuple[LevelError, ...]
    drops_mm: tuple[float, ...]


def asked_for(row: TrueRow) -> bool:
    """Whether this level is to be read: the mould casts, and enough of the liquid's edge is in view."""
    return row.phase == "casting" and row.visible and (row.share_in_view or 1.0) >= SLIVER


def level_figures(truth: Truth, lines: Lines) -> LevelFigures:
    """Hold the levels that were read against the true ones.

    Parameters
    ----------
    truth : Truth
    lines : mapping
        What was measured; a missing line is one that was not read.
    """
    errors: list[LevelError] = []
    eligible = hidden = false_seen = 0
    for row in truth.rows:
        line = lines.get(key(row.time_s, row.mould))
        level = line.level_mm if line is not None and line.seen else None
        if row.phase in WITHOUT_SLIP:
            false_seen += level is not None
        if row.phase == "casting" and not row.visible:
            hidden += 1
            false_seen += level is not None and row.tells_share
        if not asked_for(row):
            continue
        eligible += 1
        if line is not None and level is not None and row.level_mm is not None:
            errors.append(LevelError(row.time_s, row.mould, level - row.level_mm, line.level_sigma_mm))
    near = [error.error_mm for error in errors if not error.gross]
    drops = drop_errors_mm(truth, errors)
    return LevelFigures(
        eligible,
        hidden,
        false_seen,
        len(errors) / eligible if eligible else None,
        sum(error.gross for error in errors) / len(errors) if errors else None,
        rms(near),
        sum(near) / len(near) if near else None,
        rms(drops),
        sum(within(error) for error in errors) / len(errors) if errors else None,
        tuple(errors),
        tuple(drops),
    )


def drop_errors_mm(truth: Truth, errors: Sequence[LevelError]) -> list[float]:
    """Errors of the drop since each filling: against the middle one of its first three readings. [mm]."""
    resets: dict[str, list[float]] = defaultdict(list)
    for event in truth.events:
        if event.event in ("filled", "topped_up"):
            resets[event.mould].append(event.time_s)
    fillings: dict[tuple[str, int], list[float]] = defaultdict(list)
    for error in errors:
        if not error.gross:
            filling = bisect_right(resets[error.mould], error.time_s)
            fillings[error.mould, filling].append(error.error_mm)
    return [
        error - sorted(own[:FIRST_READINGS])[1]
        for own in fillings.values()
        if len(own) > FIRST_READINGS + 2
        for error in own[FIRST_READINGS:]
    ]


def within(error: LevelError) -> bool:
    """Whether the truth lies within the 80 % range that the reading claims."""
    return error.sigma_mm is not None and error.sigma_mm > 0.0 and abs(error.error_mm) <= Z80 * error.sigma_mm


def rms(values: Sequence[float]) -> float | None:
    """Root mean square; None where there is none."""
    return math.sqrt(sum(value * value for value in values) / len(values)) if values else None
