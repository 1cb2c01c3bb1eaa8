"""What a mould's good casts teach of the time from the tip to demoulding: "it came clean" is the lesson."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from models.doors import BadValue
from models.draining import PastStep, after_tip
from models.ranged import Ranged
from models.slip import Slip
from watcher.desk.mould_story import wall_of
from watcher.desk.plan_times import taught
from watcher.records.afterwards import Finding, FindingKind
from watcher.records.kept import KeptCast

LONGEST_H = 24.0
"""A cast that was said to be out later than this had been out before (guess). [h]"""


@dataclass(frozen=True, slots=True)
class Demoulding:
    """When a cast of a mould can come out.

    Attributes
    ----------
    minutes : Ranged
        From the tip. [min]
    taught_by : int
        Casts of its own that came clean; 0: what makers print alone.
    """

    minutes: Ranged
    taught_by: int


def demoulding_of(
    casts: Sequence[KeptCast], findings: Iterable[Finding], slip: Slip, wall_mm: float
) -> Demoulding | None:
    """Forecast the demoulding of a mould's next cast, or of the one that is in it.

    Parameters
    ----------
    casts : sequence of KeptCast
        Of one mould, newest first.
    findings : iterable of Finding
        Only those who say that it came clean count, each at its moment.
    slip : Slip
    wall_mm : float
        Of the cast that is asked about. [mm]

    Returns
    -------
    Demoulding or None
        None where the wall is outside what is known of setting.
    """
    clean = {one.cast_id: one.at for one in findings if one.kind is FindingKind.CLEAN}
    known = {cast.cast_id: k for cast, k, _ in taught(casts)}
    quickest = max(known.values(), default=1.0)
    slowness = {cast_id: min(max(quickest / k, 0.3), 20.0) for cast_id, k in known.items()}
    past = []
    for cast in casts:
        wall = wall_of(cast)
        if cast.cast_id not in clean or cast.tipped_at is None or wall is None:
            continue
        minutes = (clean[cast.cast_id] - cast.tipped_at).total_seconds() / 60.0
        if 1.0 <= minutes <= 60.0 * LONGEST_H and 0.3 <= wall.value <= 60.0:
            past.append(PastStep(minutes, wall.value, slowness.get(cast.cast_id, 1.0)))
    newest = slowness.get(casts[0].cast_id, 1.0) if casts else 1.0
    if not math.isfinite(wall_mm):
        return None
    try:
        forecast = after_tip(
            wall_mm=wall_mm,
            slowness=newest,
            water_per_cake=slip.water_per_cake,
            past_demoulds=past,
        )
    except BadValue:
        return None
    return Demoulding(forecast.demould, len(past))
