"""What the day's slip does to casting times: warmer or colder, thinner or thicker than the bench's."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from datetime import datetime

from models.diary import REFERENCE_C
from models.doors import BadValue
from models.ranged import Z80
from models.slip import Slip
from models.slip_desk import effect_of
from models.water import speed_ratio
from watcher.desk.plan_times import CastTimes
from watcher.storage.papers import Paper


@dataclass(frozen=True, slots=True)
class TodaysSlip:
    """The slip that was kept this morning.

    Attributes
    ----------
    kept_at : datetime
    factor, factor_sigma_log : float
        On casting times, and the spread of its logarithm.
    said : str
        The same for the caster.
    """

    kept_at: datetime
    factor: float
    factor_sigma_log: float
    said: str

    def slowed(self, times: CastTimes) -> CastTimes:
        """Return a mould's times with this slip."""
        return CastTimes(
            tuple(minutes * self.factor for minutes in times.minutes),
            math.hypot(times.sigma_log, self.factor_sigma_log),
            times.casts_used,
        )


def todays_slip(paper: Paper | None, bench_slip: Slip, now: datetime) -> TodaysSlip | None:
    """Return what the slip kept today changes; None where none was kept today or nothing can be said of it.

    Parameters
    ----------
    paper : Paper or None
        The slip that was kept last, as `tipbell slip --keep` writes it.
    bench_slip : Slip
        The one in the bench's file.
    now : datetime
        In the bench's zone.
    """
    if paper is None or paper.kept_at.astimezone(now.tzinfo).date() != now.date():
        return None
    text = tomllib.loads(paper.text)
    sg, temperature_c = text["slip"]["specific_gravity"], text.get("measured", {}).get("temperature_c")
    warmth = 1.0 if temperature_c is None else speed_ratio(temperature_c, REFERENCE_C)
    solids = bench_slip.solids_specific_gravity
    try:
        ratio = effect_of(
            bench_slip.specific_gravity,
            sg,
            solids_sg=solids,
            moisture=(1.0 / bench_slip.cake_solids_fraction - 1.0) / solids,
        ).time_ratio
    except BadValue:
        return None
    factor = warmth * ratio.value
    at = "" if temperature_c is None else f" at {temperature_c:g} C"
    said = (
        f"today's slip ({sg:g}{at}) makes casts {factor:.2f} times as long as one of "
        f"{bench_slip.specific_gravity:g} at {REFERENCE_C:g} C; moulds cast since tell by themselves"
    )
    return TodaysSlip(paper.kept_at, factor, math.log(ratio.high / ratio.low) / (2.0 * Z80), said)
