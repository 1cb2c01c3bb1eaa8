"""How near walls, calls and forecasts were, cast by cast."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from watcher.proof.measured_lines import Lines, MeasuredLine, key
from watcher.proof.truth_tables import Happened, TrueCast, TrueRow, Truth, true_casts

SHARES = (0.25, 0.5, 0.9)
"""Moments of a cast, as shares of its time, at which each of its ranges has one vote."""

CALL_BEFORE_S = 60.0
"""A call so long before its pour still belongs to the cast. [s]"""
LEAST_OFF_S, OFF_SHARE = 60.0, 0.15
"""A call is off the mark when it is off by more than so much of the cast's time and so many seconds."""
FALSE_SHARE = 0.25
"""A call in a cast that never became ready is false when it came so much of the cast's time too early."""

NO_LINE_MM, NO_LINE_SHARE = 9.0, 1.0
"""What a line counts that was due and is not there: a wall off by that, a forecast off by a whole cast."""


@dataclass(frozen=True, slots=True)
class RangeVote:
    """One claimed 80 % range and the truth it should hold; None where nothing was claimed."""

    mould: str
    share: float
    low: float | None
    middle: float | None
    high: float | None
    truth: float

    @property
    def held(self) -> bool:
        """Whether the range holds the truth."""
        return self.low is not None and self.high is not None and self.low <= self.truth <= self.high


@dataclass(frozen=True, slots=True)
class CastOutcome:
    """One cast that truly became ready, judged. Errors of time are shares of the cast's time.

    `called_s` None: it was not called. `wall_error_mm` and `half_error` None: nothing was due there.
    """

    cast: TrueCast
    called_s: float | None
    wall_error_mm: float | None
    half_error: float | None
    wall_votes: tuple[RangeVote, ...]
    ready_votes: tuple[RangeVote, ...]

    @property
    def call_error(self) -> float | None:
        """How late it was called (negative: early), as a share of its time."""
        return None if self.called_s is None else (self.called_s - self.cast.ready_s) / self.cast.lasts_s

    @property
    def off_the_mark(self) -> bool:
        """Whether the call came too far from the true moment."""
        if self.called_s is None:
            return False
        return abs(self.called_s - self.cast.ready_s) > max(OFF_SHARE * self.cast.lasts_s, LEAST_OFF_S)


@dataclass(frozen=True, slots=True)
class CastFigures:
    """All casts of one recording that truly became ready, and the calls that were none of theirs."""

    outcomes: tuple[CastOutcome, ...]
    false: int

    @property
    def missed(self) -> int:
        """Casts that were never called."""
        return sum(outcome.called_s is None for outcome in self.outcomes)

    @property
    def off_the_mark(self) -> int:
        """Casts called too far from their moment."""
        return sum(outcome.off_the_mark for outcome in self.outcomes)

    def call_errors(self) -> list[float]:
        """Errors of the calls, as shares of each cast's time."""
        return [outcome.call_error for outcome in self.outcomes if outcome.call_error is not None]

    def call_errors_beyond_a_minute(self) -> list[float]:
        """Give the same, but 0 for calls within a minute: on the mark however short the cast."""
        return [
            0.0 if abs(outcome.call_error) * outcome.cast.lasts_s <= LEAST_OFF_S else outcome.call_error
            for outcome in self.outcomes
            if outcome.call_error is not None
        ]

    def half_errors(self) -> list[float]:
        """Errors of the moments foretold at half time, as shares of each cast's time."""
        return [outcome.half_error for outcome in self.outcomes if outcome.half_error is not None]

    def wall_errors_mm(self) -> list[float]:
        """Errors of the wall at the true moment. [mm]."""
        return [outcome.wall_error_mm for outcome in self.outcomes if outcome.wall_error_mm is not None]


def cast_figures(truth: Truth, lines: Lines, said: Sequence[Happened]) -> CastFigures:
    """Hold walls, calls and forecasts against what truly happened.

    Parameters
    ----------
    truth : Truth
    lines : mapping
        What was measured.
    said : sequence of Happened
        What was called; only `ready` counts.
    """
    rows = {key(row.time_s, row.mould): row for row in truth.rows}
    moments: dict[str, list[float]] = defaultdict(list)
    for at_s, mould in sorted(lines):
        if (at_s, mould) in rows:
            moments[mould].append(at_s)
    last_s = max(row.time_s for row in truth.rows)
    outcomes: list[CastOutcome] = []
    false = 0
    for cast in true_casts(truth.events):
        calls = [
            said_.time_s
            for said_ in sorted(said, key=lambda one: one.time_s)
            if said_.event == "ready"
            and said_.mould == cast.mould
            and cast.began_s - CALL_BEFORE_S <= said_.time_s < cast.next_s
        ]
        false += max(0, len(calls) - 1)
        end_s = min(last_s, cast.tipped_s)
        if cast.ready_s > end_s:
            false += bool(calls) and calls[0] < end_s and _much_too_early(calls[0], cast)
            continue
        judge = _Judge(cast, moments[cast.mould], lines, rows)
        outcomes.append(
            CastOutcome(
                cast, calls[0] if calls else None, judge.wall_error_mm(), judge.half_error(), *judge.votes()
            )
        )
    return CastFigures(tuple(outcomes), false)


def _much_too_early(call_s: float, cast: TrueCast) -> bool:
    return cast.ready_s == math.inf or call_s < cast.ready_s - FALSE_SHARE * cast.lasts_s


@dataclass(frozen=True, slots=True)
class _Judge:
    """One cast with the lines that were measured of its mould."""

    cast: TrueCast
    moments_s: Sequence[float]
    lines: Lines
    rows: dict[tuple[float, str], TrueRow]

    def line_at(self, share: float) -> tuple[MeasuredLine, TrueRow] | None:
        """Return the first line at or after a share of the cast's time."""
        due_s = self.cast.full_s + share * self.cast.lasts_s
        at_s = next((at for at in self.moments_s if at >= due_s), None)
        if at_s is None:
            return None
        return self.lines[at_s, self.cast.mould], self.rows[at_s, self.cast.mould]

    def wall_error_mm(self) -> float | None:
        found = self.line_at(1.0)
        if found is None:
            return NO_LINE_MM
        line, row = found
        if row.phase != "casting":
            return None
        return row.wall_mm if line.wall_mm is None else line.wall_mm - row.wall_mm

    def half_error(self) -> float | None:
        found = self.line_at(0.5)
        if found is None:
            return NO_LINE_SHARE
        line, row = found
        if row.time_s >= self.cast.ready_s:
            return None
        if line.ready_s is None:
            return NO_LINE_SHARE
        return (line.ready_s - self.cast.ready_s) / self.cast.lasts_s

    def votes(self) -> tuple[tuple[RangeVote, ...], tuple[RangeVote, ...]]:
        walls: list[RangeVote] = []
        readies: list[RangeVote] = []
        for share in SHARES:
            found = self.line_at(share)
            mould, ready_s = self.cast.mould, self.cast.ready_s
            if found is None:
                walls.append(RangeVote(mould, share, None, None, None, math.nan))
                readies.append(RangeVote(mould, share, None, None, None, ready_s))
                continue
            line, row = found
            if row.time_s >= ready_s:
                continue
            wall = (line.wall_low_mm, line.wall_mm, line.wall_high_mm)
            ready = (line.ready_low_s, line.ready_s, line.ready_high_s)
            walls.append(RangeVote(mould, share, *wall, row.wall_mm))
            readies.append(RangeVote(mould, share, *ready, ready_s))
        return tuple(walls), tuple(readies)


def middle(errors: Sequence[float]) -> float | None:
    """Size of the middle error (the larger of the two middle ones); None where there is none."""
    return sorted(abs(error) for error in errors)[len(errors) // 2] if errors else None


def worst(errors: Sequence[float]) -> float | None:
    """Size of the worst error; None where there is none."""
    return max((abs(error) for error in errors), default=None)


def widths(votes: Sequence[RangeVote], per: float = 1.0) -> list[float]:
    """Widths of the ranges that were claimed, divided by `per`."""
    return [(vote.high - vote.low) / per for vote in votes if vote.low is not None and vote.high is not None]
