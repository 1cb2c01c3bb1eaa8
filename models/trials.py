"""How good the fit is: casts drawn from wide spreads, judged by what was known, beside two rivals."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from models.cavity import cut
from models.constants import LOG_K_MEAN, LOG_K_SD
from models.constants_desk import CAKE_MOISTURE, CAKE_MOISTURE_SIGMA
from models.fit import CannotFit, fit_absorption
from models.mould import MouldProfile, checked_mould
from models.prior import AbsorptionPrior, prior_from_history
from models.series import LevelSeries
from models.slip import Slip, cake_solids_fraction
from models.tip import estimate_tip
from models.trial_readings import Look, look_at_trial, read_trial
from models.trial_truth import TrialCast, TrialRun, run_trial

Array = npt.NDArray[np.float64]

SHARES = (0.25, 0.5, 0.9)
"""Moments of a cast, as shares of its time from full to ready, at which it is judged."""

SG_ERROR, MOISTURE_ERROR = 0.01, 0.02
"""Errors of a first cast's slip: specific gravity, and cake moisture on the dry basis."""

DAY_SG_ERROR, DAY_MOISTURE_ERROR = 0.003, 0.005
"""How far the slip of another day is off from what the last casts have taught (guess)."""

CALLIPER_AREA_ERROR = 0.08
"""Wetted area of a body measured by calliper from outside, as a share (guess)."""

CUT_TEST_MM = 0.12
"""A wall measured on a cut piece. [mm]"""

CAST_TO_CAST = 0.12
"""Spread of ln K of one mould from cast to cast, dampness known (practice)."""

DAMPNESS_ERROR = 0.08
"""How far ln K is off for what is known of today's dampness (guess)."""

SAME_DAY_SHARE = 0.7
"""How often the last cast was earlier on the same day: the mould is damper now; else it has dried since."""


class Known(StrEnum):
    """What is known before a cast."""

    EXACT = "slip and bore exact"
    CALLIPER = "first cast, calliper alone"
    ONE_CUT = "after one cut test"
    FIVE = "after five casts"


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """One drawn cast: truth, what the watcher is given, and the looks at its level."""

    known: Known
    cast: TrialCast
    run: TrialRun
    ready_s: float
    mould: MouldProfile
    slip: Slip
    prior: AbsorptionPrior
    looks: tuple[Look, ...]
    last_time_s: float | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """How one cast was judged at one moment. Errors of time as shares of the cast's time. [mm where said]."""

    known: Known
    share: float
    ready_error: float
    ready_held: bool
    ready_width: float
    wall_error_mm: float
    wall_held: bool
    last_time_error: float | None
    root_fit_error: float | None


def draw(known: Known, rng: np.random.Generator) -> Trial:
    """Draw a cast that becomes ready; anew until one does."""
    while True:
        trial = _draw(known, rng)
        if trial is not None:
            return trial


def judge(trial: Trial) -> Iterator[Verdict]:
    """Fit a drawn cast at each share of its time, and let the rivals guess as well."""
    for share in SHARES:
        now = share * trial.ready_s
        series = read_trial(trial.looks, now)
        fit = fit_absorption(series, trial.mould, trial.slip, trial.prior)
        if isinstance(fit, CannotFit):
            raise ValueError(f"a drawn cast could not be fitted: {fit.why}")
        tip = estimate_tip(fit, trial.mould, now)
        ready, low, high = tip.ready_s, tip.ready_low_s, tip.ready_high_s
        off = (ready - trial.ready_s) / trial.ready_s if ready is not None else 1.0
        root = _root_fit(series, trial)
        yield Verdict(
            trial.known,
            share,
            off,
            low is not None and high is not None and low <= trial.ready_s <= high,
            (high - low) / trial.ready_s if low is not None and high is not None else math.inf,
            tip.wall_mm - trial.run.wall_at(now),
            tip.wall_low_mm <= trial.run.wall_at(now) <= tip.wall_high_mm,
            None if trial.last_time_s is None else trial.last_time_s / trial.ready_s - 1.0,
            None if root is None else root / trial.ready_s - 1.0,
        )


def _draw(known: Known, rng: np.random.Generator) -> Trial | None:
    bore, neck = _shape(rng)
    sg, moisture = rng.uniform(1.70, 1.82), rng.uniform(0.21, 0.29)
    f = Slip(
        sg, cake_solids_fraction(moisture_dry_basis=moisture, solids_specific_gravity=2.6)
    ).water_per_cake
    target = rng.uniform(2.0, 5.0)
    if f < 0.12 or target > 0.4 * min(row[1] for row in bore) / 2.0:
        return None
    log_k = float(np.clip(rng.normal(LOG_K_MEAN, LOG_K_SD), math.log(0.3), math.log(6.0)))
    cast = TrialCast(
        bore, neck, f, math.exp(log_k), rng.uniform(0.03, 0.35), rng.uniform(6.0, 25.0),
        rng.uniform(0.0, 0.4), _pour_s(bore, rng), rng.uniform(1.0, 6.0), rng.uniform(0.05, 0.4),
        (rng.normal(1.0, 0.05), 1.0, rng.normal(1.0, 0.05)), rng.uniform(0.0, 0.5),
        ((rng.uniform(60.0, 400.0), rng.uniform(1.0, 5.0)),) if rng.random() < 0.15 else (),
    )  # fmt: skip
    run = run_trial(cast, until_wall_mm=1.3 * target)
    ready = run.time_of(target)
    if ready is None or ready < 120.0:
        return None
    looks = look_at_trial(run, cast, 1.05 * ready, rng)
    own = rng.normal(0.0, CAST_TO_CAST)
    mould, slip, prior = _given(known, cast, own, sg, moisture, target, rng)
    last = None
    if known in (Known.ONE_CUT, Known.FIVE):
        last = ready * math.exp(own - rng.normal(0.0, CAST_TO_CAST) - _slower_since_last(rng))
    return Trial(known, cast, run, ready, mould, slip, prior, looks, last)


def _shape(rng: np.random.Generator) -> tuple[tuple[tuple[float, float], ...], float]:
    """Draw a spare that tapers, a neck, a belly and a foot."""
    mouth, spare = rng.uniform(26.0, 110.0), rng.uniform(15.0, 40.0)
    neck = mouth * rng.uniform(0.72, 0.95)
    belly = max(neck, mouth) * rng.uniform(0.95, 2.2)
    height = rng.uniform(60.0, 200.0)
    shoulder = spare + height * rng.uniform(0.2, 0.5)
    foot = belly * rng.uniform(0.6, 0.95)
    rows = (
        (0.0, mouth),
        (spare, neck),
        (shoulder, belly),
        (spare + 0.8 * height, belly * rng.uniform(0.9, 1.05)),
    )
    return (*rows, (spare + height, foot)), spare


def _pour_s(bore: tuple[tuple[float, float], ...], rng: np.random.Generator) -> float:
    """Draw the duration of a pour: half a litre in 40 s, eight times as much in twice the time (practice)."""
    depths, widths = np.array(bore).T
    area = math.pi / 4.0 * (widths[1:] ** 2 + widths[1:] * widths[:-1] + widths[:-1] ** 2) / 3.0
    litres = float((area * np.diff(depths)).sum()) / 1e6
    return float(40.0 * (litres / 0.5) ** (1.0 / 3.0) * math.exp(rng.normal(0.0, 0.35)))


def _given(
    known: Known,
    cast: TrialCast,
    own: float,
    sg: float,
    moisture: float,
    target: float,
    rng: np.random.Generator,
) -> tuple[MouldProfile, Slip, AbsorptionPrior]:
    """Say what the watcher is told, wrong by as much as such knowledge is; ln K of this cast is `own` off."""
    exact = known is Known.EXACT
    first = known is Known.CALLIPER
    sg_error = 0.0 if exact else SG_ERROR if first else DAY_SG_ERROR
    moisture_error = 0.0 if exact else MOISTURE_ERROR if first else DAY_MOISTURE_ERROR
    told = moisture + rng.normal(0.0, moisture_error)
    if first:  # a guess is worth no more than what bodies usually hold: the two are joined
        told, moisture_error = _with_usual(told, moisture_error)
    phi = cake_solids_fraction(moisture_dry_basis=told, solids_specific_gravity=2.6)
    slip = Slip(
        sg + rng.normal(0.0, sg_error),
        phi,
        2.6,
        sg_error,
        phi * phi * 2.6 * moisture_error,
    )
    mould = checked_mould(
        "trial", cast.bore, target_wall_mm=target, trim_line_mm=cast.neck_mm, area_rel_sigma=0.0
    )
    prior = AbsorptionPrior()
    if first:
        mould = _by_calliper(mould, rng)
    if known in (Known.ONE_CUT, Known.FIVE):
        n = 1 if known is Known.ONE_CUT else 5
        learned = math.hypot(CUT_TEST_MM / target, 0.02) / math.sqrt(n)
        today = math.exp(rng.normal(0.0, DAMPNESS_ERROR))
        usual = _k_told(cast) * math.exp(-own) * today
        history = [usual * math.exp(rng.normal(0.0, CAST_TO_CAST)) for _ in range(n)]
        prior = replace(
            prior_from_history(history, slower_log_sd=DAMPNESS_ERROR),
            gain=rng.normal(0.0, learned),
            gain_sd=math.hypot(learned, 0.01),
        )
    return mould, slip, prior


def _with_usual(moisture: float, error: float) -> tuple[float, float]:
    """Join a guessed cake moisture with the trade's usual one; both normal."""
    own, usual = 1.0 / error**2, 1.0 / CAKE_MOISTURE_SIGMA**2
    return (own * moisture + usual * CAKE_MOISTURE) / (own + usual), (own + usual) ** -0.5


def _by_calliper(mould: MouldProfile, rng: np.random.Generator) -> MouldProfile:
    """Return the same mould with its body's wetted area only guessed at."""
    area = cut(mould).wetted_mm2(0.0) * math.exp(rng.normal(0.0, CALLIPER_AREA_ERROR))
    return replace(mould, wetted_area_mm2=area, area_rel_sigma=CALLIPER_AREA_ERROR)


def _slower_since_last(rng: np.random.Generator) -> float:
    """By how much ln of the cast's time has grown since the last cast: 3, 3.5, 4 min in a row [S3]."""
    if rng.random() < SAME_DAY_SHARE:
        return float(rng.uniform(0.08, 0.2))
    return float(-rng.uniform(0.1, 0.5))


def _k_told(cast: TrialCast) -> float:
    """K as fits of earlier casts would have had it: at the start, cake and plaster together."""
    return cast.k_mm2_per_min * (1.0 - cast.plaster_share)


def _root_fit(series: LevelSeries, trial: Trial) -> float | None:
    """Rival: least squares of level on the root of time; ready at the drop of the flat-wall sum."""
    last = series.fillings[-1]
    if len(last.times_s) < 3 or len(series.fillings) > 1:
        return None
    root = np.sqrt(np.maximum(last.times_s - last.full_s, 0.0))
    if np.ptp(root) < 1e-6:
        return None
    slope, _ = np.polyfit(root, last.levels_mm, 1)
    if slope <= 0.0:
        return None
    return float(last.full_s + (_wanted_drop_mm(trial) / slope) ** 2)


def _wanted_drop_mm(trial: Trial) -> float:
    """Drop h = f L A / a of a flat wall and an open hole that cake does not close."""
    assert trial.mould.target_wall_mm is not None
    cavity = cut(trial.mould)
    hole = math.pi * float(trial.mould.radius_mm(3.0)) ** 2
    return trial.slip.water_per_cake * trial.mould.target_wall_mm[0] * cavity.wetted_mm2(3.0) / hole
