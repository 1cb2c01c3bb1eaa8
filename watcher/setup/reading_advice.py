"""What would help a hole to be read better, in the caster's words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from watcher.records.layout import Point3
from watcher.setup.reading_forecast import HoleView, Picture, level_sigma_mm, lost_below_mm

STEEP_DEG, FLAT_DEG = 25.0, 60.0
BEST_DEG = (40.0, 50.0)
LEAST_PX_PER_MM, FEW_PX_PER_MM, GOOD_PX_PER_MM = 0.8, 1.0, 1.2
"""Pixels per mm of depth: too few, worth a word, enough."""
SMALL_RADIUS_MM = 8.0
LOW_CONTRAST = 6.0


class HowWell(StrEnum):
    """How well a hole can be read."""

    WELL = "well"
    FAIRLY = "fairly"
    POORLY = "poorly"
    NOT = "not at all"


@dataclass(frozen=True, slots=True)
class ReadingForecast:
    """What to expect of one hole from where the camera stands.

    Attributes
    ----------
    how_well : HowWell
    level_sigma_mm : float
        Standard deviation to be expected half way down the depth wanted; infinite: out of sight. [mm]
    lost_below_mm : float or None
        From here the level is lost below this depth; None: not lost. [mm]
    from_vertical_deg, px_per_mm_depth : float
        Angle of the view; pixels for a mm of depth.
    advice : tuple of str
        Plain sentences, the most helpful first; empty where nothing needs to change.
    """

    how_well: HowWell
    level_sigma_mm: float
    lost_below_mm: float | None
    from_vertical_deg: float
    px_per_mm_depth: float
    advice: tuple[str, ...]


def hole_view(
    bore: tuple[tuple[float, float], ...],
    centre_mm: Point3,
    eye_mm: Point3,
    focal_px: float,
    up: Point3 = (0, 0, 1),
) -> HoleView:
    """Tell how a camera at `eye_mm` sees a hole whose rim's centre is at `centre_mm` (bench frame)."""
    away = np.subtract(eye_mm, centre_mm).astype(np.float64)
    distance = float(np.linalg.norm(away))
    height = float(away @ np.array(up, dtype=np.float64)) / distance
    angle = math.degrees(math.acos(min(1.0, max(-1.0, height))))
    return HoleView(bore, angle, focal_px / distance)


def forecast(view: HoleView, deepest_mm: float, picture: Picture | None = None) -> ReadingForecast:
    """Say how well the level will be read down to the deepest level expected, and what would help.

    Parameters
    ----------
    view : HoleView
    deepest_mm : float
        How far the slip is expected to sink below the rim. [mm]
    picture : Picture, optional
        Contrast and noise as measured; else an ordinary webcam's.
    """
    shown = picture or Picture()
    if view.from_vertical_deg >= 88.0:
        return ReadingForecast(
            HowWell.NOT, math.inf, 0.0, view.from_vertical_deg, view.px_per_mm,
            ("The camera does not look into this hole from above: raise it.",),
        )  # fmt: skip
    sigma = level_sigma_mm(view, 0.5 * deepest_mm, shown)
    lost = lost_below_mm(view)
    depth_px = view.px_per_mm * math.sin(math.radians(view.from_vertical_deg))
    hidden = lost is not None and lost < deepest_mm
    return ReadingForecast(
        _verdict(sigma, hidden=hidden, depth_px=depth_px),
        sigma,
        lost,
        view.from_vertical_deg,
        depth_px,
        _advice(view, deepest_mm, lost, depth_px, shown),
    )


def _verdict(sigma: float, *, hidden: bool, depth_px: float) -> HowWell:
    if not math.isfinite(sigma):
        return HowWell.NOT
    if sigma > 0.6 or hidden or depth_px < 0.5 * LEAST_PX_PER_MM:
        return HowWell.POORLY
    return HowWell.WELL if sigma <= 0.35 and depth_px >= LEAST_PX_PER_MM else HowWell.FAIRLY


def _advice(
    view: HoleView, deepest_mm: float, lost: float | None, depth_px: float, picture: Picture
) -> tuple[str, ...]:
    said = []
    angle = view.from_vertical_deg
    if lost is not None and lost < deepest_mm:
        said.append(_raise_camera(view, deepest_mm, lost))
    if angle < STEEP_DEG:
        said.append(
            f"The camera looks down steeply ({angle:.0f} degrees from the vertical), so that a level hardly "
            f"moves in the picture: lower it or move it back (best {BEST_DEG[0]:.0f} to {BEST_DEG[1]:.0f})."
        )
    elif angle > FLAT_DEG and not said:
        said.append(f"The camera looks in flat ({angle:.0f} degrees from the vertical): move it up.")
    if depth_px < FEW_PX_PER_MM and angle >= STEEP_DEG:
        nearer = depth_px / GOOD_PX_PER_MM
        said.append(
            f"A millimetre of depth is only {depth_px:.1f} px: bring the camera nearer, to about "
            f"{100.0 * nearer:.0f} % of its distance, or set a larger picture."
        )
    if float(view.radius_mm(0.0)) < SMALL_RADIUS_MM:
        said.append(
            f"The hole is small ({2.0 * float(view.radius_mm(0.0)):.0f} mm): bring the camera near to it, or "
            "hang a marked strip against its far wall."
        )
    if picture.contrast < LOW_CONTRAST:
        said.append(
            "Slip and wall look alike: light the bench from high up on the side opposite the camera, and "
            "screen off low windows."
        )
    return tuple(said)


def _raise_camera(view: HoleView, deepest_mm: float, lost: float) -> str:
    """Find the flattest view, in whole degrees, from which the deepest level is still seen."""
    head = f"From here the level is lost below {lost:.0f} mm, and it is to sink to {deepest_mm:.0f} mm: "
    for degrees in range(math.floor(view.from_vertical_deg), 14, -1):
        steeper = HoleView(view.bore, float(degrees), view.px_per_mm)
        still = lost_below_mm(steeper)
        if still is None or still >= deepest_mm:
            return head + f"move the camera up until it looks in at {degrees} degrees from the vertical."
    return head + "no place of the camera shows it; call this mould by time, or fill it fuller."
