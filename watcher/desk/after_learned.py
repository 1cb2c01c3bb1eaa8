"""What a mould's casts teach of the time from the tip to demoulding: clean, or stuck or slumped: too soon."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from models.doors import BadValue
from models.draining import PastStep, after_tip
from models.ranged import Ranged
from models.slip import Slip
from watcher.desk.mould_story import wall_of
from watcher.desk.plan_times import taught
from watcher.records.after_tip import AfterStep, PastSetting
from watcher.records.afterwards import Finding, FindingKind
from watcher.records.kept import KeptCast

LONGEST_H = 24.0
"""A cast that was said to be out later than this had been out before (guess). [h]"""


_TELLS = (FindingKind.CLEAN, FindingKind.STUCK, FindingKind.SLUMPED)


@dataclass(frozen=True, slots=True)
class Demoulding:
    """When a cast of a mould can come out.

    Attributes
    ----------
    minutes : Ranged
        From the tip. [min]
    taught_by : int
        Casts of its own that came clean, stuck or slumped; 0: what makers print alone.
    """

    minutes: Ranged
    taught_by: int


def past_setting(casts: Sequence[KeptCast], findings: Iterable[Finding]) -> PastSetting:
    """Return what the casts of one mould tell of its demoulding, by how each was said to come out.

    A cast that came clean after it was first said to stick counts as clean.
    """
    said: dict[FindingKind, dict[str, datetime]] = {kind: {} for kind in _TELLS}
    for one in findings:
        if one.kind in said:
            said[one.kind][one.cast_id] = one.at
    clean = said[FindingKind.CLEAN]
    soon = {**said[FindingKind.SLUMPED], **said[FindingKind.STUCK]}
    known = {cast.cast_id: k for cast, k, _ in taught(casts)}
    quickest = max(known.values(), default=None)
    base = PastSetting(quickest_k=quickest)

    def steps(at: Mapping[str, datetime], besides: Mapping[str, datetime]) -> tuple[PastStep, ...]:
        found = []
        for cast in casts:
            wall = wall_of(cast)
            if cast.cast_id not in at or cast.cast_id in besides or cast.tipped_at is None or wall is None:
                continue
            minutes = (at[cast.cast_id] - cast.tipped_at).total_seconds() / 60.0
            if 1.0 <= minutes <= 60.0 * LONGEST_H and 0.3 <= wall.value <= 60.0:
                slowness = base.slowness(known[cast.cast_id]) if cast.cast_id in known else 1.0
                found.append(PastStep(minutes, wall.value, slowness))
        return tuple(found)

    let_go = {
        cast.cast_id: cast.tipped_at + timedelta(seconds=noted.at_s - cast.tipped_s)
        for cast in casts
        if (noted := cast.after.when(AfterStep.LETTING_GO)) is not None
        and noted.said
        and cast.tipped_at is not None
        and cast.tipped_s is not None
    }
    return PastSetting(steps(let_go, {}), steps(clean, let_go), steps(soon, {**clean, **let_go}), quickest)


def demoulding_of(
    casts: Sequence[KeptCast], findings: Iterable[Finding], slip: Slip, wall_mm: float, *, habit: bool = False
) -> Demoulding | None:
    """Forecast the demoulding of a mould's next cast, or of the one that is in it.

    Parameters
    ----------
    casts : sequence of KeptCast
        Of one mould, newest first.
    findings : iterable of Finding
        Those who say that it came clean, stuck or slumped count, each at its moment.
    slip : Slip
    wall_mm : float
        Of the cast that is asked about. [mm]
    habit : bool
        Say when this caster takes it out, rather than from when on it can be: for what is planned around it.

    Returns
    -------
    Demoulding or None
        None where the wall is outside what is known of setting.
    """
    past = past_setting(casts, findings)
    known = {cast.cast_id: k for cast, k, _ in taught(casts)}
    k_now = known.get(casts[0].cast_id) if casts else None
    if not math.isfinite(wall_mm):
        return None
    try:
        forecast = after_tip(
            wall_mm=wall_mm,
            slowness=1.0 if k_now is None else past.slowness(k_now),
            water_per_cake=slip.water_per_cake,
            past_demoulds=(*past.let_go, *past.clean) if habit else past.let_go,
            clean_by=() if habit else past.clean,
            too_soon=past.too_soon,
        )
    except BadValue:
        return None
    return Demoulding(forecast.demould, len(past.let_go) + len(past.clean) + len(past.too_soon))
