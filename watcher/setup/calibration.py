"""From views of the lens board to a lens that can be trusted, or what is wrong and missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from watcher.records.layout import Lens
from watcher.setup.board_view import BoardView
from watcher.setup.coverage import Coverage, coverage, stance
from watcher.setup.lens_board import LensBoard
from watcher.setup.lens_fit import CornerSet, LensFit, fit_lens

WORST_FIT_PX = 1.0
"""Scatter that only a bent board, a moving board or a zooming camera leaves (common practice, no source)."""
WORST_FOCAL_SHARE = 0.005
OUTLIER = 3.0
"""Views that scatter this many times more than the middle one are left out."""


@dataclass(frozen=True, slots=True)
class LensFound:
    """A calibrated lens with what it rests on. `left_out`: names of views that did not fit."""

    lens: Lens
    fit: LensFit
    covered: Coverage
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LensRefused:
    """Why a set of views gives no lens, in a sentence; `missing` names the views to be taken."""

    why: str
    missing: tuple[str, ...]
    covered: Coverage


def calibrate(views: Sequence[BoardView], board: LensBoard) -> LensFound | LensRefused:
    """Measure the lens from views of the board.

    Parameters
    ----------
    views : sequence of BoardView
        All of one camera at one size.
    board : LensBoard
        At its true size (the print's scale reckoned in; a lens does not depend on it, distances do).

    Returns
    -------
    LensFound or LensRefused
    """
    covered = coverage(views, [stance(view, board) for view in views])
    if len({(view.width_px, view.height_px) for view in views}) > 1:
        return LensRefused(
            "the pictures are of different sizes; take all with one camera at one size", (), covered
        )
    if covered.missing:
        return LensRefused(f"still missing: {'; '.join(covered.missing)}", covered.missing, covered)
    kept, left_out, fit = _fit_without_outliers(list(views), board)
    covered = coverage(kept, [stance(view, board, fit.lens) for view in kept])
    why = _doubt(fit) or (f"still missing: {'; '.join(covered.missing)}" if covered.missing else "")
    if why:
        return LensRefused(why, covered.missing, covered)
    return LensFound(fit.lens, fit, covered, left_out)


def _fit_without_outliers(
    views: list[BoardView], board: LensBoard
) -> tuple[list[BoardView], tuple[str, ...], LensFit]:
    corners = board.corners_mm()
    sets = [CornerSet(corners[view.ids], view.corners_px) for view in views]
    width, height = views[0].width_px, views[0].height_px
    fit = fit_lens(sets, width, height)
    most = max(OUTLIER * float(np.median(fit.view_fit_px)), 0.3)
    good = [scatter <= most for scatter in fit.view_fit_px]
    if all(good):
        return views, (), fit
    kept = [view for view, fine in zip(views, good, strict=True) if fine]
    again = fit_lens([one for one, fine in zip(sets, good, strict=True) if fine], width, height)
    return kept, tuple(view.name for view, fine in zip(views, good, strict=True) if not fine), again


def _doubt(fit: LensFit) -> str:
    lens = fit.lens
    if fit.fit_px > WORST_FIT_PX:
        return (
            f"the board's corners scatter by {fit.fit_px:.1f} px about the best lens "
            f"({WORST_FIT_PX:g} at most); glue the board on something flat, hold it still, keep the focus"
        )
    share = fit.focal_sigma_px / lens.fx_px
    if share > WORST_FOCAL_SHARE:
        return (
            f"the focal length is known only to {100.0 * share:.1f} % "
            f"({100.0 * WORST_FOCAL_SHARE:g} at most); take more views, near and tilted"
        )
    off_x, off_y = lens.cx_px / lens.width_px - 0.5, lens.cy_px / lens.height_px - 0.5
    if max(abs(off_x), abs(off_y)) > 0.15:
        return "the lens's middle came out far from the picture's; take new views, tilted to all four sides"
    return ""
