"""Strapping and lifting one mould: what its slip pushes with, and what it weighs full."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.doors import BadValue
from models.lifting import full_mould_kg
from models.mould import MouldProfile
from models.slip import Slip
from models.slip_pressure import StrapNeed, straps_for

HOLE_ALONE = 0.3
"""Spread of the wetted area of a mould of which the pour hole alone was measured."""


@dataclass(frozen=True, slots=True)
class Handling:
    """What hands should know of a mould.

    Attributes
    ----------
    straps : StrapNeed
        With the sum behind it.
    width_mm : float
        Mean width of the cavity. [mm]
    slip_l : float
        Slip that fills it. [L]
    full_kg : float or None
        With its damp and its slip; None where nobody gave its dry weight. [kg]
    """

    straps: StrapNeed
    width_mm: float
    slip_l: float
    full_kg: float | None


def handling_of(
    profile: MouldProfile, slip: Slip, dry_kg: float | None, free_water: float | None
) -> Handling | None:
    """Work out one mould's handling; None for a cavity whose depth is not known.

    Parameters
    ----------
    profile : MouldProfile
        Its bore, as far down as it is known: of a pour hole that alone was measured nothing is said.
    slip : Slip
    dry_kg, free_water : float or None
        Weight bone dry [kg], and water over that.
    """
    depths = np.array([row[0] for row in profile.bore], dtype=np.float64)
    widths = np.array([row[1] for row in profile.bore], dtype=np.float64)
    if len(depths) < 3 or profile.area_rel_sigma >= HOLE_ALONE:
        return None
    depth = float(depths[-1] - depths[0])
    width = float(np.trapezoid(widths, depths) / depth)
    slip_ml = float(np.trapezoid(0.25 * np.pi * widths**2, depths)) / 1000.0
    sg = slip.specific_gravity
    try:
        straps = straps_for(depth_mm=depth, width_mm=width, sg=sg)
        full = None
        if dry_kg is not None:
            full = full_mould_kg(dry_kg=dry_kg, free_water=free_water or 0.0, slip_ml=slip_ml, sg=sg)
    except BadValue:
        return None
    return Handling(straps, width, slip_ml / 1000.0, full)
