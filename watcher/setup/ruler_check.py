"""A dipped ruler beside the eye: whether the readings of this hole can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass

RULER_SIGMA_MM = 0.5
"""How surely a level is read off a ruler dipped into a pour hole (common practice, no source). [mm]"""
AGREES_SIGMA = 2.0
SHARED_MM = 1.0
"""Off by more than this, something is wrong with card, bore or lens rather than with the reading. [mm]"""


@dataclass(frozen=True, slots=True)
class RulerBesideEye:
    """Ruler and eye at one moment. `agrees`: within both spreads. [mm]."""

    ruler_mm: float
    eye_mm: float
    eye_sigma_mm: float
    agrees: bool
    says: str


def beside_eye(ruler_mm: float, eye_mm: float, eye_sigma_mm: float) -> RulerBesideEye:
    """Hold a level by the ruler against the one that was read.

    Parameters
    ----------
    ruler_mm : float
        How far the slip lies below the rim, by the ruler. [mm]
    eye_mm, eye_sigma_mm : float
        The reading and its standard deviation. [mm]
    """
    off = eye_mm - ruler_mm
    both = math.hypot(eye_sigma_mm, RULER_SIGMA_MM)
    agrees = abs(off) <= AGREES_SIGMA * both
    head = f"ruler {ruler_mm:.1f} mm, eye {eye_mm:.1f} mm (give or take {eye_sigma_mm:.1f})"
    if agrees:
        return RulerBesideEye(ruler_mm, eye_mm, eye_sigma_mm, True, f"{head}: they agree")
    side = "too deep" if off > 0 else "too shallow"
    why = (
        "; a drop is still right, but see whether the card lies where it was taken in and the rim's "
        "diameter is right"
        if abs(off) > SHARED_MM
        else "; dip again, at the rim's lowest place"
    )
    return RulerBesideEye(
        ruler_mm, eye_mm, eye_sigma_mm, False, f"{head}: the eye reads {abs(off):.1f} mm {side}{why}"
    )
