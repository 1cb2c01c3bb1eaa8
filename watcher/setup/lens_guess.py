"""A lens guessed from its field of view, and what a lens that is not quite right costs in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from models.doors import number
from watcher.records.layout import Lens
from watcher.setup.bench_sheet import bench_sheet
from watcher.vision.lens import to_pixels, to_rays
from watcher.vision.pose import CameraPose, camera_from_sheet, card_from_corners, sheet_corners, square

Array = npt.NDArray[np.float64]

GIVEN_SIGMA_DEG, USUAL_SIGMA_DEG = 3.0, 7.0
"""Spread of a view angle from a camera's box, and of webcams at large (common practice, no source)."""
USUAL_BEND = 0.10
"""Size of the first radial number of webcams (common practice, no source)."""
EYE_MM = (25.0, -480.0, 640.0)
MOULD_HEIGHT_MM, CARD_MM, RIM_FROM_TAG_MM = 120.0, 30.0, (0.0, 45.0, 0.0)
RADIUS_MM, DEPTHS_MM = 25.0, (2.0, 20.0)
PLACES_MM = ((-200.0, 150.0), (0.0, 200.0), (200.0, 150.0), (-230.0, -60.0), (230.0, -60.0))


@dataclass(frozen=True, slots=True)
class LensCost:
    """What a wrong lens does on an ordinary bench: largest errors over five moulds, in mm.

    `level_mm`: of a level, the rim taken from the card; `drop_mm`: of a fall of 18 mm, which the wall is
    worked out from.
    """

    level_mm: float
    drop_mm: float


def guessed_lens(width_px: int, height_px: int, view_deg: float, *, diagonal: bool = False) -> Lens:
    """Return a pinhole with the given field of view.

    Parameters
    ----------
    width_px, height_px : int
        Size of the picture.
    view_deg : float
        Field of view across the picture, or from corner to corner where `diagonal`.

    Raises
    ------
    BadValue
        A field of view that no webcam has.
    """
    number(
        "the field of view",
        view_deg,
        wanted="degrees as on the camera's box, 25 to 130",
        least=25.0,
        most=130.0,
    )
    across = math.hypot(width_px, height_px) if diagonal else float(width_px)
    focal = 0.5 * across / math.tan(math.radians(0.5 * view_deg))
    return Lens(width_px, height_px, focal, focal, 0.5 * (width_px - 1), 0.5 * (height_px - 1))


def guess_cost(lens: Lens, *, from_box: bool) -> LensCost:
    """Tell what believing a guessed lens costs, when the true one differs by as much as such guesses do.

    Parameters
    ----------
    lens : Lens
        The guess.
    from_box : bool
        Whether its field of view was read on the camera's box; else it is webcams' usual one.
    """
    sigma = math.radians(GIVEN_SIGMA_DEG if from_box else USUAL_SIGMA_DEG)
    half = math.atan(0.5 * lens.width_px / lens.fx_px)
    trials = []
    for sign in (-1.0, 1.0):
        focal = 0.5 * lens.width_px / math.tan(half + 0.5 * sign * sigma)
        trials.append(replace(lens, fx_px=focal, fy_px=focal))
        trials.append(replace(lens, distortion=(sign * USUAL_BEND, 0.0, 0.0, 0.0, 0.0)))
    costs = [cost_of_lens(true, lens) for true in trials]
    return LensCost(
        math.hypot(max(costs[0].level_mm, costs[2].level_mm), max(costs[1].level_mm, costs[3].level_mm)),
        math.hypot(max(costs[0].drop_mm, costs[2].drop_mm), max(costs[1].drop_mm, costs[3].drop_mm)),
    )


def guess_warning(cost: LensCost) -> str:
    """Say what a guessed lens costs."""
    return (
        f"The lens is a guess: levels can be wrong by about {cost.level_mm:.1f} mm and a fall of 18 mm by "
        f"{cost.drop_mm:.1f} mm. Measure the lens with the printed board to be rid of this."
    )


def cost_of_lens(true: Lens, believed: Lens) -> LensCost:
    """Tell how wrong levels come out when pictures of one lens are read with another.

    The bench sheet, five moulds' cards and the far edge of the slip in each are projected with the true lens
    and read back, as the eyes do it, with the believed one.
    """
    camera = _looking_at_sheet()
    sheet = bench_sheet()
    seen = {tag.tag_id: _read(sheet_corners(tag), camera, true, believed) for tag in sheet}
    thought = camera_from_sheet(seen, sheet, believed.fx_px) or _forced(seen, believed)
    levels, drops = [], []
    for place in PLACES_MM:
        errors = _level_errors(np.array([*place, MOULD_HEIGHT_MM]), camera, true, thought, believed)
        levels.append(abs(errors[0]))
        drops.append(abs(errors[1] - errors[0]))
    return LensCost(max(levels), max(drops))


def _level_errors(
    card_mm: Array, camera: CameraPose, true: Lens, thought: CameraPose, believed: Lens
) -> tuple[float, ...]:
    corners = square(CARD_MM) + card_mm
    card = card_from_corners(_read(corners, camera, true, believed), CARD_MM, thought, believed.fx_px)
    assert card is not None  # a square that is projected whole
    rim_true = card_mm + RIM_FROM_TAG_MM
    rim = card.centre_mm + card.rotation @ np.array(RIM_FROM_TAG_MM)
    return tuple(
        _depth_read(_far_edge(rim_true, depth, camera, true), rim, thought, believed) - depth
        for depth in DEPTHS_MM
    )


def _far_edge(rim_mm: Array, depth_mm: float, camera: CameraPose, lens: Lens) -> Array:
    """Pixel of the slip's edge at its far side from the camera."""
    out = rim_mm[:2] - camera.eye_mm()[:2]
    out = RADIUS_MM * out / np.hypot(*out)
    return to_pixels(camera.to_camera(rim_mm + np.array([out[0], out[1], -depth_mm])), lens)


def _depth_read(pixel: Array, rim_mm: Array, camera: CameraPose, lens: Lens) -> float:
    """Depth at which the believed hole's far edge comes nearest to the pixel."""

    def away(depth: Array) -> Array:
        return _far_edge(rim_mm, float(depth[0]), camera, lens) - pixel

    found = least_squares(away, [8.0])
    return float(found.x[0])


def _read(points_mm: Array, camera: CameraPose, true: Lens, believed: Lens) -> Array:
    return to_rays(to_pixels(camera.to_camera(points_mm), true), believed)


def _looking_at_sheet() -> CameraPose:
    ahead = -np.array(EYE_MM)
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.stack((right, np.cross(ahead, right), ahead))
    return CameraPose(rotation, -rotation @ np.array(EYE_MM), 0.0, 0.0)


def _forced(seen: dict[int, Array], lens: Lens) -> CameraPose:
    """Find the pose that fits best, however badly: a lens so wrong that the eyes would refuse the sheet."""
    world = np.concatenate([sheet_corners(tag) for tag in bench_sheet()])
    image = np.concatenate([seen[tag.tag_id] for tag in bench_sheet()])
    _, rvec, tvec = cv2.solvePnP(world, image, np.eye(3), np.zeros(5), flags=cv2.SOLVEPNP_IPPE)
    rvec, tvec = cv2.solvePnPRefineLM(world, image, np.eye(3), np.zeros(5), rvec, tvec)
    return CameraPose(np.asarray(cv2.Rodrigues(rvec)[0], dtype=np.float64), np.ravel(tvec), 0.0, 0.0)
