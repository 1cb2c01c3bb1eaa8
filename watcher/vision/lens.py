"""Pinhole camera with Brown's distortion: pixels to rays and back."""

from __future__ import annotations

import math

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import Lens

Array = npt.NDArray[np.float64]

USUAL_FIELD_DEG = 62.0
"""Horizontal field of view of an ordinary webcam, where nothing is known (common practice, no source)."""


def usable_lens(lens: Lens | None, rows: int, cols: int) -> Lens:
    """Return the calibrated lens, or an ordinary webcam's where none is given.

    Parameters
    ----------
    lens : Lens or None
        The calibration from the settings.
    rows, cols : int
        Size of the picture. [px]

    Raises
    ------
    ValueError
        If the calibration belongs to a picture of another shape than this one (another aspect ratio).
    """
    if lens is None:
        focal = 0.5 * cols / math.tan(math.radians(0.5 * USUAL_FIELD_DEG))
        return Lens(cols, rows, focal, focal, 0.5 * (cols - 1), 0.5 * (rows - 1))
    if (lens.width_px, lens.height_px) == (cols, rows):
        return lens
    scale = cols / lens.width_px
    if abs(rows / lens.height_px - scale) > 0.01 * scale:
        raise ValueError(
            f"the picture is {cols} x {rows}, the lens was calibrated at {lens.width_px} x {lens.height_px}"
        )
    return Lens(
        cols,
        rows,
        lens.fx_px * scale,
        lens.fy_px * scale,
        (lens.cx_px + 0.5) * scale - 0.5,
        (lens.cy_px + 0.5) * scale - 0.5,
        lens.distortion,
    )


def camera_matrix(lens: Lens) -> Array:
    """Return the 3x3 matrix of the pinhole, in px."""
    return np.array([[lens.fx_px, 0.0, lens.cx_px], [0.0, lens.fy_px, lens.cy_px], [0.0, 0.0, 1.0]])


def to_rays(pixels_xy: Array, lens: Lens) -> Array:
    """Straighten pixels (N, 2) as (x, y) to points on the plane one unit before the camera (N, 2)."""
    points = np.ascontiguousarray(pixels_xy, dtype=np.float64).reshape(-1, 1, 2)
    flat = cv2.undistortPoints(points, camera_matrix(lens), np.array(lens.distortion))
    return np.asarray(flat, dtype=np.float64).reshape(-1, 2)


def to_pixels(points: Array, lens: Lens) -> Array:
    """Project points of the camera's frame (..., 3) to pixels (..., 2) as (x, y).

    The camera looks along +z, x is right and y down in the picture.
    """
    x = points[..., 0] / points[..., 2]
    y = points[..., 1] / points[..., 2]
    k1, k2, p1, p2, k3 = lens.distortion
    r2 = x * x + y * y
    radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3))
    xd = x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x)
    yd = y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y
    return np.stack((lens.fx_px * xd + lens.cx_px, lens.fy_px * yd + lens.cy_px), axis=-1)
