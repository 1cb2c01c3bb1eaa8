"""A cast's series of levels: which counts, which waits for a second one, which is a pour or a fall."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum

from watcher.records.bench import Cast, Filling, FillingKind, Reading

RISE_MM = 1.0
"""A level this much higher than the last one, and than the forecast, is a pour: slip never rises by itself.
Well above a reading's noise (0.1-0.3 mm on rendered benches), below the smallest top-up worth making. [mm]"""

FALL_MM = 4.0
"""A level this much lower than forecast does not come from plaster drinking alone. [mm]"""

LADLED_MM = 12.0
"""A fall beyond forecast that means the slip was taken out (ladle, bung) rather than drunk. [mm]"""

AGREE_MM = 1.5
"""Two readings this close confirm each other. [mm]"""

STILL_POURING_S = 75.0
"""A rise so soon after the hole first stood full belongs to the same pour, stopped and taken up again. [s]"""


class Sense(StrEnum):
    """What a new level means against the series so far."""

    FITS = "fits"
    ROSE = "rose"
    FELL = "fell"


def sense_of(level_mm: float, sigma_mm: float, *, last_mm: float | None, forecast_mm: float | None) -> Sense:
    """Tell what a new level means.

    Parameters
    ----------
    level_mm, sigma_mm : float
        The new reading and the part of its spread that changes from frame to frame. [mm]
    last_mm : float or None
        The last level that counted. [mm]
    forecast_mm : float or None
        Where the fit expects the level now. [mm]
    """
    known = [mm for mm in (last_mm, forecast_mm) if mm is not None]
    if not known:
        return Sense.FITS
    if level_mm < min(known) - max(RISE_MM, 4.0 * sigma_mm):
        return Sense.ROSE
    if level_mm > max(known) + max(FALL_MM, 6.0 * sigma_mm):
        return Sense.FELL
    return Sense.FITS


def last_reading(cast: Cast) -> Reading | None:
    """Return the newest reading that counts, or None before the first."""
    for filling in reversed(cast.fillings):
        if filling.readings:
            return filling.readings[-1]
    return None


def readings_in(cast: Cast) -> int:
    """Count the readings of all fillings."""
    return sum(len(filling.readings) for filling in cast.fillings)


def with_reading(cast: Cast, *readings: Reading) -> Cast:
    """Add readings to the present filling."""
    *before, last = cast.fillings
    return replace(cast, fillings=(*before, replace(last, readings=last.readings + readings)))


def with_pour(cast: Cast, readings: tuple[Reading, ...], *, earliest_s: float, latest_s: float) -> Cast:
    """Begin a new filling: a top-up, or the same pour taken up again when the hole has hardly stood full."""
    first = cast.fillings[0]
    if len(cast.fillings) == 1 and latest_s - first.latest_s < STILL_POURING_S:
        again = replace(
            first, earliest_s=max(first.earliest_s, earliest_s), latest_s=latest_s, readings=readings
        )
        return replace(cast, fillings=(again,))
    return replace(
        cast, fillings=(*cast.fillings, Filling(FillingKind.TOP_UP, earliest_s, latest_s, readings))
    )
