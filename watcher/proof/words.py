"""Figures in words: the same in every table."""

from __future__ import annotations

import math
from collections.abc import Sequence

MOST_SHARE = 10.0


def figure(value: float | None, unit: str) -> str:
    """Write a figure with its unit; "%" takes a share. A dash: there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    if unit == "%":
        return f"{100.0 * value:.1f} %" if value < MOST_SHARE else "over 1,000 %"
    if unit == "mm":
        return f"{value:.2f} mm" if abs(value) >= 0.01 or value == 0.0 else f"{value:.3f} mm"
    return f"{value:g}"


def allowed(span: tuple[float, float], unit: str) -> str:
    """Write what a bar allows: at most, at least, or between."""
    low, high = span
    if math.isfinite(low) and math.isfinite(high) and low > 0.0:
        return f"{_short(low, unit)} to {_short(high, unit)}"
    if math.isfinite(high):
        return _short(high, unit) if high == 0.0 else f"at most {_short(high, unit)}"
    return f"at least {_short(low, unit)}"


def _short(value: float, unit: str) -> str:
    if unit == "%":
        return f"{100.0 * value:g} %"
    return f"{value:g} {unit}".strip()


def joined(names: Sequence[str]) -> str:
    """Join names as in a sentence."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def median(values: Sequence[float | None]) -> float | None:
    """Return the median of what is known; None where nothing is."""
    known = sorted(value for value in values if value is not None and math.isfinite(value))
    if not known:
        return None
    return 0.5 * (known[(len(known) - 1) // 2] + known[len(known) // 2])
