"""Pour holes that are not one round hole: an oval, or a second hole beside the first."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.mould import PourHole
from watcher.records.layout import Lens, Point3
from watcher.setup.oval_fit import OvalFit, fit_oval
from watcher.setup.rim_fit import WORST_DIAMETER_SHARE, NoRim, RimFit, fit_rim
from watcher.vision.pose import CameraPose, CardPose

Array = npt.NDArray[np.float64]
Taps = tuple[tuple[float, float], ...]

WORST_TURN_DEG = 4.0


@dataclass(frozen=True, slots=True)
class OvalHole:
    """An oval rim: how it was found, as the profile keeps it, and what to say of it."""

    fit: OvalFit
    hole: PourHole
    warnings: tuple[str, ...]


def oval_hole(
    taps_px: Taps,
    axes_mm: tuple[float, float],
    camera: CameraPose,
    lens: Lens,
    height_mm: float | None,
    card: CardPose | None,
    up: Point3,
) -> OvalHole | NoRim:
    """Find an oval rim and hold it against the axes measured, long and short.

    In a profile the long axis runs along the card's x, or along the bench's x where there is no card.
    """
    if height_mm is None:
        return NoRim(
            "an oval's height must be known: lay the card flat on the mould, or measure the rim's height"
        )
    fit = fit_oval(np.array(taps_px).reshape(-1, 2), camera, lens, height_mm, up=up)
    if isinstance(fit, NoRim):
        return fit
    for found, given in zip(fit.axes_mm, axes_mm, strict=True):
        if abs(found - given) > max(WORST_DIAMETER_SHARE * given, 2.0):
            return NoRim(
                f"the oval looks {fit.axes_mm[0]:.0f} by {fit.axes_mm[1]:.0f} mm and was measured as "
                f"{axes_mm[0]:g} by {axes_mm[1]:g}; measure the long and the short way at the very top"
            )
    yaw = 0.0 if card is None else math.degrees(math.atan2(card.rotation[1, 0], card.rotation[0, 0]))
    off = (fit.turn_deg - yaw + 90.0) % 180.0 - 90.0
    warnings: tuple[str, ...] = ()
    if abs(off) > WORST_TURN_DEG:
        beside = "the bench sheet's long side" if card is None else "the card's upper edge"
        warnings = (
            f"the oval's long way runs {abs(off):.0f} degrees off {beside}; turn it until they run alike, "
            "else the far wall is looked for in the wrong place",
        )
    return OvalHole(fit, PourHole(axes_mm=axes_mm), warnings)


def second_hole(
    taps_px: Taps,
    diameter_mm: float,
    first: RimFit,
    camera: CameraPose,
    lens: Lens,
    card: CardPose | None,
    up: Point3,
) -> PourHole | NoRim:
    """Find a second round hole at the height of the first, and tell where it lies from it.

    The holes' bores go straight down from their rims; below, both open into one cavity.
    """
    height = float(np.array(first.centre_mm) @ np.array(up))
    fit = fit_rim(
        np.array(taps_px).reshape(-1, 2), camera, lens, height_mm=height, diameter_mm=diameter_mm, up=up
    )
    if isinstance(fit, NoRim):
        return NoRim(f"second hole: {fit.why}")
    apart = np.subtract(fit.centre_mm, first.centre_mm)
    if float(np.linalg.norm(apart)) < 0.5 * (fit.diameter_mm + first.diameter_mm):
        return NoRim("second hole: it lies over the first; tap the rim of the other hole")
    x, y, _ = apart if card is None else card.rotation.T @ apart
    return PourHole((float(x), float(y)))
