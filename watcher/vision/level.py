"""The slip's line in one straightened hole: belief over depth, then the line within a fraction of a row."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Expected
from watcher.vision.hmm import POUR_CHANCE, STRAY_CHANCE, Belief, fresh, mass_near, sink, weigh
from watcher.vision.likelihood import noise_of, split_scores
from watcher.vision.memory import HoleLooks, HolePlans
from watcher.vision.strip import StripPlan
from watcher.vision.votes import respond, response_noise, vote

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

MENISCUS_MM = 0.45
"""How far the line that is seen on the wall stands above the flat of the slip. [mm]

Slip wets the film and climbs it; the stronger of the two edges of that climb is what a camera sees. Measured
on rendered benches; in life 0.5 to 2.5 mm are possible (capillary length about 1.85 mm), one constant per
slip, and it cancels in the drop since full."""

PRIOR_GROWTH_MM2_PER_MIN = 1.2
"""Growth of the cake where no model tells: the middle of what studios report (0.5 to 5.3)."""
PRIOR_FILM_SHARE = 0.3
MODEL_FILM_SHARE = 0.045
MODEL_FILM_MM = 0.05
POSE_PX = 0.07
MENISCUS_SIGMA_MM = 0.10
VOTE_WEIGHT = 0.35
LEAST_GAIN = 8.0
LEAST_CONFIDENCE = 0.85
FASTEST_MM_PER_MIN = 6.0


@dataclass(frozen=True, slots=True)
class Film:
    """Horizontal clay on the wall (J,) and the spread of the whole of it, in mm."""

    mm: Array
    sigma_mm: float


@dataclass(frozen=True, slots=True)
class Line:
    """What one frame says about the line.

    `log_rows` (J,) and `log_below` are log likelihoods; `gain` is how much better an edge explains the wall
    than none; `power` (J,) is the response for placing it.
    """

    log_rows: Array
    log_below: float
    gain: float
    power: Array
    responses: Floats
    noise: float


@dataclass(frozen=True, slots=True)
class Found:
    """A line: depth of the slip, spreads, and the chance that it is the slip's."""

    level_mm: float
    sigma_mm: float
    drift_sigma_mm: float
    confidence: float
    line_mm: float


def film_for(plan: StripPlan, expected: Expected | None, filled_s: float | None, now_s: float) -> Film:
    """Clay on the wall: what the volume balance says, else what plaster usually draws."""
    if expected is not None and expected.cake_mm:
        cake = np.interp(plan.depths_mm, expected.cake_depths_mm, expected.cake_mm)
        typical = float(np.max(cake))
        return Film(cake * plan.lean, MODEL_FILM_MM + MODEL_FILM_SHARE * typical)
    if filled_s is None:
        return Film(np.zeros(plan.depths_mm.size), 1.0)
    cake_mm = math.sqrt(PRIOR_GROWTH_MM2_PER_MIN * max(now_s - filled_s, 0.0) / 60.0)
    return Film(cake_mm * plan.lean, 0.1 + PRIOR_FILM_SHARE * cake_mm)


def look_for_line(
    profiles: Floats,
    shown: npt.NDArray[np.bool_],
    plans: HolePlans,
    looks: HoleLooks,
    now_s: float,
    pace_mm_per_s: float,
) -> Line:
    """Score every row of one frame's profiles (J, S, 3) as the slip's line."""
    strip = plans.strip
    px_row = strip.px_per_mm * float(strip.depths_mm[1] - strip.depths_mm[0])
    noise = noise_of(profiles, shown, max(2, round(1.5 / px_row)))
    split = split_scores(profiles, plans.regions, noise)
    light = float(np.median(profiles[..., 0][shown])) if shown.any() else 1.0
    responses = respond(profiles, plans.edges, light)
    spread = response_noise(responses, plans.edges)
    gap = round(3.0 / float(strip.depths_mm[1]))
    votes, power = vote(responses, spread, looks.empty_edges, _earlier(looks, now_s, pace_mm_per_s), gap)
    possible = plans.regions.possible
    if not possible.any():
        return Line(np.full(possible.size, -np.inf), 0.0, 0.0, power, responses, float(noise[0]))
    top = float(split.log_edge[possible].max())
    gain = top - split.log_none
    ml = np.clip(split.log_edge - top, -30.0, 0.0)
    votes = np.clip(votes - float(votes[possible].max()), -60.0, 0.0)
    log_rows = np.where(possible, ml + VOTE_WEIGHT * votes, -np.inf)
    return Line(log_rows, -gain, gain, power, responses, float(noise[0]))


def _earlier(looks: HoleLooks, now_s: float, pace_mm_per_s: float) -> tuple[Floats, ...]:
    """Earlier responses from when the line stood clearly higher: 1.2 mm ago and three times that."""
    first = float(np.clip(1.2 / max(pace_mm_per_s, 1e-4), 60.0, 300.0))
    chosen: list[Floats] = []
    for wanted in (first, 3.0 * first):
        best = None
        for at, held in looks.edges:
            age = now_s - at
            if age >= 0.6 * wanted and (best is None or abs(age - wanted) < abs(best[0] - wanted)):
                best = (age, held)
        if best is not None and not any(best[1] is c for c in chosen):
            chosen.append(best[1])
    return tuple(chosen)


def pace(expected: Expected | None, filled_s: float | None, now_s: float) -> float:
    """Speed at which the slip should sink, in mm/s: the bench's, else a square-root law's. Never nought."""
    if expected is not None and expected.speed_mm_per_s is not None:
        return float(np.clip(expected.speed_mm_per_s, 0.2 / 60.0, FASTEST_MM_PER_MIN / 60.0))
    minutes = max((now_s - filled_s) / 60.0, 0.3) if filled_s is not None else 5.0
    return min(4.0 / math.sqrt(minutes), FASTEST_MM_PER_MIN) / 60.0


def follow(
    belief: Belief | None,
    line: Line,
    plan: StripPlan,
    possible: npt.NDArray[np.bool_],
    passed_s: float,
    pace_mm_per_s: float,
    stirred: bool,
    evidence: bool,
) -> Belief:
    """Carry the belief over `passed_s` and, with `evidence`, meet this frame's line."""
    step = float(plan.depths_mm[1] - plan.depths_mm[0])
    if belief is None or belief.rows.size != plan.depths_mm.size:
        rows = fresh(plan.depths_mm, possible)
        shallow = np.exp(-plan.depths_mm / 6.0) * possible
        total = float(shallow.sum())
        belief = Belief(shallow / total * 0.98, 0.02) if total > 0.0 else rows
    else:
        belief = sink(belief, step, pace_mm_per_s * passed_s, POUR_CHANCE if stirred else STRAY_CHANCE)
    return weigh(belief, line.log_rows, line.log_below)[0] if evidence else belief


def place_line(belief: Belief, line: Line, plan: StripPlan, film: Film) -> Found | None:
    """Read the level off the belief, the line placed within its rows; None where no row earns it."""
    if belief.rows.sum() <= 0.0:
        return None
    depths = plan.depths_mm
    step = float(depths[1] - depths[0])
    mode = int(np.argmax(belief.rows))
    confidence = mass_near(belief, depths, float(depths[mode]), 1.0)
    reach = max(2, round(1.0 / step))
    low, high = max(mode - reach, 1), min(mode + reach, depths.size - 2)
    window = line.power[low : high + 1]
    at_mm, snr = float(depths[mode]), 1.0
    if window.size and float(window.max()) > 0.0:
        peak = low + int(np.argmax(window))
        a, b, c = (float(v) for v in line.power[peak - 1 : peak + 2])
        bend = a - 2.0 * b + c
        offset = float(np.clip(0.5 * (a - c) / bend, -0.5, 0.5)) if bend < 0.0 else 0.0
        at_mm, snr = float(depths[peak]) + offset * step, math.sqrt(b)
    line_sigma = max(1.3 / max(snr, 1.0) / plan.px_per_mm, 0.04)
    bare = np.interp([at_mm - 1.0, at_mm + 1.0], plan.shape.depths_mm, plan.shape.radii_mm)
    taper = 0.5 * float(bare[0] - bare[1])
    per_film = math.cos(plan.steep) / max(math.sin(plan.steep) * 0.92 + taper * math.cos(plan.steep), 0.1)
    film_part = film.sigma_mm * per_film
    sigma = math.hypot(line_sigma, film_part, POSE_PX / plan.px_per_mm, MENISCUS_SIGMA_MM)
    drift = math.hypot(line_sigma, 0.3 * film_part)
    return Found(at_mm + MENISCUS_MM, sigma, drift, confidence, at_mm)
