"""The rim beside a card, found without a finger: the nearest circle of the right width."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from watcher.records.frames import Image
from watcher.records.layout import Lens, Point3
from watcher.setup.bench_sight import BenchSight
from watcher.setup.mould_place import MouldAsked
from watcher.setup.rim_fit import NoRim, fit_rim
from watcher.vision.finder import find_rims
from watcher.vision.pose import card_from_corners

POINTS = 16
WIDTH_SHARE, WIDTH_MM = 0.10, 3.0
"""A found circle may differ so much from the diameter measured; the edge is looked for anew afterwards."""
FAR_DIAMETERS = 2.5
"""A card lies no further from its hole's middle than so many diameters (common practice, no source)."""


def asked_with_found_rim(
    image: Image, sight: BenchSight, asked: MouldAsked, lens: Lens, up: Point3 = (0.0, 0.0, 1.0)
) -> MouldAsked | NoRim:
    """Give a mould that nobody tapped the points of the rim that the picture shows.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
        The mould, empty.
    sight : BenchSight
        Of the same picture.
    asked : MouldAsked
        With its card, its diameter, and no points.
    lens : Lens
    up : Point3

    Returns
    -------
    MouldAsked or NoRim
        With points; or the sentence that asks for taps.
    """
    seen = None if asked.card_id is None else sight.seen.get(asked.card_id)
    card = None if seen is None else card_from_corners(seen.corners, asked.card_mm, sight.camera, lens.fx_px)
    if card is None or asked.oval_mm is not None:
        return NoRim("tap three or more points of the rim, spread round it")
    height = float(card.centre_mm @ np.array(up)) + asked.rim_above_card_mm
    wanted = asked.bore[0][1]
    best: tuple[float, tuple[tuple[float, float], ...]] | None = None
    for rim in find_rims(image, most=40):
        points = rim.points(POINTS)
        fit = fit_rim(points, sight.camera, lens, height_mm=height, up=up)
        if isinstance(fit, NoRim) or abs(fit.diameter_mm - wanted) > max(WIDTH_SHARE * wanted, WIDTH_MM):
            continue
        away = math.dist(fit.centre_mm, (float(v) for v in card.centre_mm))
        if away < FAR_DIAMETERS * wanted + asked.card_mm and (best is None or away < best[0]):
            best = (away, tuple((float(x), float(y)) for x, y in points))
    if best is None:
        return NoRim(
            f"no rim {wanted:g} mm wide was found beside card {asked.card_id}; tap three or more points of it"
        )
    return replace(asked, taps_px=best[1])
