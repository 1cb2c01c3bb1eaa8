"""A second plain baseline: the strongest step of brightness down the far wall, taken for the level.

Helped where it can be, as the other one is: rim and bore are given to it, and it may average over the far
side. It knows no film, no cake, no frames before, and a shadow's edge is as good to it as the slip's.
"""

from __future__ import annotations

import cv2
import numpy as np
from scipy.ndimage import gaussian_filter1d

from watcher.proof.edge_limit import FAR_SIDE_DEG
from watcher.proof.true_view import TrueHole
from watcher.records.frames import Image
from watcher.setup.reading_forecast import lost_below_mm

STEP_MM = 0.25
FIRST_MM = 1.5
"""So close under the rim its own edge is the strongest. [mm]"""
SMOOTH_MM = 0.75


def strongest_edge_mm(image: Image, hole: TrueHole) -> float | None:
    """Read the level of a pour hole by its strongest edge; None where too little wall is in view.

    Parameters
    ----------
    image : ndarray (rows, cols, 3)
        The picture, BGR.
    hole : TrueHole
    """
    deepest = lost_below_mm(hole.view())
    end_mm = min(hole.mould.profile.depth_mm - 1.0, 60.0 if deepest is None else deepest)
    depths = np.arange(0.5, end_mm, STEP_MM)
    if depths.size < 12:
        return None
    angles = np.radians(np.linspace(-FAR_SIDE_DEG, FAR_SIDE_DEG, 31))
    places = np.stack([hole.points_px(float(depth), 0.0, angles) for depth in depths]).astype(np.float32)
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY).astype(np.float32)
    strip = cv2.remap(grey, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    steps = np.abs(np.gradient(gaussian_filter1d(strip.mean(axis=1), SMOOTH_MM / STEP_MM)))
    steps[depths < FIRST_MM] = 0.0
    return float(depths[int(np.argmax(steps))])
