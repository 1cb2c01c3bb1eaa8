"""Ranges as JSON writes them."""

from __future__ import annotations

from models.ranged import Ranged
from watcher.page.shapes_review import RangeShape
from watcher.page.views import figure


def range_shape(ranged: Ranged | None, digits: int = 3) -> RangeShape | None:
    """Return a range as a dict; an end that has no number is null."""
    if ranged is None:
        return None
    return {
        "value": figure(ranged.value, digits),
        "low": figure(ranged.low, digits),
        "high": figure(ranged.high, digits),
    }
