"""Find the rim's edge in the picture near a tapped circle, so that a finger's error does not stay."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from watcher.records.frames import Image
from watcher.records.layout import Lens, Point3
from watcher.setup.rim_fit import NoRim, RimFit, fit_rim
from watcher.setup.sight_lines import SightLines, sight_lines
from watcher.vision.lighting import LINEAR
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]

WAYS = 90
WINDOWS_PX = (9.0, 5.0, 3.0)
STEP_PX = 0.25
LEAST_STEP = 0.02
"""Least change of light (of full white) across an edge that is one."""
KEEP_PX = 1.2
LEAST_SHARE = 0.45
EDGE_SIGMA_PX = 0.5
ROUNDED_SIGMA_MM = 0.3
"""A rounded rim is seen too near the camera by about this much (rendered moulds); it is left in, and said."""


def refine_rim(
    image: Image,
    fit: RimFit,
    camera: CameraPose,
    lens: Lens,
    *,
    height_mm: float | None,
    up: Point3 = (0.0, 0.0, 1.0),
) -> RimFit | NoRim:
    """Look for the rim's edge along rays from its centre, and fit the circle again to what was found.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
        The empty mould.
    fit : RimFit
        From taps, or from a circle dragged over the rim.
    height_mm : float or None
        Height of the rim, from the card; None: the diameter of `fit` is kept and the height found.

    Returns
    -------
    RimFit or NoRim
        The spread is that of the edges found, widened for rims that are rounded off.
    """
    now = fit
    for window_px in WINDOWS_PX:
        points = _edges(image, now, camera, lens, up, window_px)
        found = _fit_most(points, now, camera, lens, height_mm, up)
        if isinstance(found, NoRim):
            return found
        now = found
    return replace(
        now,
        centre_sigma_mm=math.hypot(now.centre_sigma_mm, ROUNDED_SIGMA_MM),
        diameter_sigma_mm=math.hypot(now.diameter_sigma_mm, 2.0 * ROUNDED_SIGMA_MM),
    )


def _edges(image: Image, fit: RimFit, camera: CameraPose, lens: Lens, up: Point3, window_px: float) -> Array:
    """Strongest edge within a window about the circle, for each way out from the centre; (N, 2) px."""
    grid, outward = _rim_px(fit, camera, lens, up)
    offsets = np.arange(-window_px - 2.0, window_px + 2.01, STEP_PX)
    xy = (grid[:, None, :] + offsets[:, None] * outward[:, None, :]).astype(np.float32)
    shown = cv2.remap(image, xy[..., 0], xy[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = LINEAR[shown[..., 1]].astype(np.float64)
    slope = np.abs(np.gradient(gaussian_filter1d(light, 1.0 / STEP_PX, axis=1), STEP_PX, axis=1))
    inside = np.abs(offsets) <= window_px
    # between two edges of like strength the nearer one is the rim
    slope *= np.where(inside, 1.0 - 0.3 * np.abs(offsets) / window_px, 0.0)
    best = np.clip(np.argmax(slope, axis=1), 1, offsets.size - 2)
    rows = np.arange(len(slope))
    low, mid, high = slope[rows, best - 1], slope[rows, best], slope[rows, best + 1]
    bend = low - 2.0 * mid + high
    part = np.where(bend < 0.0, 0.5 * (low - high) / np.where(bend < 0.0, bend, -1.0), 0.0)
    at = offsets[best] + np.clip(part, -0.5, 0.5) * STEP_PX
    strong = mid > LEAST_STEP
    return np.asarray((grid + at[:, None] * outward)[strong])


def _rim_px(fit: RimFit, camera: CameraPose, lens: Lens, up: Point3) -> tuple[Array, Array]:
    """Points of the circle in the picture and their outward normals there."""
    lines = sight_lines(np.array([[lens.cx_px, lens.cy_px]]), camera, lens, up)
    centre = lines.upright @ np.array(fit.centre_mm)
    turns = np.linspace(0.0, 2.0 * math.pi, WAYS, endpoint=False)
    radius = 0.5 * fit.diameter_mm
    grid = _circle(lines, centre, radius, turns)
    tangent = _circle(lines, centre, radius, turns + 0.01) - _circle(lines, centre, radius, turns - 0.01)
    outward = (
        np.column_stack((tangent[:, 1], -tangent[:, 0])) / np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
    )
    if float(((grid - grid.mean(axis=0)) * outward).sum()) < 0.0:
        outward = -outward
    return grid, outward


def _circle(lines: SightLines, centre: Array, radius: float, turns: Array) -> Array:
    ring = np.column_stack((np.cos(turns), np.sin(turns)))
    return lines.pixels(centre[:2] + radius * ring, float(centre[2]))


def _fit_most(
    points: Array, fit: RimFit, camera: CameraPose, lens: Lens, height_mm: float | None, up: Point3
) -> RimFit | NoRim:
    """Fit, leave out what lies off the circle, fit again; refuse when too little of the rim agrees."""
    kept = points
    found: RimFit | NoRim = NoRim("the rim's edge is not to be seen; tap it, or light the mould better")
    for _ in range(4):
        if len(kept) < LEAST_SHARE * WAYS:
            return NoRim("too little of the rim's edge is to be seen; tap it, or light the mould better")
        diameter = fit.diameter_mm if height_mm is None else None
        found = fit_rim(
            kept, camera, lens, height_mm=height_mm, diameter_mm=diameter, up=up, sigma_px=3.0 * EDGE_SIGMA_PX
        )
        if isinstance(found, NoRim):
            return found
        lines = sight_lines(points, camera, lens, up)
        place = lines.upright @ np.array(found.centre_mm)
        away = np.abs(lines.away_px(place[:2], 0.5 * found.diameter_mm, float(place[2])))
        kept = points[away < max(KEEP_PX, 2.5 * float(np.median(away)))]
    return found
