"""A hole straightened: rows are depths, columns directions, so that the slip's edge is a row."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens, Point3
from watcher.records.readings import Pixels
from watcher.vision.holes import (
    DEEPEST_MM,
    HolePlace,
    HoleShape,
    edge_in_view,
    far_azimuth,
    steepness,
    visible,
    wall_points,
)
from watcher.vision.lens import to_pixels
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

COLUMNS = 48
RING_POINTS = 48
SECTORS = 12
HALF_SPAN = np.radians(78.0)
ROWS_MOST = 193
STEP_MM = 0.25
FILM_NODES_MM = (0.0, 3.0, 6.0)
EDGE_MM = 0.4
EDGE_PX = 1.3
"""Roundness of the near rim, and its blur: what is seen closer to it than both together is half rim."""
RIM_PX = 1.6
"""Rows closer below the rim than this show the rim's rounding, not the wall."""
KNOWN_RIM_PX = 0.5
"""The same where the empty hole's own rim has been seen and is taken off."""
TO_COLOURS = np.array([[0.114, -1.0, 1.0], [0.587, 0.0, -1.0], [0.299, 1.0, 0.0]], dtype=np.float32)
"""Blue, green, red to luma (ITU-R BT.601), red less blue, blue less green."""
ABOVE_MM = 6.0
"""How far above the rim the wall is drawn out."""
LEAST_EDGE = 0.06
"""Share of the liquid's far edge below which a level is out of sight for good."""


@dataclass(frozen=True, slots=True)
class StripPlan:
    """Where to look in the picture for one hole of one placement; made once per pose.

    Attributes
    ----------
    depths_mm : ndarray (J,)
        Depths of the rows. [mm]
    psi : ndarray (K,)
        Directions from the far wall's. [rad]
    nodes : ndarray (3, J, K, 2)
        Pixels (x, y) for a film of 0, 3 and 6 mm (horizontal).
    seen : ndarray of bool (J, K)
        What the camera sees past the rim, for the film that `film_mm` tells.
    film_mm : ndarray (J,)
        Horizontal film that `seen` was worked out for. [mm]
    px_per_mm : float
        Pixels per millimetre of depth at the far wall.
    steep : float
        Angle of the view from the vertical. [rad]
    lean : ndarray (J,)
        Horizontal thickness per thickness of cake.
    ring_xy : ndarray (N, 2)
        The rim in the picture. [px]
    whole : ndarray of bool (J, S)
        Where all columns of a sector are in view.
    rim_px : float
        Rows from this far below the rim on are used. [px]
    lost_mm : float or None
        Depth below which the level cannot be seen from here; None if the floor comes first. [mm]
    above : ndarray (3, U, K, 2)
        As `nodes`, for rows above the rim at the same spacing, the wall drawn out straight up.
    """

    shape: HoleShape
    place: HolePlace
    depths_mm: Array
    psi: Array
    nodes: npt.NDArray[np.float32]
    seen: Bools
    film_mm: Array
    px_per_mm: float
    steep: float
    lean: Array
    up: Point3
    eye_mm: Array
    ring_xy: Array
    whole: Bools
    above: npt.NDArray[np.float32]
    rim_px: float = RIM_PX
    lost_mm: float | None = None

    def rim_rc(self, shift_px: Array) -> Pixels:
        """Return the rim as points (row, col) of the picture."""
        return _points_rc(self.ring_xy + shift_px)

    def line_rc(self, line_mm: float, shift_px: Array) -> Pixels:
        """Return the part in view of a line at a depth below the rim as points (row, col) of the picture."""
        row = float(
            np.clip(line_mm / (self.depths_mm[1] - self.depths_mm[0]), 0.0, self.depths_mm.size - 1.001)
        )
        j, part = int(row), row - int(row)
        film = self.film_mm[j : j + 2]
        two = pixels_at(replace(self, nodes=self.nodes[:, j : j + 2, ::4]), film, shift_px)
        xy = (1.0 - part) * two[0] + part * two[1]
        shown = self.seen[j, ::4]
        return _points_rc(xy[shown])

    def shown(self) -> Bools:
        """Where all columns of a sector are in view (J, S)."""
        return self.whole

    def lost_below_mm(self) -> float | None:
        """Depth below which the level cannot be seen from here; None if the floor comes first."""
        return self.lost_mm


def plan_strip(shape: HoleShape, place: HolePlace, camera: CameraPose, lens: Lens, up: Point3) -> StripPlan:
    """Work out the straightened grid of a hole for a camera and a place."""
    eye = camera.eye_mm()
    far = far_azimuth(place, eye)
    psi = (np.arange(COLUMNS) + 0.5) / COLUMNS * 2.0 * HALF_SPAN - HALF_SPAN
    azimuth = far + psi
    floor = min(shape.depths_mm[-1] - 2.0, DEEPEST_MM)
    coarse = np.linspace(0.0, floor, 60)
    bare = wall_points(shape, place, coarse, azimuth, np.zeros(60), up)
    shown = visible(shape, place, bare, eye, np.zeros(60), coarse, 1.0)
    deepest = float(coarse[np.flatnonzero(shown.any(axis=1))[-1]]) if shown.any() else 4.0
    deepest = min(max(4.0 * math.ceil((deepest + 1.0) / 4.0), 4.0), floor)
    step = max(STEP_MM, deepest / (ROWS_MOST - 1))
    depths = np.arange(0.0, deepest + 1e-9, step)
    nodes, above = [], []
    heights = step * np.arange(round(ABOVE_MM / step), 0, -1)
    for film in FILM_NODES_MM:
        points = wall_points(shape, place, depths, azimuth, np.full(depths.size, film), up)
        nodes.append(to_pixels(camera.to_camera(points), lens).astype(np.float32))
        risen = points[:1] + heights[:, None, None] * np.array([0.0, 0.0, 1.0])
        above.append(to_pixels(camera.to_camera(risen), lens).astype(np.float32))
    middle = nodes[0][:, COLUMNS // 2]
    px = float(np.hypot(*(middle[min(8, len(middle) - 1)] - middle[0])) / depths[min(8, len(middle) - 1)])
    plan = StripPlan(
        shape,
        place,
        depths,
        psi,
        np.stack(nodes),
        np.ones((depths.size, COLUMNS), dtype=bool),
        np.full(depths.size, -1.0),
        px,
        steepness(place, eye),
        shape.lean(depths),
        up,
        eye,
        _ring(shape, place, camera, lens),
        np.ones((depths.size, SECTORS), dtype=bool),
        np.stack(above),
    )
    return with_film(plan, np.zeros(depths.size), RIM_PX)


def _points_rc(xy: Array) -> Pixels:
    return tuple((y, x) for x, y in xy.tolist())


def _ring(shape: HoleShape, place: HolePlace, camera: CameraPose, lens: Lens) -> Array:
    around = np.arange(RING_POINTS) * 2.0 * math.pi / RING_POINTS
    radius = shape.radius_mm(0.0, around - place.yaw)
    x, y = place.rim_mm[0] + radius * np.cos(around), place.rim_mm[1] + radius * np.sin(around)
    points = np.stack((x, y, np.full(RING_POINTS, place.rim_mm[2])), axis=-1)
    return to_pixels(camera.to_camera(points), lens)


def with_film(plan: StripPlan, film_mm: Array, rim_px: float) -> StripPlan:
    """Return the plan with what is in view worked out for this film (J,), from `rim_px` downwards."""
    azimuth = far_azimuth(plan.place, plan.eye_mm) + plan.psi
    points = wall_points(plan.shape, plan.place, plan.depths_mm, azimuth, film_mm, plan.up)
    across = plan.px_per_mm / max(math.tan(plan.steep), 0.2)
    clearance = EDGE_MM + EDGE_PX / max(across, 0.1)
    seen = visible(plan.shape, plan.place, points, plan.eye_mm, film_mm, plan.depths_mm, clearance)
    seen &= (plan.depths_mm * plan.px_per_mm >= rim_px)[:, None]
    whole = np.asarray(seen.reshape(seen.shape[0], SECTORS, -1).all(axis=2), dtype=np.bool_)
    lost_mm = _lost_below(plan.depths_mm, edge_in_view(plan.psi, seen))
    return replace(plan, seen=seen, whole=whole, film_mm=film_mm, rim_px=rim_px, lost_mm=lost_mm)


def _lost_below(depths_mm: Array, share: Array) -> float | None:
    """Depth of the last row with enough of the liquid's edge in view, `share` (J,); None for the last row."""
    shown = np.flatnonzero(share >= LEAST_EDGE)
    if shown.size == 0:
        return 0.0
    last = int(shown[-1])
    return float(depths_mm[last]) if last < depths_mm.size - 1 else None


def pixels_at(plan: StripPlan, film_mm: Array, shift_px: Array) -> npt.NDArray[np.float32]:
    """Pixels (J, K, 2) of the grid for a horizontal film (J,) and a shift of the whole picture (2,)."""
    return _between(plan.nodes, film_mm, shift_px)


def pixels_under(
    plan: StripPlan, film_mm: float, first: int, end: int, shift_px: Array
) -> npt.NDArray[np.float32]:
    """Pixels (rows, K, 2) of rows `first` to `end`, negative above the rim, for one film on all."""
    parts = []
    above = plan.above.shape[1]
    if first < 0:
        parts.append(plan.above[:, above + first : above + min(end, 0)])
    if end > 0:
        parts.append(plan.nodes[:, max(first, 0) : end])
    nodes = parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)
    return _between(nodes, np.full(nodes.shape[1], film_mm), shift_px)


def _between(nodes: npt.NDArray[np.float32], film_mm: Array, shift_px: Array) -> npt.NDArray[np.float32]:
    """Interpolate (3, J, K, 2) over the three films, to a film of each row (J,)."""
    a, b, c = FILM_NODES_MM
    f = film_mm
    weights = np.stack(
        (
            (f - b) * (f - c) / ((a - b) * (a - c)),
            (f - a) * (f - c) / ((b - a) * (b - c)),
            (f - a) * (f - b) / ((c - a) * (c - b)),
        )
    )
    between = np.einsum("kj,kjcd->jcd", weights.astype(np.float32), nodes)
    between += shift_px.astype(np.float32)
    return np.asarray(between)


def straighten(image: Image, pixels: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Sample the picture on the grid: (J, K, 3), blue, green, red, in grey levels."""
    sampled = cv2.remap(image, pixels, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(sampled, dtype=np.float32)


def to_sectors(strip: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Average columns to sectors and colours to (luma, red-blue, blue-green).

    Returns
    -------
    ndarray (J, S, 3)
        Mean over each sector's columns. [grey levels]
    """
    rows = strip.shape[0]
    mean = cv2.resize(strip, (SECTORS, rows), interpolation=cv2.INTER_AREA)
    profiles = mean.reshape(-1, 3) @ TO_COLOURS
    return np.asarray(profiles.reshape(rows, SECTORS, 3), dtype=np.float32)
