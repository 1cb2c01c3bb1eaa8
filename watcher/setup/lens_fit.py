"""Lens constants from corner sets: the least-squares fit itself, with the spread of what it found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import Lens

Array = npt.NDArray[np.float64]

SURE = 4.0
"""A third radial number, or pixels that are not square, are believed when they differ from nought by so many
standard deviations."""


@dataclass(frozen=True, slots=True)
class CornerSet:
    """Corners of one view: where they lie on the target (N, 3) in mm, where in the picture (N, 2) in px."""

    on_board_mm: Array
    in_picture_px: Array


@dataclass(frozen=True, slots=True)
class LensFit:
    """What a fit found.

    `fit_px` is the scatter of all corners about the fit (both axes together, as OpenCV counts it),
    `view_fit_px` that of every view; the sigmas are standard deviations of focal length and centre.
    """

    lens: Lens
    fit_px: float
    view_fit_px: tuple[float, ...]
    focal_sigma_px: float
    centre_sigma_px: float


def fit_lens(
    views: Sequence[CornerSet],
    width_px: int,
    height_px: int,
    *,
    square: bool | None = None,
    third: bool | None = None,
) -> LensFit:
    """Fit a pinhole with Brown's distortion to views of a flat target.

    Parameters
    ----------
    views : sequence of CornerSet
        Three or more.
    width_px, height_px : int
        Size of the pictures.
    square : bool, optional
        Whether pixels are square; None: unless the views say clearly that they are not.
    third : bool, optional
        Whether the third radial number k3 is fitted; None: where the views tell it clearly.

    Notes
    -----
    Zhang's method as OpenCV has it. A poorly told k3 makes wild pictures' corners: it stays nought then.
    """
    if square is None:
        free = _fit(views, width_px, height_px, square=False, third=False)
        aspect = free.lens.fx_px / free.lens.fy_px - 1.0
        square = abs(aspect) < max(SURE * free.focal_sigma_px / free.lens.fx_px, 0.002)
    if third is not None:
        return _fit(views, width_px, height_px, square=square, third=third)
    plain = _fit(views, width_px, height_px, square=square, third=False)
    bent, k3_sigma = _solve(views, width_px, height_px, square=square, third=True)
    return bent if abs(bent.lens.distortion[4]) > SURE * k3_sigma else plain


def _fit(views: Sequence[CornerSet], width_px: int, height_px: int, *, square: bool, third: bool) -> LensFit:
    return _solve(views, width_px, height_px, square=square, third=third)[0]


def _solve(
    views: Sequence[CornerSet], width_px: int, height_px: int, *, square: bool, third: bool
) -> tuple[LensFit, float]:
    """One fit; also the standard deviation of k3."""
    on_board = [view.on_board_mm.astype(np.float32) for view in views]
    in_picture = [view.in_picture_px.astype(np.float32) for view in views]
    flags = (0 if third else cv2.CALIB_FIX_K3) | (cv2.CALIB_FIX_ASPECT_RATIO if square else 0)
    start = np.array([[1.0, 0.0, 0.5 * width_px], [0.0, 1.0, 0.5 * height_px], [0.0, 0.0, 1.0]])
    rms, matrix, bent, _, _, spread, _, each = cv2.calibrateCameraExtended(
        on_board, in_picture, (width_px, height_px), start, np.zeros(5), flags=flags
    )
    k1, k2, p1, p2, k3 = (float(value) for value in np.ravel(bent)[:5])
    lens = Lens(
        width_px, height_px,
        float(matrix[0, 0]), float(matrix[1, 1]), float(matrix[0, 2]), float(matrix[1, 2]),
        (k1, k2, p1, p2, k3),
    )  # fmt: skip
    sigma = np.ravel(spread)
    focal_sigma = max(float(sigma[0]), float(sigma[1]))
    found = LensFit(
        lens,
        float(rms),
        tuple(float(one) for one in np.ravel(each)),
        focal_sigma,
        float(np.hypot(*sigma[2:4])),
    )
    return found, float(sigma[8])
