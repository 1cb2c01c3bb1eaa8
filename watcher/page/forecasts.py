"""What a cast's estimate says, as far as it says it: the one place where the page knows its shape."""

from __future__ import annotations

from models.ranged import Ranged
from models.tip import TipEstimate
from watcher.records.bench import Cast, NotYet


def estimate_of(cast: Cast | None) -> TipEstimate | NotYet | None:
    """Return the cast's estimate; None without a cast."""
    return cast.estimate if cast is not None else None


def wall_range(cast: Cast | None) -> Ranged | None:
    """Return the wall at the estimate's moment with its 80 % range, or None [mm]."""
    estimate = estimate_of(cast)
    if not isinstance(estimate, TipEstimate):
        return None
    return Ranged(estimate.wall_mm, estimate.wall_low_mm, estimate.wall_high_mm)


def ready_range(cast: Cast | None) -> Ranged | None:
    """Return when the mould is to be tipped with its 80 % range, or None [s of the steady clock]."""
    estimate = estimate_of(cast)
    if not isinstance(estimate, TipEstimate) or estimate.ready_s is None:
        return None
    low = estimate.ready_s if estimate.ready_low_s is None else estimate.ready_low_s
    high = estimate.ready_s if estimate.ready_high_s is None else estimate.ready_high_s
    return Ranged(estimate.ready_s, low, high)


def why_blank(cast: Cast | None) -> str:
    """Return what the estimate says about itself; empty when it has nothing to say."""
    estimate = estimate_of(cast)
    return "" if estimate is None else estimate.why
