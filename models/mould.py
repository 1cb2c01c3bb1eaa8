"""A mould's shape as the caster measures it: pour holes, bore, target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.doors import BadValue

Bore = tuple[tuple[float, float], ...]
"""Depth below the rim and inner diameter there, depth growing: ((depth_mm, diameter_mm), ...)."""

THICK_PER_THIN = 1.1
"""A single target number is the thin end of a window 10 % wide (common practice, no source)."""


class ProfileError(BadValue):
    """A mould's profile cannot be right; the message names the field, the value and what is wanted."""


@dataclass(frozen=True, slots=True)
class PourHole:
    """One opening that the slip stands in.

    Attributes
    ----------
    centre_mm : tuple of float
        (x, y) of the hole's centre from the rim centre of the mould, tag axes. [mm]
    bore : Bore
        Depth and diameter down to where the hole joins the body; empty: the mould's own bore.
    axes_mm : tuple of float or None
        Full long and short axis at the rim of an oval hole, long axis along x; it narrows downwards in
        step with the bore. None: round. [mm]
    """

    centre_mm: tuple[float, float] = (0.0, 0.0)
    bore: Bore = ()
    axes_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class MouldProfile:
    """One mould. Make it with `checked_mould` where the values come from outside.

    Attributes
    ----------
    name : str
        What the caster calls it.
    bore : Bore
        Depth below the rim and diameter of the main cavity, pour hole and body, without cake.
    holes : tuple of PourHole
        The pour holes; one round hole that follows the bore if none were given.
    target_wall_mm : tuple of float or None
        Thin and thick end of the wanted wall; `ready` is the thin end. [mm]
    wetted_area_mm2 : float or None
        Plaster that the slip wets when full, where a cut test or drawing gave it; else from the bore. [mm2]
    target_water_ml : float or None
        Water that a good cast gave up: the target where no wall is wanted. [mL]
    trim_line_mm : float or None
        Depth below the rim where the spare is cut off; else the neck of the bore. [mm]
    area_rel_sigma : float
        Relative standard deviation of the wetted area: 0.01 for a bore table, about 0.05 after a cut
        test, 0.3 from a calliper at the hole alone.
    solid : bool
        A piece cast solid: it is fed until the cake meets in the middle, and never tipped.
    """

    name: str
    bore: Bore
    holes: tuple[PourHole, ...] = (PourHole(),)
    target_wall_mm: tuple[float, float] | None = None
    wetted_area_mm2: float | None = None
    target_water_ml: float | None = None
    trim_line_mm: float | None = None
    area_rel_sigma: float = 0.01
    solid: bool = False

    def radius_mm(self, depth_mm: float | npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Inner radius of the bare main cavity at a depth below the rim; straight between the bore's rows.

        Above the first and below the last row the radius of that row holds.
        """
        depths, diameters = zip(*self.bore, strict=True)
        return np.asarray(np.interp(depth_mm, depths, diameters), dtype=np.float64) / 2.0

    @property
    def depth_mm(self) -> float:
        """Depth of the cavity's floor below the rim, in mm."""
        return self.bore[-1][0]

    @property
    def neck_mm(self) -> float:
        """Depth from which the piece counts: trim line, else neck, else the end of the steep taper, in mm.

        The neck is the first narrowest place. A bore that narrows all the way has none; there the spare
        ends with the steepest taper of its upper third.
        """
        if self.trim_line_mm is not None:
            return self.trim_line_mm
        depths = np.array([row[0] for row in self.bore])
        diameters = np.array([row[1] for row in self.bore])
        for i in range(1, len(depths) - 1):
            if diameters[i] <= diameters[i - 1] and diameters[i + 1] > diameters[i]:
                return float(depths[i])
        slopes = np.diff(diameters) / np.diff(depths)
        early = np.flatnonzero(depths[1:] <= 0.35 * depths[-1])
        if len(early) == 0 or slopes[early].min() >= 0.0:
            return float(depths[0])
        return float(depths[1 + early[int(np.argmin(slopes[early]))]])


def target_window(wall_mm: float | Sequence[float] | None) -> tuple[float, float] | None:
    """Thin and thick end of a wanted wall that was given as one number or as two."""
    if wall_mm is None:
        return None
    if isinstance(wall_mm, int | float):
        return (float(wall_mm), THICK_PER_THIN * float(wall_mm))
    if len(wall_mm) != 2:
        raise ProfileError(f"target_wall_mm is {list(wall_mm)}; give one number or thin and thick, in mm")
    return (float(wall_mm[0]), float(wall_mm[1]))


def checked_mould(
    name: str,
    bore: Sequence[Sequence[float]],
    *,
    holes: Sequence[PourHole] = (),
    target_wall_mm: float | Sequence[float] | None = None,
    wetted_area_mm2: float | None = None,
    target_water_ml: float | None = None,
    trim_line_mm: float | None = None,
    area_rel_sigma: float = 0.01,
    solid: bool = False,
) -> MouldProfile:
    """Return the mould's profile, or raise ProfileError with one sentence on the first thing wrong in it."""
    rows = checked_bore(f"{name}: bore", bore)
    target = target_window(target_wall_mm)
    if target is not None:
        _within(f"{name}: target_wall_mm", target[0], 0.3, 40.0, "mm")
        _within(f"{name}: target_wall_mm", target[1], target[0], 60.0, "mm")
        if not solid and target[0] * 2.0 >= max(diameter for _, diameter in rows):
            raise ProfileError(
                f"{name}: target_wall_mm is {target[0]:g} in a bore of {max(d for _, d in rows):g} mm; "
                "a drained wall must be thinner than half the widest bore"
            )
    if wetted_area_mm2 is not None:
        _within(f"{name}: wetted_area_mm2", wetted_area_mm2, 200.0, 1e7, "mm2")
    if target_water_ml is not None:
        _within(f"{name}: target_water_ml", target_water_ml, 0.1, 1e5, "mL")
    if trim_line_mm is not None:
        _within(f"{name}: trim_line_mm", trim_line_mm, 0.0, rows[-1][0], "mm")
    _within(f"{name}: area_rel_sigma", area_rel_sigma, 0.0, 1.0, "as a share")
    for number, hole in enumerate(holes, start=1):
        _check_hole(f"{name}: holes[{number}]", hole, rows)
    return MouldProfile(
        name,
        rows,
        tuple(holes) or (PourHole(),),
        target,
        wetted_area_mm2,
        target_water_ml,
        trim_line_mm,
        area_rel_sigma,
        solid,
    )


def checked_bore(field: str, bore: Sequence[Sequence[float]]) -> Bore:
    """Return a bore table as tuples, or raise ProfileError with one sentence on the first bad row."""
    if len(bore) < 2:
        raise ProfileError(f"{field} has {len(bore)} rows; give at least two rows of depth and diameter")
    rows: list[tuple[float, float]] = []
    for row in bore:
        if len(row) != 2:
            raise ProfileError(f"{field} has the row {list(row)}; each row is a depth and a diameter in mm")
        depth_mm, diameter_mm = float(row[0]), float(row[1])
        _within(f"{field} depth", depth_mm, 0.0, 2000.0, "mm")
        _within(f"{field} diameter at {depth_mm:g} mm", diameter_mm, 4.0, 2000.0, "mm")
        if rows and depth_mm <= rows[-1][0]:
            raise ProfileError(
                f"{field} has depth {depth_mm:g} after {rows[-1][0]:g}; depths must grow row by row"
            )
        rows.append((depth_mm, diameter_mm))
    if rows[0][0] != 0.0:
        raise ProfileError(f"{field} starts at depth {rows[0][0]:g}; the first row is the rim, depth 0")
    return tuple(rows)


def _check_hole(field: str, hole: PourHole, bore: Bore) -> None:
    for value in hole.centre_mm:
        _within(f"{field}.centre_mm", value, -1000.0, 1000.0, "mm")
    if hole.bore:
        checked_bore(f"{field}.bore", hole.bore)
        if hole.bore[-1][0] > bore[-1][0]:
            raise ProfileError(
                f"{field}.bore ends {hole.bore[-1][0]:g} mm below the rim, under the mould's floor at "
                f"{bore[-1][0]:g}; end it where the hole joins the body"
            )
    if hole.axes_mm is not None:
        long_mm, short_mm = hole.axes_mm
        _within(f"{field}.axes_mm short", short_mm, 4.0, 2000.0, "mm")
        _within(f"{field}.axes_mm long", long_mm, short_mm, 2000.0, "mm")


def _within(field: str, value: float, low: float, high: float, unit: str) -> None:
    if not (isinstance(value, int | float) and low <= value <= high):
        raise ProfileError(f"{field} is {value}; give a number from {low:g} to {high:g} {unit}")
