"""The calibration table: how near, how often within the range, and what the rivals are worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.trials import SHARES, Known, Verdict, draw, judge


@dataclass(frozen=True, slots=True)
class TableRow:
    """Casts of one state of knowledge, judged at one share of their time.

    Attributes
    ----------
    known : Known
    share : float
        Of the time from full to ready.
    casts : int
    ready_median, ready_ninth : float
        Error of the foretold moment as a share of the cast's time: median, and the worst of nine in ten.
    ready_held, wall_held : float
        Share of casts whose 80 % range holds the truth.
    ready_width : float
        Median width of the ready range as a share of the cast's time.
    wall_median_mm : float
        Median error of the wall at that moment. [mm]
    last_time_median, root_fit_median : float or None
        The rivals' errors: last cast's time, and a plain fit of the level to the root of time.
    """

    known: Known
    share: float
    casts: int
    ready_median: float
    ready_ninth: float
    ready_held: float
    ready_width: float
    wall_median_mm: float
    wall_held: float
    last_time_median: float | None
    root_fit_median: float | None


def calibration_table(casts_of_each: int, seed: int) -> tuple[TableRow, ...]:
    """Draw so many casts of each state of knowledge and judge them; the same seed gives the same table."""
    rows: list[TableRow] = []
    for number, known in enumerate(Known):
        rng = np.random.default_rng([seed, number])
        verdicts = [verdict for _ in range(casts_of_each) for verdict in judge(draw(known, rng))]
        rows.extend(_row([v for v in verdicts if v.share == share]) for share in SHARES)
    return tuple(rows)


def _row(verdicts: Sequence[Verdict]) -> TableRow:
    errors = np.abs([v.ready_error for v in verdicts])
    return TableRow(
        verdicts[0].known,
        verdicts[0].share,
        len(verdicts),
        float(np.median(errors)),
        float(np.quantile(errors, 0.9)),
        float(np.mean([v.ready_held for v in verdicts])),
        float(np.median([v.ready_width for v in verdicts])),
        float(np.median(np.abs([v.wall_error_mm for v in verdicts]))),
        float(np.mean([v.wall_held for v in verdicts])),
        _median([v.last_time_error for v in verdicts]),
        _median([v.root_fit_error for v in verdicts]),
    )


def _median(errors: Sequence[float | None]) -> float | None:
    known = [abs(error) for error in errors if error is not None and math.isfinite(error)]
    return float(np.median(known)) if known else None
