"""Whether the bench sheet lies flat and was printed square, from how its tags look in one picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from watcher.records.layout import SheetTag
from watcher.setup.bundle import spread_of
from watcher.vision.pose import SHRINK_PRIOR_PX, CameraPose, sheet_corners, widen

Array = npt.NDArray[np.float64]

NOISE_PX = 0.08
BEND_PRIOR_MM, STRETCH_PRIOR = 20.0, 0.03
SURE = 4.0
WORST_BULGE_MM, WORST_STRETCH = 1.5, 0.006


@dataclass(frozen=True, slots=True)
class SheetCheck:
    """How a sheet lies.

    Attributes
    ----------
    bulge_mm, bulge_sigma_mm : float
        How far its tags rise or sink from the best plane at the worst corner. [mm]
    stretch, stretch_sigma : float
        Along over across, less one: 0 for a print that is true both ways.
    place_sigma_mm, turn_sigma_deg : float
        Spread of the camera's own place (along its worst direction) and of where it looks, as told by this
        sheet in this picture.
    fit_px : float
        Scatter left. [px]
    warnings : tuple of str
        Sentences on what is wrong; empty when nothing is.
    """

    bulge_mm: float
    bulge_sigma_mm: float
    stretch: float
    stretch_sigma: float
    place_sigma_mm: float
    turn_sigma_deg: float
    fit_px: float
    warnings: tuple[str, ...]


def check_sheet(
    seen: Mapping[int, Array], sheet: Sequence[SheetTag], camera: CameraPose, focal_px: float
) -> SheetCheck | None:
    """Hold the sheet's tags in one picture against a flat, square print.

    Parameters
    ----------
    seen : mapping of int to ndarray (4, 2)
        Straightened corners by tag.
    sheet : sequence of SheetTag
        One flat sheet with all tags at one height.
    camera : CameraPose
        To begin from.
    focal_px : float

    Returns
    -------
    SheetCheck or None
        None where fewer than three of the tags are seen: that tells nothing of bending.

    Notes
    -----
    Fitted beside the pose: a height a x2 + b x y + c y2 (a sheet lifted by paper's own curl), a stretch of y
    against x, and the shrink of blurred tags. A sheet printed larger or smaller as a whole looks just like a
    camera further away: only its ruler line tells.
    """
    tags = [tag for tag in sheet if tag.tag_id in seen]
    if len(tags) < 3:
        return None
    world = np.concatenate([sheet_corners(tag) for tag in tags])
    image = np.concatenate([seen[tag.tag_id] for tag in tags])
    wider = np.concatenate([widen(seen[tag.tag_id], 1.0 / focal_px) - seen[tag.tag_id] for tag in tags])
    half = float(np.abs(world[:, :2]).max())
    start = np.concatenate((np.zeros(3), camera.shift_mm, np.zeros(5)))

    def away(p: Array) -> Array:
        points = _bent(world, p, half) @ (_small_turn(p[:3]) @ camera.rotation).T + p[3:6]
        off = (points[:, :2] / points[:, 2:] - image - p[10] * wider).ravel() * focal_px
        priors = (*(p[6:9] / BEND_PRIOR_MM), p[9] / STRETCH_PRIOR, p[10] / SHRINK_PRIOR_PX)
        return np.concatenate((off, NOISE_PX * np.array(priors)))

    found = least_squares(away, start, x_scale="jac")
    solved = np.asarray(found.x, dtype=np.float64)
    fit_px = float(np.sqrt((found.fun[:-5] ** 2).sum() / max(image.size - 11, 1)))
    jacobian = np.asarray(found.jac, dtype=np.float64)
    covariance = spread_of(jacobian, max(fit_px, NOISE_PX))
    # the eyes take the sheet for flat and square: their pose is surer than one that leaves room for both
    of_pose = spread_of(jacobian[:, [*range(6), 10]], max(fit_px, NOISE_PX))
    return _judged(solved, covariance, of_pose, world, half, fit_px)


def _bent(world: Array, p: Array, half: float) -> Array:
    x, y = world[:, 0] / half, world[:, 1] / half
    height = p[6] * x * x + p[7] * x * y + p[8] * y * y
    return np.column_stack((world[:, 0], world[:, 1] * (1.0 + p[9]), world[:, 2] + height))


def _small_turn(vector: Array) -> Array:
    return np.asarray(cv2.Rodrigues(np.ascontiguousarray(vector))[0], dtype=np.float64)


def _judged(
    solved: Array, covariance: Array, of_pose: Array, world: Array, half: float, fit_px: float
) -> SheetCheck:
    x, y = world[:, 0] / half, world[:, 1] / half
    bends = np.column_stack((x * x, x * y, y * y))
    plane = np.column_stack((x, y, np.ones_like(x)))
    off_plane = bends - plane @ np.linalg.lstsq(plane, bends, rcond=None)[0]
    heights = off_plane @ solved[6:9]
    worst = int(np.argmax(np.abs(heights)))
    bulge = float(abs(heights[worst]))
    bulge_sigma = float(np.sqrt(off_plane[worst] @ covariance[6:9, 6:9] @ off_plane[worst]))
    stretch, stretch_sigma = float(solved[9]), float(np.sqrt(covariance[9, 9]))
    warnings = []
    if bulge > max(WORST_BULGE_MM, SURE * bulge_sigma):
        warnings.append(f"the bench sheet is not flat: it stands off by about {bulge:.1f} mm; tape it down")
    if abs(stretch) > max(WORST_STRETCH, SURE * stretch_sigma):
        warnings.append(
            f"the bench sheet was printed {100.0 * abs(stretch):.1f} % too "
            f"{'long' if stretch > 0 else 'short'} one way; print it at 100 % in both directions"
        )
    return SheetCheck(
        bulge, bulge_sigma, stretch, stretch_sigma,
        _place_sigma(solved[3:6], of_pose[:6, :6]),
        float(np.degrees(np.sqrt(np.linalg.eigvalsh(of_pose[:3, :3])[-1]))),
        fit_px, tuple(warnings),
    )  # fmt: skip


def _place_sigma(shift: Array, covariance: Array) -> float:
    """Spread of the camera's place -R^T t, from that of a small turn and of the shift t."""
    x, y, z = shift
    by_turn = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    slopes = np.hstack((by_turn, np.eye(3)))
    return float(np.sqrt(np.linalg.eigvalsh(slopes @ covariance @ slopes.T)[-1]))
