"""The rim of an oval pour hole from points of its edge, at a known height."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from watcher.records.layout import Lens, Point3
from watcher.setup.rim_fit import TAP_SIGMA_PX, WORST_CENTRE_SIGMA_MM, WORST_FIT_PX, NoRim
from watcher.setup.sight_lines import SightLines, sight_lines
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]

LEAST_POINTS = 5


@dataclass(frozen=True, slots=True)
class OvalFit:
    """An oval rim as it lies on the bench.

    Attributes
    ----------
    centre_mm : Point3
        Centre in the bench frame. [mm]
    axes_mm : tuple of float
        Full long and short axis. [mm]
    turn_deg : float
        From the bench's x to the long axis, counter-clockwise seen from above, -90 to 90.
    centre_sigma_mm, fit_px : float
        Spread of the centre along its worst direction; scatter of the points.
    """

    centre_mm: Point3
    axes_mm: tuple[float, float]
    turn_deg: float
    centre_sigma_mm: float
    fit_px: float


def fit_oval(
    points_px: Array,
    camera: CameraPose,
    lens: Lens,
    height_mm: float,
    *,
    up: Point3 = (0.0, 0.0, 1.0),
    sigma_px: float = TAP_SIGMA_PX,
) -> OvalFit | NoRim:
    """Fit a level ellipse to points (N, 2) of its edge in the picture, five or more.

    Parameters
    ----------
    points_px : ndarray, shape (N, 2)
    camera : CameraPose
    lens : Lens
    height_mm : float
        Height of the rim above the bench's origin along `up`. [mm]
    up : Point3
    sigma_px : float
        How surely a point is placed. [px]
    """
    if len(points_px) < LEAST_POINTS:
        return NoRim(
            f"{len(points_px)} points were given; an oval needs at least {LEAST_POINTS}, all round its rim"
        )
    lines = sight_lines(points_px, camera, lens, up)
    if not lines.reach(height_mm):
        return NoRim("a point lies where the camera looks past the bench; tap the rim itself")
    place = lines.on_plane(height_mm)
    middle = place.mean(axis=0)
    _, size, ways = np.linalg.svd(place - middle)
    if size[1] < 0.02 * size[0]:
        return NoRim("the points lie on one line or on one spot; spread them round the rim")
    half = size * math.sqrt(2.0 / len(place))
    start = np.array([*middle, *half, math.atan2(ways[0, 1], ways[0, 0])])

    def away(p: Array) -> Array:
        return _away(lines, p, height_mm)

    found = least_squares(away, start, x_scale="jac", max_nfev=300)
    return _told(lines, found.x, np.asarray(found.fun), np.asarray(found.jac), height_mm, sigma_px)


def _away(lines: SightLines, p: Array, height_mm: float) -> Array:
    """Distance of each point from the oval, to first order, in px."""
    axes = np.array([[math.cos(p[4]), math.sin(p[4])], [-math.sin(p[4]), math.cos(p[4])]])
    own = (lines.on_plane(height_mm) - p[:2]) @ axes.T
    slope = 2.0 * own / p[2:4] ** 2
    steep = np.maximum(np.hypot(slope[:, 0], slope[:, 1]), 1e-9)
    offset = ((own / p[2:4]) ** 2).sum(axis=1) - 1.0
    outward = slope / steep[:, None]
    edge = own - (offset / steep)[:, None] * outward
    return lines.offset_px(edge @ axes + p[:2], outward @ axes, offset / steep, height_mm)


def _told(
    lines: SightLines, p: Array, left: Array, jacobian: Array, height_mm: float, sigma_px: float
) -> OvalFit | NoRim:
    scatter = float(np.sqrt((left**2).sum() / (left.size - 5))) if left.size > 5 else 0.0
    if scatter > max(WORST_FIT_PX, 3.0 * sigma_px):
        return NoRim(f"the points scatter by {scatter:.1f} px about the best oval; tap the rim's edge again")
    covariance = np.linalg.pinv(jacobian.T @ jacobian, hermitian=True) * max(sigma_px, scatter) ** 2
    sigma = float(np.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1]))
    a, b = abs(float(p[2])), abs(float(p[3]))
    if sigma > WORST_CENTRE_SIGMA_MM or min(a, b) < 4.0 or max(a, b) > 500.0:
        return NoRim("the points do not tell an oval; spread more of them all round the rim")
    turn = math.degrees(float(p[4])) + (90.0 if b > a else 0.0)
    turn = (turn + 90.0) % 180.0 - 90.0
    centre = lines.to_bench(np.asarray(p[:2], dtype=np.float64), height_mm)
    return OvalFit(centre, (2.0 * max(a, b), 2.0 * min(a, b)), turn, sigma, scatter)
