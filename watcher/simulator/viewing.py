"""A simulated camera: where it stands, how its lens bends, which ray each pixel looks along."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.records.layout import Lens, Point3

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class View:
    """A camera in the bench frame.

    Attributes
    ----------
    lens : Lens
    eye_mm : tuple of float
        Where it stands. [mm]
    axes : tuple of three tuples of float
        Its axes in the bench frame: right, down, ahead.
    """

    lens: Lens
    eye_mm: Point3
    axes: tuple[Point3, Point3, Point3]

    def project(self, points_mm: Array) -> Array:
        """Picture points (x, y) of bench points (n, 3), in px; the first pixel's centre is (0, 0)."""
        local = (np.asarray(points_mm, float).reshape(-1, 3) - self.eye_mm) @ np.array(self.axes).T
        bent = _bend(local[:, :2] / local[:, 2:], self.lens.distortion)
        scale = np.array([self.lens.fx_px, self.lens.fy_px])
        return np.asarray(bent * scale + (self.lens.cx_px, self.lens.cy_px), dtype=np.float64)

    def rays(self, points_px: Array) -> Array:
        """Directions (n, 3) in the bench frame of picture points (n, 2); not of unit length."""
        scale = np.array([self.lens.fx_px, self.lens.fy_px])
        bent = (np.asarray(points_px, float) - (self.lens.cx_px, self.lens.cy_px)) / scale
        straight = bent.copy()
        for _ in range(10):
            straight = straight - (_bend(straight, self.lens.distortion) - bent)
        local = np.column_stack([straight, np.ones(len(straight))])
        return np.asarray(local @ np.array(self.axes), dtype=np.float64)

    def moved(self, shift_mm: Point3, turn_deg: Point3) -> View:
        """Return the camera after a knock: shifted, and turned by small angles about its own axes."""
        a, b, c = np.radians(turn_deg)
        about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
        about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
        about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
        axes = about_z @ about_y @ about_x @ np.array(self.axes)
        eye = np.add(self.eye_mm, shift_mm)
        return replace(self, eye_mm=_point(eye), axes=(_point(axes[0]), _point(axes[1]), _point(axes[2])))


def looking_at(lens: Lens, eye_mm: Point3, target_mm: Point3) -> View:
    """Return a camera at `eye_mm` that looks at `target_mm`, level across; not straight down."""
    ahead = np.subtract(target_mm, eye_mm)
    ahead = ahead / np.linalg.norm(ahead)
    right = np.cross(ahead, (0.0, 0.0, 1.0))
    if np.linalg.norm(right) < 1e-6:
        raise ValueError("a simulated camera cannot look straight down or up")
    right = right / np.linalg.norm(right)
    return View(lens, eye_mm, (_point(right), _point(np.cross(ahead, right)), _point(ahead)))


def _bend(straight: Array, distortion: tuple[float, float, float, float, float]) -> Array:
    """Brown's lens: straight picture coordinates at unit distance to bent ones."""
    k1, k2, p1, p2, k3 = distortion
    x, y = straight[:, 0], straight[:, 1]
    r2 = x * x + y * y
    radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3))
    bent_x = x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x)
    bent_y = y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y
    return np.column_stack([bent_x, bent_y])


def _point(values: Array) -> Point3:
    x, y, z = (float(v) for v in values)
    return (x, y, z)
