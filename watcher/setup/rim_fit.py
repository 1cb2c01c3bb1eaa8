"""The rim of a pour hole from points of its edge: the real circle in perspective, no ellipse."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from watcher.records.layout import Lens, Point3
from watcher.setup.sight_lines import SightLines, sight_lines
from watcher.vision.pose import CameraPose, CardPose

Array = npt.NDArray[np.float64]

TAP_SIGMA_PX = 1.5
"""How surely a careful person taps an edge (common practice, no source)."""
LEAST_POINTS = 3
WORST_FIT_PX = 4.0
WORST_CENTRE_SIGMA_MM, WORST_HEIGHT_SIGMA_MM = 4.0, 60.0
"""Of a rim whose height is known, and of one whose height comes from its diameter: an error along the line of
sight leaves the rim where it is seen, and changes the scale by some hundredths."""
DIAMETER_MM = (8.0, 1000.0)
WORST_DIAMETER_SHARE = 0.08


@dataclass(frozen=True, slots=True)
class RimFit:
    """A rim as it lies on the bench.

    Attributes
    ----------
    centre_mm : Point3
        Centre in the bench frame. [mm]
    diameter_mm : float
    centre_sigma_mm, diameter_sigma_mm : float
        Standard deviations: of the centre along its worst direction; of the diameter (0 where it was given).
    fit_px : float
        Scatter of the points about the circle. [px]
    """

    centre_mm: Point3
    diameter_mm: float
    centre_sigma_mm: float
    diameter_sigma_mm: float
    fit_px: float


@dataclass(frozen=True, slots=True)
class NoRim:
    """Why the points give no rim: one sentence."""

    why: str


def fit_rim(
    points_px: Array,
    camera: CameraPose,
    lens: Lens,
    *,
    height_mm: float | None = None,
    diameter_mm: float | None = None,
    up: Point3 = (0.0, 0.0, 1.0),
    sigma_px: float = TAP_SIGMA_PX,
) -> RimFit | NoRim:
    """Fit a level circle to points of its edge in the picture.

    Parameters
    ----------
    points_px : ndarray, shape (N, 2)
        Points (x, y) on the edge, three or more. [px]
    camera : CameraPose
        Where the camera stands.
    lens : Lens
    height_mm : float, optional
        Height of the rim above the bench's origin along `up`, from the card beside it; then the diameter is
        found. One camera cannot tell both: a larger circle further away looks the same. [mm]
    diameter_mm : float, optional
        Diameter by the calliper. Alone it gives the height; beside a height it checks it. [mm]
    up : Point3
        Against gravity, in the bench frame.
    sigma_px : float
        How surely a point is placed. [px]

    Returns
    -------
    RimFit or NoRim
    """
    if len(points_px) < LEAST_POINTS:
        return NoRim(
            f"{len(points_px)} points were given; give at least {LEAST_POINTS}, spread round the rim"
        )
    if height_mm is None and diameter_mm is None:
        return NoRim("neither the rim's height nor its diameter is known; show the card or measure the rim")
    lines = sight_lines(points_px, camera, lens, up)
    level = 0.0 if height_mm is None else height_mm
    if not lines.reach(level):
        return NoRim("a point lies where the camera looks past the bench; tap the rim itself")
    start = _rough_circle(lines.on_plane(level))
    if start is None:
        return NoRim("the points lie on one line or on one spot; spread them round the rim")
    if height_mm is not None:
        return _checked(_with_height(lines, start, height_mm, sigma_px), diameter_mm)
    assert diameter_mm is not None
    return _with_diameter(lines, start, diameter_mm, sigma_px)


def from_tag(place_mm: Point3, card: CardPose) -> Point3:
    """Turn a place of the bench into the card's own axes: x right, y up the tag, z out of its face. [mm]."""
    x, y, z = card.rotation.T @ (np.array(place_mm) - card.centre_mm)
    return float(x), float(y), float(z)


def _rough_circle(points: Array) -> tuple[float, float, float] | None:
    """Fit x2 + y2 = 2 a x + 2 b y + c by linear least squares: centre and radius to begin from."""
    middle = points.mean(axis=0)
    d = points - middle
    spread = np.linalg.svd(d, compute_uv=False)
    if spread[1] < 0.02 * spread[0]:
        return None
    design = np.column_stack((2.0 * d, np.ones(len(d))))
    a, b, c = np.linalg.lstsq(design, (d**2).sum(axis=1), rcond=None)[0]
    square = c + a * a + b * b
    return (float(a + middle[0]), float(b + middle[1]), math.sqrt(square)) if square > 0.0 else None


def _with_height(
    lines: SightLines, start: tuple[float, float, float], height_mm: float, sigma_px: float
) -> RimFit | NoRim:
    def away(p: Array) -> Array:
        return lines.away_px(p[:2], float(p[2]), height_mm)

    return _solved(
        lines,
        away,
        np.array(start),
        sigma_px,
        lambda p: (float(p[0]), float(p[1]), height_mm, float(p[2])),
        WORST_CENTRE_SIGMA_MM,
        finds_radius=True,
    )


def _with_diameter(
    lines: SightLines, start: tuple[float, float, float], diameter_mm: float, sigma_px: float
) -> RimFit | NoRim:
    """Slide the circle seen at height nought along the sight lines until it has the given diameter."""
    radius = 0.5 * diameter_mm
    nearer = radius / start[2]
    eye = lines.eye_mm
    begin = np.array([*(eye[:2] + nearer * (np.array(start[:2]) - eye[:2])), eye[2] * (1.0 - nearer)])

    def away(p: Array) -> Array:
        return lines.away_px(p[:2], radius, float(p[2]))

    return _solved(
        lines,
        away,
        begin,
        sigma_px,
        lambda p: (float(p[0]), float(p[1]), float(p[2]), radius),
        WORST_HEIGHT_SIGMA_MM,
        finds_radius=False,
    )


def _solved(
    lines: SightLines,
    away: Callable[[Array], Array],
    start: Array,
    sigma_px: float,
    meaning: Callable[[Array], tuple[float, float, float, float]],
    worst_sigma_mm: float,
    *,
    finds_radius: bool,
) -> RimFit | NoRim:
    """Fit three unknowns; `meaning` turns them into x, y, height and radius."""
    found = least_squares(away, start, x_scale="jac", method="lm", max_nfev=200)
    left = np.asarray(found.fun, dtype=np.float64)
    scatter = float(np.sqrt((left**2).sum() / (left.size - 3))) if left.size > 3 else 0.0
    if scatter > max(WORST_FIT_PX, 3.0 * sigma_px):
        return NoRim(
            f"the points scatter by {scatter:.1f} px about the best circle; tap the rim's edge again"
        )
    jacobian = np.asarray(found.jac, dtype=np.float64)
    if np.linalg.matrix_rank(jacobian) < 3:
        return NoRim("the points do not tell a circle; spread them round the rim")
    covariance = np.linalg.inv(jacobian.T @ jacobian) * max(sigma_px, scatter) ** 2
    x, y, height, radius = meaning(np.asarray(found.x))
    if not DIAMETER_MM[0] <= 2.0 * radius <= DIAMETER_MM[1]:
        return NoRim(
            f"the circle through the points would be {2.0 * radius:.0f} mm wide; tap points all round one rim"
        )
    about_centre = covariance[:2, :2] if finds_radius else covariance
    centre_sigma = float(np.sqrt(np.linalg.eigvalsh(about_centre)[-1]))
    if centre_sigma > worst_sigma_mm:
        return NoRim(
            f"the points leave the rim's centre open by {centre_sigma:.0f} mm; add points on its other sides"
        )
    radius_sigma = float(np.sqrt(covariance[2, 2])) if finds_radius else 0.0
    centre = lines.to_bench(np.array([x, y]), height)
    return RimFit(centre, 2.0 * radius, centre_sigma, 2.0 * radius_sigma, scatter)


def _checked(fit: RimFit | NoRim, diameter_mm: float | None) -> RimFit | NoRim:
    """Hold a found diameter against the measured one."""
    if isinstance(fit, NoRim) or diameter_mm is None:
        return fit
    apart = abs(fit.diameter_mm - diameter_mm)
    if apart > max(WORST_DIAMETER_SHARE * diameter_mm, 3.0 * fit.diameter_sigma_mm):
        return NoRim(
            f"the rim looks {fit.diameter_mm:.1f} mm wide and was measured as {diameter_mm:g} mm; measure "
            "the inside at the very top, and check that the card lies level with the rim"
        )
    return fit
