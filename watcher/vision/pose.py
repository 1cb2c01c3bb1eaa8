"""Where the camera stands (from the bench sheet) and where a card lies (from its corners)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import SheetTag

Array = npt.NDArray[np.float64]

WORST_FIT_PX = 0.8
"""Sheet corners that fit worse than this are not one rigid sheet: something covers or bends it."""
SHRINK_STEP_PX = 0.3
SHRINK_PRIOR_PX = 0.25
SNAP_DEG = 14.0
"""A card within this of flat or upright is taken to be exactly so: its seen tilt is weak."""


@dataclass(frozen=True, slots=True)
class CameraPose:
    """Bench to camera: x_camera = rotation @ x_bench + shift_mm.

    `shrink_px` is how far the tags' sides are seen inside their true place; `fit_px` the scatter left.
    """

    rotation: Array
    shift_mm: Array
    shrink_px: float
    fit_px: float

    def to_camera(self, points_mm: Array) -> Array:
        """Bench points (..., 3) in the camera's frame, in mm."""
        return np.asarray(points_mm @ self.rotation.T + self.shift_mm)

    def eye_mm(self) -> Array:
        """Where the camera is in the bench frame (3,), in mm."""
        return np.asarray(-self.rotation.T @ self.shift_mm)


@dataclass(frozen=True, slots=True)
class CardPose:
    """A card in the bench frame: the rotation's columns are the tag's x, y and z (out of its face)."""

    rotation: Array
    centre_mm: Array
    fit_px: float


def square(size_mm: float) -> Array:
    """Corners of a tag in its own axes (4, 3): top left, top right, bottom right, bottom left; mm."""
    h = 0.5 * size_mm
    return np.array([[-h, h, 0.0], [h, h, 0.0], [h, -h, 0.0], [-h, -h, 0.0]])


def turn(x_deg: float, y_deg: float, z_deg: float) -> Array:
    """Return turns about x, then y, then z (fixed axes) as one matrix."""
    a, b, c = (math.radians(v) for v in (x_deg, y_deg, z_deg))
    rx = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    ry = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
    rz = np.array([[math.cos(c), -math.sin(c), 0], [math.sin(c), math.cos(c), 0], [0, 0, 1]])
    return np.asarray(rz @ ry @ rx)


def sheet_corners(tag: SheetTag) -> Array:
    """Corners (4, 3) of a sheet tag in the bench frame, in mm."""
    turned = turn(*tag.rotation_deg) if tag.rotation_deg is not None else turn(0.0, 0.0, tag.yaw_deg)
    return np.asarray(square(tag.size_mm) @ turned.T + np.array(tag.centre_mm))


def widen(corners: Array, by: float) -> Array:
    """Push the four sides of a quadrilateral (4, 2) outwards by `by` (same unit as the corners)."""
    ahead = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(ahead[:, 0], ahead[:, 1])
    along = ahead / length[:, None]
    back = np.roll(along, 1, axis=0)
    sine = np.abs(back[:, 0] * along[:, 1] - back[:, 1] * along[:, 0])
    return corners + by * (back - along) / sine[:, None]


def camera_from_sheet(
    seen: Mapping[int, Array], sheet: tuple[SheetTag, ...], focal_px: float, start: CameraPose | None = None
) -> CameraPose | None:
    """Find the camera from straightened sheet corners, by tag id.

    One number more than the pose is fitted where two or more tags are seen: how far every side appears
    inside its true place (blur acts on light, the picture is gamma-coded). It has a weak prior at nought.

    Parameters
    ----------
    seen : mapping of int to ndarray (4, 2)
        Corners on the straightened plane one unit before the camera.
    focal_px : float
        What one unit is worth, for figures in pixels.
    start : CameraPose, optional
        The last pose, to begin from.

    Returns
    -------
    CameraPose or None
        None where no tag is seen or the corners do not fit one sheet.
    """
    tags = [t for t in sheet if t.tag_id in seen]
    if not tags:
        return None
    world = np.concatenate([sheet_corners(t) for t in tags])
    first = _solve(world, np.concatenate([seen[t.tag_id] for t in tags]), start)
    if first is None:
        return None
    shrink = 0.0
    if len(tags) > 1:
        costs = []
        for step in (-SHRINK_STEP_PX, 0.0, SHRINK_STEP_PX):
            wide = np.concatenate([widen(seen[t.tag_id], step / focal_px) for t in tags])
            trial = _solve(world, wide, first)
            costs.append(math.inf if trial is None else (trial.fit_px * focal_px) ** 2 * world.shape[0] * 2)
        noise2 = max(min(costs) / (world.shape[0] * 2), 0.03**2)
        prior = noise2 / SHRINK_PRIOR_PX**2
        curve = 0.5 * (costs[0] + costs[2] - 2.0 * costs[1]) / SHRINK_STEP_PX**2
        slope = 0.5 * (costs[2] - costs[0]) / SHRINK_STEP_PX
        if math.isfinite(curve) and curve > 0.0:
            shrink = float(np.clip(-0.5 * slope / (curve + prior), -0.8, 0.8))
    wide = np.concatenate([widen(seen[t.tag_id], shrink / focal_px) for t in tags])
    final = _solve(world, wide, first)
    if final is None or final.fit_px * focal_px > WORST_FIT_PX:
        return None
    return CameraPose(final.rotation, final.shift_mm, shrink, final.fit_px * focal_px)


def _solve(world: Array, plane: Array, start: CameraPose | None) -> CameraPose | None:
    """Pinhole pose by least squares; `fit_px` here still in units of the plane."""
    eye, none = np.eye(3), np.zeros(5)
    image = np.ascontiguousarray(plane).reshape(-1, 1, 2)
    if start is None:
        flat = float(np.ptp(world[:, 2])) < 1e-9
        method = cv2.SOLVEPNP_IPPE if flat else cv2.SOLVEPNP_SQPNP
        ok, rvec, tvec = cv2.solvePnP(world, image, eye, none, flags=method)
        if not ok:
            return None
    else:
        rvec, tvec = cv2.Rodrigues(start.rotation)[0], start.shift_mm.reshape(3, 1).copy()
    rvec, tvec = cv2.solvePnPRefineLM(world, image, eye, none, rvec, tvec)
    rotation = np.asarray(cv2.Rodrigues(rvec)[0])
    inside = world @ rotation.T + tvec.ravel()
    if inside[:, 2].min() <= 0.0:
        return None
    away = inside[:, :2] / inside[:, 2:] - plane
    return CameraPose(rotation, tvec.ravel(), 0.0, float(np.sqrt((away**2).mean())))


def card_from_corners(seen: Array, size_mm: float, camera: CameraPose, focal_px: float) -> CardPose | None:
    """Place a card (4 straightened corners) in the bench frame, flat or upright where it nearly is.

    A small tag tells its distance and place well, its tilt badly; a card on a mould's top is level and a card
    on its side is upright, so those two are imposed and four unknowns stay.
    """
    corners = widen(seen, camera.shrink_px / focal_px)
    image = np.ascontiguousarray(corners).reshape(-1, 1, 2)
    count, rvecs, tvecs, _ = cv2.solvePnPGeneric(
        square(size_mm), image, np.eye(3), np.zeros(5), flags=cv2.SOLVEPNP_IPPE_SQUARE
    )
    best: CardPose | None = None
    best_cost = math.inf
    for k in range(count):
        loose = camera.rotation.T @ np.asarray(cv2.Rodrigues(rvecs[k])[0])
        centre = camera.rotation.T @ (tvecs[k].ravel() - camera.shift_mm)
        for snapped, penalty in _snaps(loose):
            card = _settle(corners, size_mm, camera, snapped, centre, free=penalty > 0.0)
            cost = card.fit_px * focal_px + penalty
            if cost < best_cost:
                best_cost = cost
                best = CardPose(card.rotation, card.centre_mm, card.fit_px * focal_px)
    return best


def _snaps(rotation: Array) -> list[tuple[Array, float]]:
    """Return the exact postures near a seen one, with what each costs; as seen when none is near."""
    face = rotation[:, 2]
    tilt = math.degrees(math.acos(float(np.clip(face[2], -1.0, 1.0))))
    if tilt < 2.0 * SNAP_DEG:
        yaw = math.atan2(rotation[1, 0], rotation[0, 0])
        return [(turn(0.0, 0.0, math.degrees(yaw)), 0.0 if tilt < SNAP_DEG else 0.3)]
    if abs(tilt - 90.0) < SNAP_DEG and rotation[2, 1] > math.cos(math.radians(SNAP_DEG)):
        yaw = math.atan2(face[0], -face[1])
        return [(turn(90.0, 0.0, math.degrees(yaw)), 0.1)]
    return [(rotation, 0.5)]


def _settle(
    corners: Array, size_mm: float, camera: CameraPose, rotation: Array, centre: Array, free: bool
) -> CardPose:
    """Gauss-Newton over the centre and the turn about the bench's z (about all axes where `free`)."""
    model = square(size_mm)
    turns = np.eye(3)[:, 2:] if not free else np.eye(3)
    away = np.zeros(8)
    for _ in range(6):
        arms = model @ rotation.T
        points = camera.to_camera(arms + centre)
        away = (points[:, :2] / points[:, 2:] - corners).ravel()
        depth = points[:, 2]
        to_plane = np.zeros((4, 2, 3))
        to_plane[:, 0, 0] = to_plane[:, 1, 1] = 1.0 / depth
        to_plane[:, 0, 2] = -points[:, 0] / depth**2
        to_plane[:, 1, 2] = -points[:, 1] / depth**2
        by_centre = to_plane @ camera.rotation
        by_turn = np.stack([by_centre @ np.cross(axis, arms)[..., None] for axis in turns.T], axis=-1)[
            :, :, 0
        ]
        jacobian = np.concatenate((by_centre, by_turn.reshape(4, 2, -1)), axis=2).reshape(8, -1)
        step = np.linalg.lstsq(jacobian, -away, rcond=None)[0]
        centre = centre + step[:3]
        rotation = np.asarray(cv2.Rodrigues(turns @ step[3:])[0]) @ rotation
    return CardPose(rotation, centre, float(np.sqrt((away**2).mean())))
