"""What the spread of a level is made of, beside the fit's own: how the line is seen, how faint."""

from __future__ import annotations

import math

POSE_PX = 0.07
MENISCUS_SIGMA_MM = 0.13
"""How differently that line stands from mould to mould, by the light that falls on the climb. [mm]"""
FAINT_MM, FAINT_NOISES = 1.3, 3.0
"""A step of a few times the noise is often another edge than the slip's: what that makes of the error, and
how fast it fades as the step grows."""
DARK_STEP = -12.0
SUNK_SHARE = 0.4
"""Where clay is dark, the edge that is seen first is the mark of the fill, which the slip may have left: by
this share of what it should have sunk since. [1]"""


def faint_mm(step: float, noise: float) -> float:
    """Spread that a line's faintness adds: how likely another edge was taken for it. [mm]."""
    return FAINT_MM * math.exp(-abs(step) / (FAINT_NOISES * noise))


def sunk_mm(step: float, pace_mm_per_s: float, age_s: float) -> float:
    """Spread of a level whose edge is the mark of the fill rather than the slip's own. [mm]."""
    return SUNK_SHARE * pace_mm_per_s * age_s if step < DARK_STEP else 0.0
