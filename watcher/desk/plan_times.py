"""How long each mould will take today: from its own casts where it has any, else from published times."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import takewhile

from models.air import Room
from models.cast_prior import PastSpeed, slower
from models.damp_forecast import coming_casts
from models.diary import Diary, PastCast
from models.mould import MouldProfile
from models.mould_memory import learn
from models.plaster import block, setting_load_kg_m2
from models.prior import prior_from_history
from models.ranged import Z80
from models.slip import Slip
from models.target_check import FILLED_TO_MM, check_target
from watcher.desk.unseen import airs
from watcher.records.afterwards import Told
from watcher.records.kept import KeptCast

LEATHER_HARD_MOISTURE = 0.18
"""Water over dry clay when a wall can be demoulded: it stiffens to about this [S20, from memory]."""

_BETWEEN_CASTS_H = 1.5  # the plaster dries a little between two casts of a day (guess)


@dataclass(frozen=True, slots=True)
class Plaster:
    """A mould on the scale and the room it stands in.

    Attributes
    ----------
    dry_kg : float
    room : Room
    dampest : float
        Free water over dry plaster with which a cast may still begin.
    told : tuple of Told
        What was told of it: of this, driers count here.
    """

    dry_kg: float
    room: Room
    dampest: float
    told: tuple[Told, ...] = ()


@dataclass(frozen=True, slots=True)
class CastTimes:
    """Times of a mould's next casts.

    Attributes
    ----------
    minutes : tuple of float
        From full to ready, one for each cast that it may still give. [min]
    sigma_log : float
        Spread of their logarithm.
    casts_used : int
        Casts of its own that taught it; 0: published times alone.
    """

    minutes: tuple[float, ...]
    sigma_log: float
    casts_used: int

    def spread(self, cast: int) -> tuple[float, float]:
        """Return the 80 % range of one cast's time, in min."""
        factor = math.exp(Z80 * self.sigma_log)
        return self.minutes[cast] / factor, self.minutes[cast] * factor


def times_by_number(wall_mm: float, kept: Sequence[KeptCast], *, today: int, casts: int) -> CastTimes:
    """Forecast a mould whose plaster was never weighed: later casts of a day are slower by their number.

    Parameters
    ----------
    wall_mm : float
        The thin end of what is wanted. [mm]
    kept : sequence of KeptCast
    today : int
        Casts that it has had today.
    casts : int
        How many to forecast.
    """
    dry = [k * slower(cast.number_today) for cast, k, _ in taught(kept)]
    prior = prior_from_history(dry)
    first = wall_mm**2 / math.exp(prior.log_k)
    return CastTimes(tuple(first * slower(today + 1 + n) for n in range(casts)), prior.log_k_sd, len(dry))


def times_by_water(
    mould: MouldProfile, slip: Slip, kept: Sequence[KeptCast], plaster: Plaster, *, now: datetime, casts: int
) -> CastTimes:
    """Forecast a mould of known weight from the water that its casts left in it; damp ends its day.

    Parameters
    ----------
    mould : MouldProfile
        With a wanted wall.
    slip : Slip
    kept : sequence of KeptCast
    plaster : Plaster
    now : datetime
    casts : int
        How many to forecast, 0 to 30.
    """
    if casts == 0 or mould.target_wall_mm is None:
        return CastTimes((), 0.0, 0)
    wall = mould.target_wall_mm[0]
    water_ml = water_of_cast_ml(mould, slip, wall)
    known = {cast.cast_id: (k, sigma) for cast, k, sigma in taught(kept)}
    past = []
    for cast in sorted(kept, key=lambda one: one.began_at):
        k, sigma = known.get(cast.cast_id, (None, 1.0))
        past.append(PastCast(_hours(cast.began_at), k, sigma, water_ml))
    now_h = max([_hours(now), *(cast.at_h for cast in past)])
    air = airs(plaster.room, min([now_h, *(cast.at_h for cast in past)]), plaster.told)
    diary = Diary(block(plaster.dry_kg), tuple(past), (), air)
    memory = learn(diary)
    coming = coming_casts(
        memory,
        diary,
        first_h=now_h,
        every_h=_BETWEEN_CASTS_H,
        count=casts,
        wall_mm=wall,
        water_ml=water_ml,
    )
    allowed = list(takewhile(lambda ahead: ahead.free_water.value <= plaster.dampest, coming))
    sigma = max((ahead.sigma_log for ahead in allowed), default=0.0)
    return CastTimes(tuple(ahead.minutes.value for ahead in allowed), sigma, memory.casts_used)


def taught(kept: Sequence[KeptCast]) -> Iterator[tuple[KeptCast, float, float]]:
    """Casts that were watched to their tip, with L2/t in mm2/min and the spread of its logarithm."""
    for cast in kept:
        estimate = cast.figures.get("estimate") or {}
        low, wall, high = (estimate.get(key) for key in ("wall_low_mm", "wall_mm", "wall_high_mm"))
        if cast.tipped_s is None or cast.leaking or not cast.fillings or not (low and wall and high):
            continue
        minutes = (cast.tipped_s - cast.fillings[0].latest_s) / 60.0
        if minutes < 0.5 or not 0.3 <= wall <= 40.0 or not 0.01 <= wall**2 / minutes <= 100.0:
            continue
        yield cast, wall**2 / minutes, max(2.0 * math.log(high / low) / (2.0 * Z80), 0.01)


def past_speeds(kept: Sequence[KeptCast]) -> tuple[PastSpeed, ...]:
    """Return how fast the remembered casts of one mould drank, for the fit of its next one."""
    return tuple(
        PastSpeed(cast.cast_id, k, sigma, cast.figures["estimate"]["wall_mm"], cast.number_today)
        for cast, k, sigma in taught(kept)
    )


def water_of_cast_ml(mould: MouldProfile, slip: Slip, wall_mm: float) -> float:
    """Water that a cast leaves in the plaster, what the wall gives off as it stiffens included."""
    cast_ml = check_target(mould, slip, wall_mm, filled_to_mm=filled_to_mm(mould)).water_ml
    moisture = (1.0 / slip.cake_solids_fraction - 1.0) / slip.solids_specific_gravity
    stiffening = setting_load_kg_m2(
        wall_mm,
        cake_solids_fraction=slip.cake_solids_fraction,
        solids_sg=slip.solids_specific_gravity,
        moisture_from=moisture,
        moisture_to=min(LEATHER_HARD_MOISTURE, moisture),
    )
    return cast_ml * (1.0 + stiffening / (slip.water_per_cake * wall_mm))


def filled_to_mm(mould: MouldProfile) -> float:
    """Return where a mould is filled to, below its rim: one without a neck counts from its very rim. [mm]."""
    return min(FILLED_TO_MM, mould.neck_mm)


def _hours(moment: datetime) -> float:
    return moment.timestamp() / 3600.0
