"""Join a cast's levels with its mould and slip and ask the models: wall, tip, what the eyes should expect."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from models import series as given
from models.cast_prior import PastSpeed, prior_from_casts, told_by_both
from models.doors import BadValue
from models.draining import after_tip
from models.fit import AbsorptionFit, CannotFit, fit_absorption
from models.mould import MouldProfile
from models.prior import AbsorptionPrior, prior_from_bench
from models.ranged import Ranged
from models.slip import Slip
from models.tip import TipEstimate, estimate_tip
from watcher.records.after_tip import AfterStep, Due, PastSetting
from watcher.records.bench import PHASE, Cast, Filling, FillingKind, MouldState, NotYet
from watcher.records.readings import Expected

MOST_READINGS = 240
"""A filling with more readings is thinned to about this many before it is fitted: they lie close together,
and an update must stay cheap on a small computer."""

CAKE_DEPTH_MM = 90.0
CAKE_STEP_MM = 0.5
"""How far down, and how finely, the clay on the wall of a pour hole is told to the eyes. [mm]"""

PRIOR = AbsorptionPrior()
"""The wide band of published casting times, for a mould without a history."""


def prior_of(
    cast: Cast, past: tuple[PastSpeed, ...], neighbours: list[tuple[float, float]]
) -> AbsorptionPrior:
    """Say what is known of a cast before its first level.

    Parameters
    ----------
    cast : Cast
    past : tuple of PastSpeed
        Of this mould; the cast itself may be among them and is left out.
    neighbours : list of (log_k, log_k_sd)
        What the levels of each other mould under cast say on their own. [ln mm2/min]
    """
    bench = prior_from_bench(neighbours)
    earlier = [one for one in past if one.cast_id != cast.cast_id]
    if not earlier:
        return bench
    own = prior_from_casts(earlier, number_today=cast.number_today)
    return told_by_both(own, bench) if neighbours else own


def refit(
    cast: Cast, mould: MouldProfile, slip: Slip, now_s: float, *, prior: AbsorptionPrior = PRIOR
) -> Cast:
    """Fit a cast anew and estimate its tip.

    Parameters
    ----------
    cast : Cast
    mould : MouldProfile
    slip : Slip
    now_s : float
        Moment to speak of. [s]
    prior : AbsorptionPrior
        What is known of this mould before its first reading.

    Returns
    -------
    Cast
        With `fit` and `estimate` of this moment; where nothing can be said, with the reason.
    """
    before = cast.fit if isinstance(cast.fit, AbsorptionFit) else None
    try:
        fit = fit_absorption(level_series(cast.fillings), mould, slip, prior, start=before)
    except (ArithmeticError, ValueError, np.linalg.LinAlgError) as fault:
        # one odd reading must not stop the watching of a whole bench: what was known of this cast stands
        return cast if before is not None else replace(cast, estimate=NotYet(f"no fit yet ({fault})"))
    if isinstance(fit, CannotFit):
        return replace(cast, fit=fit, estimate=NotYet(fit.why))
    return replace(cast, fit=fit, estimate=estimate_tip(fit, mould, now_s), leaking=fit.leaking)


def level_series(fillings: tuple[Filling, ...]) -> given.LevelSeries:
    """Turn a cast's fillings into the arrays that the fit takes."""
    return given.LevelSeries(tuple(_filling(filling, fillings, i) for i, filling in enumerate(fillings)))


def level_forecast(cast: Cast | None, at_s: float) -> tuple[float, float] | None:
    """Return where a cast's level should be at a moment, and how surely; None when nothing is known [mm]."""
    if cast is None or not isinstance(cast.fit, AbsorptionFit):
        return None
    level_mm, sigma_mm, _ = cast.fit.level_at(at_s)
    return level_mm, sigma_mm


def due_after(cast: Cast, slip: Slip, past: PastSetting | None = None) -> tuple[Due, ...]:
    """Forecast the steps after the tip; nothing where there is no wall to go by.

    Parameters
    ----------
    cast : Cast
        Tipped, with its estimate at the tip.
    slip : Slip
    past : PastSetting or None
        How this mould's earlier casts came out, and how fast it cast when dry; None: nothing is known, and
        the mould is taken as dry.

    Returns
    -------
    tuple of Due
        Upright, spare cut and demoulded, in bench seconds.
    """
    if cast.tipped_s is None or not isinstance(cast.estimate, TipEstimate):
        return ()
    past = PastSetting() if past is None else past
    wall_mm, minutes = cast.estimate.wall_mm, (cast.tipped_s - cast.fillings[0].latest_s) / 60.0
    try:
        after = after_tip(
            wall_mm=wall_mm,
            slowness=past.slowness(wall_mm**2 / minutes) if minutes > 0.0 and wall_mm > 0.0 else 1.0,
            water_per_cake=slip.water_per_cake,
            past_demoulds=past.let_go,
            clean_by=past.clean,
            too_soon=past.too_soon,
        )
    except BadValue:
        return ()  # a wall far beyond those that the setting times were printed for
    steps = (
        (AfterStep.UPRIGHT, after.drained),
        (AfterStep.SPARE_CUT, after.spare_cut),
        (AfterStep.DEMOULDED, after.demould),
    )
    return tuple(_due(step, cast.tipped_s, minutes) for step, minutes in steps)


def _due(step: AfterStep, tipped_s: float, minutes: Ranged) -> Due:
    return Due(
        step,
        tipped_s + 60.0 * minutes.value,
        tipped_s + 60.0 * minutes.low,
        tipped_s + 60.0 * minutes.high,
    )


def expect(state: MouldState, mould: MouldProfile, at_s: float) -> Expected:
    """Say what the eyes should expect of one hole at a moment."""
    phase, cast = PHASE[state.stage], state.cast
    if cast is None or phase not in ("filling", "casting"):
        return Expected(phase)
    since_s = max(0.0, at_s - cast.fillings[-1].latest_s)
    if not isinstance(cast.fit, AbsorptionFit):
        return Expected(phase, since_s)
    depths = np.arange(0.0, min(CAKE_DEPTH_MM, mould.depth_mm), CAKE_STEP_MM)
    level_mm, sigma_mm, speed = cast.fit.level_at(at_s)
    return Expected(
        phase,
        since_s,
        level_mm,
        sigma_mm,
        speed,
        tuple(depths.tolist()),
        tuple(cast.fit.cake_on_wall(at_s, depths).tolist()),
        cast.fit.wall_sigma_mm(at_s),
    )


def _filling(filling: Filling, fillings: tuple[Filling, ...], index: int) -> given.Filling:
    readings = filling.readings
    step = -(-len(readings) // MOST_READINGS) if readings else 1
    kept = readings[::step] if (len(readings) - 1) % step == 0 else (*readings[::step], readings[-1])
    before = fillings[index - 1].readings if index else ()
    drained = filling.kind is FillingKind.REFILL and before
    return given.filling(
        earliest_s=filling.earliest_s,
        latest_s=filling.latest_s,
        times_s=[r.at_s for r in kept],
        levels_mm=[r.level_mm for r in kept],
        sigma_mm=[r.sigma_mm for r in kept],
        drift_sigma_mm=[r.drift_sigma_mm for r in kept],
        placement=[r.placement for r in kept],
        clay_mm=[r.clay_mm for r in kept],
        mm_per_clay_mm=[r.mm_per_clay_mm for r in kept],
        rim_share=[r.rim_share for r in kept],
        drained_from_s=before[-1].at_s if drained else None,
    )
