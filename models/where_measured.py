"""What the forward model says of the place where a wall was measured, against the mean wall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.balance import sink
from models.calibration import Place
from models.cavity import cut
from models.doors import number
from models.mould import MouldProfile
from models.slip import Slip


@dataclass(frozen=True, slots=True)
class PlaceInModel:
    """For `models.calibration.WallTest`.

    Attributes
    ----------
    expected_ratio : float
        Wall at the place over the mean wall: below 1 where the level left it early.
    thinning : float
        Cake volume over mean wall times wetted area.
    """

    expected_ratio: float
    thinning: float


def place_in_model(
    mould: MouldProfile,
    slip: Slip,
    *,
    mean_wall_mm: float,
    place: Place,
    depth_mm: float | None = None,
    filled_to_mm: float = 4.0,
) -> PlaceInModel:
    """Say how thick the forward model has a place when the mean wall is `mean_wall_mm`.

    Parameters
    ----------
    mould : MouldProfile
    slip : Slip
    mean_wall_mm : float
        About what the mean wall was, 0.3 to 40; the ratios change little with it. [mm]
    place : Place
    depth_mm : float, optional
        Depth below the rim, for a nick or a piece of the spare; else the trim line, the widest place of the
        body, or just above the floor. [mm]
    filled_to_mm : float
        Level when full. [mm]

    Raises
    ------
    BadValue
        A depth outside the mould, or at a place that the slip never reached.
    """
    wall = number("mean wall", mean_wall_mm, wanted="mm, 0.3 to 40", least=0.3, most=40)
    top = number(
        "filled to", filled_to_mm, wanted="mm below the rim, 0 to the neck", least=0, most=mould.neck_mm
    )
    at_mm = _usual_depth(mould, place) if depth_mm is None else depth_mm
    wanted = f"mm below the rim, {top:g} (where the slip stood) to {mould.depth_mm:g}"
    depth = number("depth of the place", at_mm, wanted=wanted, least=top, most=mould.depth_mm)
    cavity = cut(mould)
    run = sink(
        cavity,
        level_mm=top,
        clocks_mm2=np.zeros(len(cavity.depths_mm)),
        water_per_cake=slip.water_per_cake,
        most_mm2=1.6 * wall**2,
    )
    growth = float(np.interp(wall, run.wall_mm, run.growth_mm2))
    walls = np.sqrt(run.clocks_at(growth))
    mean = float(np.interp(growth, run.growth_mm2, run.wall_mm))
    cake = float(np.interp(growth, run.growth_mm2, run.cake_mm3))
    ratio = 1.0 if place is Place.MEAN else float(np.interp(depth, cavity.depths_mm, walls)) / mean
    return PlaceInModel(ratio, cake / (mean * cavity.wetted_mm2(top)))


def _usual_depth(mould: MouldProfile, place: Place) -> float:
    below = [(diameter, depth) for depth, diameter in mould.bore if depth >= mould.neck_mm]
    match place:
        case Place.SPARE:
            return mould.neck_mm
        case Place.BELLY | Place.MEAN:
            return max(below)[1]
        case Place.FOOT:
            return 0.95 * mould.depth_mm
