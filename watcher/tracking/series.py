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

SEEN_POUR_S = 120.0
"""A pour that lies somewhere in a longer span than this was not seen; a rise soon after it was found full may
come long after it was. [s]"""

UNSEEN_TOP_UP_S = 60.0
"""In a silence this long slip may have been poured on top. [s]"""

HARDLY_SANK = 1.0 / 3.0
"""Slip that has sunk by less than this share of what was foretold for a silence was topped up in it: sinking
goes with the root of K, and no K is overrated ninefold."""

DRAINS_WITHIN_S = 60.0
"""Through a bung or by ladle a mould loses `LADLED_MM` within this time (common practice, no source). [s]"""

DRAINS_FASTER = 5.0
"""And so many times faster than it sank in the two minutes before."""

LEAST_SINKING_MM_PER_MIN = 1.0
"""The sinking before is taken as at least this fast, so that a mould that hardly drinks still needs a real
fall. [mm/min]"""


class Sense(StrEnum):
    """What a new level means against the series so far."""

    FITS = "fits"
    ROSE = "rose"
    FELL = "fell"


def sense_of(
    level_mm: float,
    drift_sigma_mm: float,
    *,
    last_mm: float | None,
    forecast_mm: float | None,
    forecast_sigma_mm: float = 0.0,
    silence_s: float = 0.0,
) -> Sense:
    """Tell what a new level means.

    A rise is judged against the last level: slip only sinks, and what both readings share is in neither's
    way. A fall is judged against the forecast, with all that is not known of it.

    Parameters
    ----------
    level_mm, drift_sigma_mm : float
        The new reading and the part of its spread that changes from frame to frame. [mm]
    last_mm : float or None
        The last level that counted. [mm]
    forecast_mm, forecast_sigma_mm : float or None, float
        Where the fit expects the level now, and how surely. [mm]
    silence_s : float
        Since the last level. After a long one a small rise counts if by now the slip should stand far lower.
        [s]
    """
    known = [mm for mm in (last_mm, forecast_mm) if mm is not None]
    if not known:
        return Sense.FITS
    if level_mm < min(known) - max(RISE_MM, 4.0 * drift_sigma_mm):
        return Sense.ROSE
    if silence_s > UNSEEN_TOP_UP_S and last_mm is not None and forecast_mm is not None:
        far_mm = max(RISE_MM, 4.0 * drift_sigma_mm, 2.0 * forecast_sigma_mm)
        if level_mm < last_mm - drift_sigma_mm and level_mm < forecast_mm - far_mm:
            return Sense.ROSE
        foretold_mm = forecast_mm - last_mm
        if (
            foretold_mm > max(RISE_MM, 4.0 * drift_sigma_mm)
            and level_mm < last_mm + HARDLY_SANK * foretold_mm
        ):
            return Sense.ROSE
    if level_mm > max(known) + max(FALL_MM, 6.0 * max(drift_sigma_mm, forecast_sigma_mm)):
        return Sense.FELL
    return Sense.FITS


def last_reading(cast: Cast) -> Reading | None:
    """Return the newest reading that counts, or None before the first."""
    for filling in reversed(cast.fillings):
        if filling.readings:
            return filling.readings[-1]
    return None


def with_reading(cast: Cast, *readings: Reading) -> Cast:
    """Add readings to the present filling."""
    *before, last = cast.fillings
    return replace(cast, fillings=(*before, replace(last, readings=last.readings + readings)))


def with_pour(cast: Cast, readings: tuple[Reading, ...], *, earliest_s: float, latest_s: float) -> Cast:
    """Begin a new filling: a top-up, or the same pour taken up again when the hole has hardly stood full."""
    first = cast.fillings[0]
    seen = first.latest_s - first.earliest_s <= SEEN_POUR_S
    if len(cast.fillings) == 1 and seen and latest_s - first.latest_s < STILL_POURING_S:
        again = replace(
            first, earliest_s=max(first.earliest_s, earliest_s), latest_s=latest_s, readings=readings
        )
        return replace(cast, fillings=(again,))
    return replace(
        cast, fillings=(*cast.fillings, Filling(FillingKind.TOP_UP, earliest_s, latest_s, readings))
    )


def before_draining(cast: Cast, reading: Reading) -> Cast | None:
    """Return the cast without the levels of slip that has begun to run out, or None when it has not.

    Looks that follow closely on each other show a bung pulled out as many small falls, each of which alone
    could be growth; together they are far too fast.
    """
    last = cast.fillings[-1]
    recent = [r for r in last.readings if r.at_s >= reading.at_s - DRAINS_WITHIN_S]
    earlier = [r for r in last.readings if reading.at_s - 3.0 * DRAINS_WITHIN_S <= r.at_s]
    if len(recent) < 3 or reading.level_mm - recent[0].level_mm < LADLED_MM:
        return None
    before_s = recent[0].at_s - earlier[0].at_s
    if before_s < DRAINS_WITHIN_S:
        return None
    sank = max((recent[0].level_mm - earlier[0].level_mm) / before_s, LEAST_SINKING_MM_PER_MIN / 60.0)
    falls = (reading.level_mm - recent[0].level_mm) / (reading.at_s - recent[0].at_s)
    if falls < DRAINS_FASTER * sank:
        return None
    kept = tuple(r for r in last.readings if r.at_s <= recent[0].at_s)
    return replace(cast, fillings=(*cast.fillings[:-1], replace(last, readings=kept)))
