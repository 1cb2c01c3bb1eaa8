"""The pour hole as a body in space: bore, place, and what of its wall the camera can see."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.mould import MouldProfile

Array = npt.NDArray[np.float64]

DEEPEST_MM = 48.0
"""Depth below the rim to which a hole is read at most: a cast that sinks further has no spare."""


@dataclass(frozen=True, slots=True)
class HoleShape:
    """One bare opening in the mould's own axes (the tag's: x right, y up the tag, z up).

    Attributes
    ----------
    centre_mm : tuple of float
        (x, y) from the mould's rim centre. [mm]
    depths_mm, radii_mm : tuple of float
        Radius against depth below the rim, straight between; the long half axis of an oval hole. [mm]
    squash : float
        Short axis through long axis, 1 for a round hole; the long axis lies along x.
    """

    centre_mm: tuple[float, float]
    depths_mm: tuple[float, ...]
    radii_mm: tuple[float, ...]
    squash: float = 1.0

    def radius_mm(self, depth_mm: Array | float, azimuth: Array | float) -> Array:
        """Radius at a depth and a direction (radians from the mould's x axis), broadcast together; mm."""
        long_half = np.interp(depth_mm, self.depths_mm, self.radii_mm)
        if self.squash == 1.0:
            return np.asarray(long_half + 0.0 * np.asarray(azimuth))
        return np.asarray(long_half * self.squash / np.hypot(self.squash * np.cos(azimuth), np.sin(azimuth)))

    def lean(self, depth_mm: Array) -> Array:
        """Secant of the wall's slope against the vertical: horizontal thickness per thickness of cake."""
        slope = np.gradient(np.interp(depth_mm, self.depths_mm, self.radii_mm), depth_mm)
        return np.asarray(np.minimum(np.hypot(1.0, slope), 1.6))


def shapes(profile: MouldProfile) -> tuple[HoleShape, ...]:
    """Return the openings of a mould, each with its bore down to the mould's floor."""
    made = []
    for hole in profile.holes:
        bore = hole.bore or profile.bore
        depths = tuple(float(row[0]) for row in bore)
        radii = tuple(0.5 * float(row[1]) for row in bore)
        squash = 1.0
        if hole.axes_mm is not None:
            scale = 0.5 * hole.axes_mm[0] / radii[0]
            radii = tuple(r * scale for r in radii)
            squash = hole.axes_mm[1] / hole.axes_mm[0]
        made.append(HoleShape((float(hole.centre_mm[0]), float(hole.centre_mm[1])), depths, radii, squash))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class HolePlace:
    """Where a hole stands in the bench frame: rim centre (3,), turn about the bench's z [rad]."""

    rim_mm: Array
    yaw: float


def level_tilt(up: tuple[float, float, float], azimuth: Array) -> Array:
    """How much deeper than at the axis a level surface meets the wall, per mm of radius, by direction.

    The hole's axis is the bench's z; a bench that slopes makes the liquid's edge slope against it.
    """
    u = np.asarray(up, dtype=np.float64)
    return np.asarray((np.cos(azimuth) * u[0] + np.sin(azimuth) * u[1]) / u[2])


def wall_points(
    shape: HoleShape,
    place: HolePlace,
    depths_mm: Array,
    azimuth: Array,
    film_mm: Array,
    up: tuple[float, float, float],
) -> Array:
    """Points (J, K, 3) where a liquid at depth j meets the film in direction k, in mm.

    Parameters
    ----------
    depths_mm : ndarray (J,)
        Depth of the liquid on the hole's axis; below nought: on the top, that far outside the rim. [mm]
    azimuth : ndarray (K,)
        Direction in the bench frame. [rad]
    film_mm : ndarray (J,)
        Horizontal thickness of clay on the wall at the depth. [mm]
    """
    under = np.maximum(depths_mm, 0.0)
    outside = under - depths_mm
    bare = shape.radius_mm(under[:, None], azimuth[None, :] - place.yaw)
    clay = np.where(depths_mm >= 0.0, film_mm, 0.0)
    radius = np.maximum(bare - clay[:, None], 0.25 * bare) + outside[:, None]
    deeper = radius * level_tilt(up, azimuth)[None, :]
    x = place.rim_mm[0] + radius * np.cos(azimuth)[None, :]
    y = place.rim_mm[1] + radius * np.sin(azimuth)[None, :]
    z = place.rim_mm[2] - under[:, None] - deeper * (under > 0.0)[:, None]
    return np.stack((x, y, z), axis=-1)


def visible(
    shape: HoleShape,
    place: HolePlace,
    points_mm: Array,
    eye_mm: Array,
    film_mm: Array,
    depths_mm: Array,
    clearance_mm: float,
) -> npt.NDArray[np.bool_]:
    """Tell which wall points (J, K, 3) the camera sees past the rim and past narrower places above them.

    A ray that passes a near edge within `clearance_mm` shows a mixture with that edge and does not count.
    """
    depth = place.rim_mm[2] - points_mm[..., 2]
    ray = eye_mm - points_mm
    toward = eye_mm[:2] - place.rim_mm[:2]
    seen = np.ones(points_mm.shape[:2], dtype=bool)
    for gate in _narrows(shape, float(depths_mm[-1])):
        share = (depth - gate) / np.maximum(ray[..., 2], 1e-6)
        x = points_mm[..., 0] + share * ray[..., 0] - place.rim_mm[0]
        y = points_mm[..., 1] + share * ray[..., 1] - place.rim_mm[1]
        film = np.interp(gate, depths_mm, film_mm)
        near = x * toward[0] + y * toward[1] > 0.0
        limit = shape.radius_mm(gate, np.arctan2(y, x) - place.yaw) - film - clearance_mm * near
        seen &= (np.hypot(x, y) <= limit) | (depth <= gate + 1e-6)
    return np.asarray(np.logical_and.accumulate(seen, axis=0), dtype=np.bool_)


def _narrows(shape: HoleShape, deepest_mm: float) -> list[float]:
    """Depths that can stand in a ray's way: the rim, and every place narrower than what lies below it."""
    gates = [0.0]
    for i in range(1, len(shape.depths_mm) - 1):
        if shape.depths_mm[i] < deepest_mm and shape.radii_mm[i] < shape.radii_mm[i + 1]:
            gates.append(shape.depths_mm[i])
    return gates


def far_azimuth(place: HolePlace, eye_mm: Array) -> float:
    """Direction in the bench frame from the camera over the hole: the far wall's, in radians."""
    away = place.rim_mm[:2] - eye_mm[:2]
    return math.atan2(float(away[1]), float(away[0]))


def steepness(place: HolePlace, eye_mm: Array) -> float:
    """Angle of the view from the vertical, in radians."""
    away = place.rim_mm - eye_mm
    return math.atan2(float(np.hypot(away[0], away[1])), float(-away[2]))


def edge_in_view(psi: Array, seen: npt.NDArray[np.bool_]) -> Array:
    """Share (0 to 1) of the far half of the liquid's edge that can be seen, for every depth (J,)."""
    step = float(psi[1] - psi[0])
    return np.asarray(np.minimum(seen.sum(axis=1) * step / math.pi, 1.0))
