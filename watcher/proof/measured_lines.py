"""What `tipbell measure` wrote of a recording, as figures."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """One line of ``readings.csv``; None where it is blank. The names are those of its columns."""

    time_s: float
    mould: str
    seen: bool
    level_mm: float | None
    level_sigma_mm: float | None
    wall_mm: float | None = None
    wall_low_mm: float | None = None
    wall_high_mm: float | None = None
    ready_s: float | None = None
    ready_low_s: float | None = None
    ready_high_s: float | None = None


Lines = Mapping[tuple[float, str], MeasuredLine]
"""Lines by moment, in hundredths of a second, and mould."""


def key(time_s: float, mould: str) -> tuple[float, str]:
    """Return the key of a line: moments are told apart by hundredths of a second."""
    return round(time_s, 2), mould


def by_moment(lines: Iterable[MeasuredLine]) -> Lines:
    """Put lines where they can be found."""
    return {key(line.time_s, line.mould): line for line in lines}


def line_of(row: Mapping[str, str]) -> MeasuredLine:
    """Read one row of the table."""
    return MeasuredLine(
        float(row["time_s"]),
        row["mould"],
        row["seen"] == "1",
        *(
            _number(row[name])
            for name in (
                "level_mm", "level_sigma_mm", "wall_mm", "wall_low_mm", "wall_high_mm",
                "ready_s", "ready_low_s", "ready_high_s",
            )
        ),
    )  # fmt: skip


def _number(text: str) -> float | None:
    value = float(text) if text else math.nan
    return value if math.isfinite(value) else None
