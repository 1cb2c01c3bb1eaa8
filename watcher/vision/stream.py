"""A stream of slip that falls into a pour hole: a narrow upright streak across the rim that was not there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.vision.curtain import STEP_MM, Curtain

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

WIDTHS_MM = (3.0, 4.5, 6.5, 9.0)
"""Streams from a jug's lip are so wide; a finger or a spoon is wider, a hair or a seam narrower (common
practice, no source). [mm]"""

TILTS = tuple(math.tan(math.radians(deg)) for deg in range(-12, 13, 3))
"""Slip leaves a lip sideways, and falls the straighter the further."""

INSIDE_MM = 5.0
"""How far below the far rim, as it is seen, the streak must reach on: it falls into the hole. [mm]"""

REACHES = (0.0, 0.35, 0.7)
"""Shares of the hole's seen height that it may be followed down besides: until slip stands high, the deeper
the better for its lean."""

USUAL_LEAN_DEG = 7.0
"""Spread of a stream's lean (guess)."""

EDGE_SHARE = 0.92
"""Nearer to the rim's two sides nothing is told: a streak there may be the rim's own. Share of the radius."""

LEAST_CONTRAST = 3.0
"""Grey levels by which a streak must stand out from both its sides."""

LEAST_SURE = 7.0
"""How often its own spread the streak's mean contrast must be."""

LEAST_SPREAD = 0.7
"""Spread that is always there. [grey levels]"""

ABOVE_MM = 12.0
"""How far above the far rim a streak is looked at: higher up there may be the jug. [mm]"""

BOTH_SIDES = 0.35
"""Share of its mean contrast that a streak has over the far rim as well as below it: it crosses it."""

LEAST_ROWS = 0.7
"""Share of the rows on which the streak stands out to the same side."""

RIVAL = 1.25
"""A streak must be surer than any other place by this factor: over a hand there are many."""


@dataclass(frozen=True, slots=True)
class Streak:
    """A streak found.

    `across_mm` is its place at the rim's level before the hole's middle [mm], `tilt` its lean there (mm
    sideways per mm up), `width_mm` its width, `sure` its contrast over its spread.
    """

    across_mm: float
    sigma_mm: float
    tilt: float
    width_mm: float
    sure: float


def find_streak(now: Floats, before: Floats, curtain: Curtain) -> Streak | None:
    """Find the stream in a sheet, given how the sheet looked before the pour.

    Parameters
    ----------
    now, before : ndarray (H, U, 3)
        As `hang` gives them.
    curtain : Curtain
    """
    changed = _evenly(now, before)
    best: tuple[float, int, float, float] | None = None
    ranks = np.zeros(curtain.across_mm.size)
    rows = [_rows(curtain, reach) for reach in REACHES]
    over = (curtain.height_mm[:, None] > curtain.far_mm[None]).astype(np.float32)
    for tilt in TILTS:
        sheared = _upright(changed, curtain, tilt)
        usual = math.exp(-((math.degrees(math.atan(tilt)) / USUAL_LEAN_DEG) ** 2) / 24.0)
        for width in WIDTHS_MM:
            sure = usual * _sure(_stands_out(sheared, width), rows, over)
            sure[np.abs(curtain.across_mm) > EDGE_SHARE * curtain.radius_mm] = 0.0
            ranks = np.maximum(ranks, sure)
            at = int(np.argmax(sure))
            if best is None or sure[at] > best[0]:
                best = (float(sure[at]), at, tilt, width)
    if best is None or best[0] < LEAST_SURE:
        return None
    sure_at, at, tilt, width = best
    apart = np.abs(curtain.across_mm - curtain.across_mm[at]) > max(1.5 * width, 6.0)
    if apart.any() and float(ranks[apart].max()) * RIVAL > sure_at:
        return None
    flat = abs(tilt) * 0.5 * float(curtain.far_mm.max())
    sigma = math.hypot(0.6 + 0.5 / curtain.px_per_mm, flat)
    return Streak(float(curtain.across_mm[at]), sigma, tilt, width, sure_at)


def _evenly(now: Floats, before: Floats) -> Floats:
    """Return what changed, after the light that changed everywhere is taken out."""
    gain = float(np.median(now[..., 0])) / max(float(np.median(before[..., 0])), 1.0)
    return np.asarray(cv2.blur(now - before * np.float32(gain), (1, 3)), dtype=np.float32)


def _upright(changed: Floats, curtain: Curtain, tilt: float) -> Floats:
    """Shear the sheet so that what leans by `tilt` stands upright at its place at the rim's level."""
    rows, cols = changed.shape[:2]
    x = np.arange(cols, dtype=np.float32)[None] + (curtain.height_mm[:, None] * tilt / STEP_MM).astype(
        np.float32
    )
    y = np.broadcast_to(np.arange(rows, dtype=np.float32)[:, None], (rows, cols))
    return np.asarray(
        cv2.remap(changed, x, np.ascontiguousarray(y), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    )


def _rows(curtain: Curtain, reach: float) -> tuple[Floats, Floats]:
    """Which points count (H, U), from above the far rim down into the hole, and how many in each column."""
    rows = curtain.height_mm[:, None]
    low = curtain.far_mm - INSIDE_MM - 2.0 * reach * curtain.far_mm
    use = ((rows > low[None]) & (rows < curtain.far_mm[None] + ABOVE_MM)).astype(np.float32)
    return use, np.maximum(use.sum(axis=0), 1.0)


def _stands_out(changed: Floats, width_mm: float) -> Floats:
    """By how much each place differs from both its sides (H, U, 3); 0 where it lies between them."""
    half = max(round(0.5 * width_mm / STEP_MM), 1)
    side = max(half, 2)
    mean = cv2.blur(changed, (2 * half + 1, 1))
    flank = cv2.blur(changed, (2 * side + 1, 1))
    left, right = _shift(flank, -(half + 1 + side)), _shift(flank, half + 1 + side)
    above = np.maximum(mean - np.maximum(left, right), 0.0)
    below = np.minimum(mean - np.minimum(left, right), 0.0)
    return np.asarray(above + below, dtype=np.float32)


def _sure(stands: Floats, rows: list[tuple[Floats, Floats]], over: Floats) -> Array:
    """How surely a streak stands at each place (U,); 0 where one cannot be."""
    sure = np.zeros(stands.shape[1])
    for use, count in rows:
        sums = np.einsum("hu,huc->uc", use, stands)
        middle = sums / count[:, None]
        squares = np.einsum("hu,huc->uc", use, stands * stands) / count[:, None]
        spread = np.sqrt(np.maximum(squares - middle**2, 0.0)) + LEAST_SPREAD
        same = np.einsum("hu,huc->uc", use, (stands * middle[None] > 0.0).astype(np.float32)) / count[:, None]
        fits = (np.abs(middle) > LEAST_CONTRAST) & (same >= LEAST_ROWS)
        for part in (use * over, use * (1.0 - over)):
            own = np.einsum("hu,huc->uc", part, stands) / np.maximum(part.sum(axis=0), 1.0)[:, None]
            fits &= own * np.sign(middle) > BOTH_SIDES * np.abs(middle)
        each = np.where(fits, np.abs(middle) / spread, 0.0) * np.sqrt(count / 3.0)[:, None]
        sure = np.maximum(sure, each.max(axis=1))
    return sure


def _shift(values: Floats, by: int) -> Floats:
    """Return the values of the column `by` further on, the outermost repeated."""
    index = np.clip(np.arange(values.shape[1]) + by, 0, values.shape[1] - 1)
    return values[:, index]
