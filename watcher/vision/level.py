"""The slip's line in one straightened hole: belief over depth, then the line within a fraction of a row."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Expected
from watcher.vision.film import Film
from watcher.vision.hmm import POUR_CHANCE, STRAY_CHANCE, Belief, fresh, mass_near, sink, weigh
from watcher.vision.likelihood import edge_gain, noise_of
from watcher.vision.marked import CLEAR_OF_MARK_PX, FAR_OF_MARK_PX, Mark, place_below
from watcher.vision.memory import HoleLooks, HolePlans
from watcher.vision.middle import middle
from watcher.vision.placing import REACH_MM, Placed, WallRows, place
from watcher.vision.spread import MENISCUS_SIGMA_MM, POSE_PX, faint_mm
from watcher.vision.strip import StripPlan
from watcher.vision.wall import AROUND_SHARE, Wall

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

MENISCUS_MM = 0.6
"""How far the line that is seen on the wall stands above the flat of the slip. [mm]

Slip wets the film and climbs it; the stronger of the two edges of that climb is what a camera sees. Measured
on rendered benches; in life 0.5 to 2.5 mm are possible (capillary length about 1.85 mm), one constant per
slip, and it cancels in the drop since full."""

MOVING_WEIGHT = 1.5
MOVED_PX = 5.0
AS_DUE_MM = 1.2
QUIET_GAIN = 20.0
EVIDENCE_WEIGHT = 0.4
"""What stands still is not the slip's line: where the hole differs from an earlier look by more than a quiet
one would, an edge counts only for what is new in it."""
BELOW_LOG = 10.0
"""An edge must beat no edge by this much before it speaks against a level out of sight."""
LEAST_GAIN = 9.0
FORECAST_MM, ASTRAY = 1.0, 0.01
"""How closely the bench's forecast is taken, and how likely it is that the level is anywhere else."""
MARK_GAIN = 25.0
DEEPEST_START_MM = 18.0
LEAST_CONFIDENCE = 0.85
FASTEST_MM_PER_MIN = 6.0


NEAR_RIM_MM, NEAR_RIM_PX = 0.4, 3.5
"""A line close under the rim is pulled by the rim: half a millimetre at 3 px, a tenth at 8 px.
Seen on rendered benches in the first minutes after a pour. [mm, px]"""


@dataclass(frozen=True, slots=True)
class Line:
    """What one frame says about the line.

    `log_rows` (J,) is by how much an edge there beats no edge, in log likelihood; `gain` is the best row's.
    `mark_mm` is where the wall turns darker downwards most strongly, if it does so at all.
    """

    log_rows: Array
    gain: float
    noise: float
    mark_mm: float | None


@dataclass(frozen=True, slots=True)
class Found:
    """A line: depth of the slip, spreads, the chance that it is the slip's, and how it was placed."""

    level_mm: float
    sigma_mm: float
    drift_sigma_mm: float
    confidence: float
    placed: Placed
    clay_mm: float = 0.0
    mm_per_clay_mm: float = 0.0
    rim_share: float = 0.0
    rim_px: float = 0.0
    clay_sigma_mm: float = 0.0


def look_for_line(
    profiles: Floats,
    shown: npt.NDArray[np.bool_],
    look: Floats,
    plans: HolePlans,
    looks: HoleLooks,
    now_s: float,
    pace_mm_per_s: float,
    due_mm: float | None,
) -> Line:
    """Score every row of one frame as the slip's line.

    Parameters
    ----------
    profiles, look : ndarray (J, S, 3)
        Sector means in grey levels, and in hundredths of the ring's brightness.
    pace_mm_per_s : float
        Speed at which the slip should sink, to choose an earlier look in which it stood clearly higher.
    due_mm : float or None
        Where it should stand now: an edge just there needs no earlier look to vouch for it.
    """
    strip = plans.strip
    px_row = strip.px_per_mm * float(strip.depths_mm[1] - strip.depths_mm[0])
    luma = np.ascontiguousarray(profiles[..., 0])
    noise = noise_of(luma, shown, max(2, round(1.5 / px_row)))
    edges = edge_gain(luma, plans.regions, noise)
    gains = edges.gain
    possible = plans.regions.possible
    if not possible.any():
        return Line(np.full(possible.size, -np.inf), 0.0, noise, None)
    earlier = _earlier(looks, pace_mm_per_s, now_s, strip.px_per_mm)
    expected_row = (
        due_mm is not None and abs(float(strip.depths_mm[int(np.argmax(gains))]) - due_mm) < AS_DUE_MM
    )
    if earlier is not None and earlier.shape == luma.shape and not expected_row:
        unit = middle(luma[shown]) / max(middle(look[..., 0][shown]), 1.0)
        moved = edge_gain(look[..., 0] - earlier, plans.regions, 1.6 * noise / max(unit, 1e-3)).gain
        moving = np.minimum(gains[possible], MOVING_WEIGHT * moved[possible])
        trust = min(max(float(moved[possible].max()) / QUIET_GAIN - 1.0, 0.0), 1.0)
        gains[possible] += trust * (moving - gains[possible])
    gain = float(gains[possible].max())
    top = int(np.argmax(edges.darker))
    mark = float(strip.depths_mm[top]) if float(edges.darker[top]) > MARK_GAIN else None
    return Line(np.where(possible, gains, -np.inf), gain, noise, mark)


def _earlier(looks: HoleLooks, pace_mm_per_s: float, now_s: float, px_per_mm: float) -> Floats | None:
    """Find the last look since which the line should have sunk by some pixels; else the filling's oldest."""
    for kept in reversed(looks.past):
        if (now_s - kept.taken_s) * pace_mm_per_s * px_per_mm >= MOVED_PX:
            return kept.luma
    return looks.past[0].luma if looks.past else None


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
    forecast: tuple[float, float] | None = None,
) -> Belief:
    """Carry the belief over `passed_s` and meet this frame's line.

    `forecast` is where the bench expects the level and how surely; far from it a line is less likely.
    """
    step = float(plan.depths_mm[1] - plan.depths_mm[0])
    if belief is None or belief.rows.size != plan.depths_mm.size:
        rows = fresh(plan.depths_mm, possible)
        shallow = np.exp(-plan.depths_mm / 6.0) * possible * (plan.depths_mm <= DEEPEST_START_MM)
        total = float(shallow.sum())
        belief = Belief(shallow / total * 0.98, 0.02) if total > 0.0 else rows
    else:
        belief = sink(belief, step, pace_mm_per_s * passed_s, POUR_CHANCE if stirred else STRAY_CHANCE)
    scores = np.where(_past_sight(possible), BELOW_LOG, line.log_rows)
    if forecast is not None and not stirred:
        level_mm, sigma_mm = forecast
        off = (plan.depths_mm + MENISCUS_MM - level_mm) / math.hypot(sigma_mm, FORECAST_MM)
        scores = scores + np.log(ASTRAY + (1.0 - ASTRAY) * np.exp(-0.5 * off**2)) / EVIDENCE_WEIGHT
    return weigh(belief, EVIDENCE_WEIGHT * scores, EVIDENCE_WEIGHT * BELOW_LOG)[0]


def _past_sight(possible: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Rows (J,) below the last at which an edge could be told."""
    return ~np.logical_or.accumulate(possible[::-1])[::-1]


def out_of_sight(belief: Belief, possible: npt.NDArray[np.bool_]) -> float:
    """Chance that the level lies deeper than any edge could be told."""
    return belief.below + float(belief.rows[_past_sight(possible)].sum())


def place_line(
    belief: Belief,
    wall: Wall,
    film: Film,
    noise: float,
    rim_mm: float | None = None,
    mark: Mark | None = None,
) -> Found | None:
    """Read the level off the belief, the line placed within its rows; None where no row earns it.

    Parameters
    ----------
    noise : float
        Spread of one profile value. [grey levels]
    rim_mm : float or None
        Where the top ends, below the drawn rim, if that is known. [mm]
    mark : Mark or None
        What is known of the filling's mark, after its first line.
    """
    if belief.rows.sum() <= 0.0:
        return None
    plan = wall.plan
    depths = plan.depths_mm
    mode = int(np.argmax(belief.rows))
    near = np.abs(depths - depths[mode]) <= 1.0
    centre = float((depths * belief.rows)[near].sum() / belief.rows[near].sum())
    confidence = mass_near(belief, depths, centre, 1.2)
    clay = float(np.interp(centre + MENISCUS_MM, depths, film.mm))
    rows = wall.rows(clay, centre)
    placed = _placed(rows, wall, centre, rim_mm, mark)
    if placed is None:
        return None
    line_sigma = math.hypot(placed.sigma_mm, 0.04, faint_mm(placed.step, noise))
    bare = np.interp([placed.at_mm - 1.0, placed.at_mm + 1.0], plan.shape.depths_mm, plan.shape.radii_mm)
    taper = 0.5 * float(bare[0] - bare[1])
    per_film = math.cos(plan.steep) / max(
        math.sin(plan.steep) * AROUND_SHARE + taper * math.cos(plan.steep), 0.1
    )
    film_part = film.sigma_mm * per_film
    sigma = math.hypot(line_sigma, film_part, POSE_PX / plan.px_per_mm, MENISCUS_SIGMA_MM)
    rim_px = max(placed.at_mm - rows.rim_mm - (placed.rim_mm or 0.0), 0.0) * plan.px_per_mm
    rim_share = math.exp(-rim_px / NEAR_RIM_PX)
    drift = math.hypot(line_sigma, 0.12 * film_part, NEAR_RIM_MM * rim_share)
    lean = float(np.interp(placed.at_mm, depths, plan.lean))
    level = placed.at_mm + MENISCUS_MM
    return Found(
        level,
        sigma,
        drift,
        confidence,
        placed,
        clay / lean,
        per_film * lean,
        rim_share,
        rim_px,
        film.sigma_mm / lean,
    )


def _placed(
    rows: WallRows, wall: Wall, centre: float, rim_mm: float | None, mark: Mark | None
) -> Placed | None:
    """Place the line by what lies above it: the mark of the fill once it is clear of that, else the top."""
    sectors = wall.sectors(centre)
    if mark is not None:
        below_px = (centre - mark.first_mm) * rows.px_per_mm
        if below_px > CLEAR_OF_MARK_PX:
            near = below_px < FAR_OF_MARK_PX + REACH_MM * rows.px_per_mm
            below = place_below(rows, sectors, centre, mark if near else None)
            if below is not None and below.sigma_mm < REACH_MM:
                return below
    return place(rows, sectors, centre, rim_mm)


def wider(found: Found, by_mm: float) -> Found:
    """Return the line with one more spread of its own in it."""
    return replace(
        found,
        sigma_mm=math.hypot(found.sigma_mm, by_mm),
        drift_sigma_mm=math.hypot(found.drift_sigma_mm, by_mm),
    )
