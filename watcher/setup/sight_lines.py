"""Straight lines from the camera through points of the picture, in a frame upright on the bench."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.records.layout import Lens, Point3
from watcher.vision.lens import to_pixels, to_rays
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]
STEP_MM = 0.01


@dataclass(frozen=True, slots=True)
class SightLines:
    """Lines of sight.

    Attributes
    ----------
    eye_mm : ndarray, shape (3,)
        The camera in the upright frame (third axis against gravity). [mm]
    ways : ndarray, shape (N, 3)
        Directions in the upright frame.
    upright : ndarray, shape (3, 3)
        Rows: the upright frame's axes in the bench frame.
    camera, lens
        What made them.
    """

    eye_mm: Array
    ways: Array
    upright: Array
    camera: CameraPose
    lens: Lens

    def reach(self, height_mm: float) -> bool:
        """Say whether every line comes down to (or up to) this height before the camera."""
        return bool(((height_mm - self.eye_mm[2]) / self.ways[:, 2] > 0.0).all())

    def on_plane(self, height_mm: float) -> Array:
        """Where the lines meet a level plane, (N, 2) in the upright frame, in mm."""
        along = (height_mm - self.eye_mm[2]) / self.ways[:, 2]
        return np.asarray(self.eye_mm[:2] + along[:, None] * self.ways[:, :2])

    def to_bench(self, place: Array, height_mm: float) -> Point3:
        """Turn a place of the upright frame into the bench frame. [mm]."""
        x, y, z = np.array([place[0], place[1], height_mm]) @ self.upright
        return float(x), float(y), float(z)

    def pixels(self, places: Array, height_mm: float) -> Array:
        """Where places (N, 2) at a height are in the picture, (N, 2), in px."""
        level = np.column_stack((places, np.full(len(places), height_mm)))
        return to_pixels(self.camera.to_camera(level @ self.upright), self.lens)

    def away_px(self, centre: Array, radius_mm: float, height_mm: float) -> Array:
        """How far outside a level circle's edge each line passes, measured in the picture (N,), in px."""
        out = self.on_plane(height_mm) - centre
        distance = np.hypot(out[:, 0], out[:, 1])
        radial = out / np.maximum(distance, 1e-9)[:, None]
        return self.offset_px(centre + radius_mm * radial, radial, distance - radius_mm, height_mm)

    def offset_px(self, edge: Array, outward: Array, offset_mm: Array, height_mm: float) -> Array:
        """Turn offsets from an edge along its outward normal (N, 2) into offsets in the picture, in px.

        Only the part across the edge as it is seen counts.
        """
        along = np.column_stack((-outward[:, 1], outward[:, 0]))
        here = self.pixels(edge, height_mm)
        by_out = (self.pixels(edge + STEP_MM * outward, height_mm) - here) / STEP_MM
        by_along = (self.pixels(edge + STEP_MM * along, height_mm) - here) / STEP_MM
        area = np.abs(by_out[:, 0] * by_along[:, 1] - by_out[:, 1] * by_along[:, 0])
        return np.asarray(offset_mm * area / np.hypot(by_along[:, 0], by_along[:, 1]))


def sight_lines(points_px: Array, camera: CameraPose, lens: Lens, up: Point3 = (0.0, 0.0, 1.0)) -> SightLines:
    """Draw the lines of sight through points (N, 2) of the picture, as (x, y)."""
    plane = to_rays(np.asarray(points_px, dtype=np.float64), lens)
    ways = np.column_stack((plane, np.ones(len(plane)))) @ camera.rotation
    upright = _upright(up)
    return SightLines(upright @ camera.eye_mm(), ways @ upright.T, upright, camera, lens)


def _upright(up: Point3) -> Array:
    """Rows: axes of a frame whose third is `up` and whose first lies nearest to the bench's x."""
    z = np.array(up, dtype=np.float64)
    z /= math.sqrt(float(z @ z))
    x = np.array([1.0, 0.0, 0.0]) - z[0] * z
    x /= math.sqrt(float(x @ x))
    return np.stack((x, np.cross(z, x), z))
