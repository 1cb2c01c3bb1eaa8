"""A hand with forearm and sleeve, blended out of round limbs."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
from shapes import Mesh
from skimage.measure import marching_cubes

FLAT = (
    # fingers and thumb: points along the limb (local mm, fingers towards +x, palm down) and radii
    (((-18, 0, 0), (38, -26, 2)), (23, 13)),
    (((-18, 0, 0), (42, -8, 4)), (23, 14)),
    (((-18, 0, 0), (40, 10, 4)), (23, 14)),
    (((-18, 0, 0), (34, 27, 2)), (22, 13)),
    (((38, -26, 2), (74, -38, -2), (96, -42, -12)), (9.5, 8.5, 7)),
    (((42, -8, 4), (84, -12, 2), (110, -14, -10)), (10, 9, 7.5)),
    (((40, 10, 4), (82, 13, 2), (108, 15, -10)), (10, 9, 7.5)),
    (((34, 27, 2), (66, 36, 0), (86, 41, -10)), (9, 8, 6.5)),
    (((0, -20, -4), (22, -52, -10), (48, -68, -14)), (14, 11, 9)),
    (((-20, 0, 0), (-70, 0, 4), (-260, 0, 26)), (24, 22, 34)),
)
SLEEVE = ((((-190, 0, 18), (-560, 0, 60)), (44, 56)),)


def limb_distance(p: np.ndarray, limbs, blend: float) -> np.ndarray:
    """Signed distance of points (n, 3) to smoothly joined tapering limbs."""
    total = None
    for points, radii in limbs:
        for (a, b), (ra, rb) in zip(pairwise(points), pairwise(radii), strict=True):
            a, b = np.asarray(a, float), np.asarray(b, float)
            t = np.clip((p - a) @ (b - a) / np.dot(b - a, b - a), 0, 1)
            d = np.linalg.norm(p - a - t[:, None] * (b - a), axis=1) - (ra + t * (rb - ra))
            if total is None:
                total = d
            else:
                h = np.clip(0.5 + 0.5 * (total - d) / blend, 0, 1)
                total = total * (1 - h) + d * h - blend * h * (1 - h)
    return total


@lru_cache(maxsize=4)
def limb_mesh(sleeve: bool) -> Mesh:
    """Mesh of the hand and forearm, or of the sleeve, in local axes."""
    limbs, blend = (SLEEVE, 1.0) if sleeve else (FLAT, 7.0)
    low, high = ((-640, -70, -60), (-130, 70, 130)) if sleeve else ((-310, -85, -45), (130, 60, 75))
    step = 5.0 if sleeve else 3.0
    axes = [np.arange(a, b, step) for a, b in zip(low, high, strict=True)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    field = limb_distance(points.reshape(-1, 3), limbs, blend).reshape(points.shape[:3])
    verts, faces, _, _ = marching_cubes(field, 0.0, spacing=(step,) * 3)
    return Mesh(verts + np.array(low), faces[:, ::-1].astype(int), np.zeros((len(verts), 2)))


def hand_turn(yaw_deg: float, pitch_deg: float) -> np.ndarray:
    """Turn of the hand: fingers towards yaw, tilted down by pitch."""
    y, p = np.radians(yaw_deg), np.radians(pitch_deg)
    rz = np.array([[np.cos(y), -np.sin(y), 0], [np.sin(y), np.cos(y), 0], [0, 0, 1]])
    ry = np.array([[np.cos(p), 0, np.sin(p)], [0, 1, 0], [-np.sin(p), 0, np.cos(p)]])
    return rz @ ry


def blocks(
    eye: np.ndarray, points: np.ndarray, place, turn: np.ndarray, reach_mm: float = 500.0
) -> np.ndarray:
    """Return true for each point whose line of sight to the eye passes through the hand or sleeve."""
    hidden = np.zeros(len(points), bool)
    for i, point in enumerate(points):
        ahead = eye - point
        far = np.linalg.norm(ahead)
        t = np.arange(0, min(reach_mm, far), 4.0) / far
        local = (point + t[:, None] * ahead - np.asarray(place)) @ turn
        hidden[i] = min(limb_distance(local, FLAT, 7.0).min(), limb_distance(local, SLEEVE, 1.0).min()) < 0
    return hidden
