"""A new mould: from its card and a few taps on its rim to where the rim lies from the card."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.mould import PourHole
from watcher.records.frames import Image
from watcher.records.layout import Card, Lens, Point3
from watcher.setup.bench_sight import BenchSight
from watcher.setup.more_holes import Taps, oval_hole, second_hole
from watcher.setup.oval_fit import OvalFit
from watcher.setup.reading_advice import ReadingForecast, forecast, hole_view
from watcher.setup.rim_edges import refine_rim
from watcher.setup.rim_fit import NoRim, RimFit, fit_rim, from_tag
from watcher.setup.tag_sightings import not_found, too_small, twins, upside_down
from watcher.vision.pose import CardPose, card_from_corners

Array = npt.NDArray[np.float64]

WORST_HEIGHT_SIGMA_MM = 20.0
"""A height told worse than this makes levels wrong by hundredths (common practice, no source)."""
LEVEL_CARD = 0.9
"""A card whose face points upwards at least so far lies on the mould's top."""


@dataclass(frozen=True, slots=True)
class MouldAsked:
    """What the caster says of a new mould.

    Attributes
    ----------
    name : str
    taps_px : tuple of (x, y)
        Points of the pour hole's rim in the picture.
    bore : tuple of (depth_mm, diameter_mm)
        As measured, from the rim down.
    card_id : int or None
        Number of its card; None: the mould has a place on the bench.
    card_mm : float
        Side of the card's black square. [mm]
    rim_above_card_mm : float
        How far the rim lies above the card's face; a card of paper on the mould's top lies 0.3 above. [mm]
    deepest_mm : float
        How far the slip will sink. [mm]
    rim_height_mm : float or None
        Height of the rim above the bench sheet, by a ruler; for a mould without a level card. [mm]
    oval_mm : tuple of float or None
        Long and short axis of an oval hole. [mm]
    second_taps_px, second_mm
        Points of a second round hole's rim, and its diameter. [px, mm]
    """

    name: str
    taps_px: tuple[tuple[float, float], ...]
    bore: tuple[tuple[float, float], ...]
    card_id: int | None
    card_mm: float
    rim_above_card_mm: float = -0.3
    deepest_mm: float = 20.0
    rim_height_mm: float | None = None
    oval_mm: tuple[float, float] | None = None
    second_taps_px: Taps = ()
    second_mm: float | None = None


@dataclass(frozen=True, slots=True)
class MouldPlaced:
    """Where a mould's rim was found.

    `edge_found`: by the picture's own edge, else by the taps alone; `holes`: empty where there is one round
    hole; `oval`: an oval rim as it lies.
    """

    rim: RimFit
    card: Card | None
    edge_found: bool
    reading: ReadingForecast
    warnings: tuple[str, ...]
    holes: tuple[PourHole, ...] = ()
    oval: OvalFit | None = None


def place_mould(
    image: Image, sight: BenchSight, asked: MouldAsked, lens: Lens, up: Point3 = (0.0, 0.0, 1.0)
) -> MouldPlaced | NoRim:
    """Find a mould's rim from taps, mend it by the edge in the picture, and tie it to the card.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
        The mould, empty.
    sight : BenchSight
        Of the same picture.
    asked : MouldAsked
    lens : Lens
    up : Point3

    Returns
    -------
    MouldPlaced or NoRim
    """
    card = None if asked.card_id is None else _card(sight, asked.card_id, asked, lens)
    if isinstance(card, NoRim):
        return card
    height = _rim_height(card, asked, up)
    if asked.oval_mm is not None:
        return _oval_mould(sight, asked, asked.oval_mm, card, height, lens, up)
    rim, edge_found = _round_rim(image, sight, asked, height, lens, up)
    if isinstance(rim, NoRim):
        return rim
    holes: tuple[PourHole, ...] = ()
    if asked.second_mm is not None:
        second = second_hole(asked.second_taps_px, asked.second_mm, rim, sight.camera, lens, card, up)
        if isinstance(second, NoRim):
            return second
        deep = asked.bore[-1][0] or asked.deepest_mm
        holes = (PourHole(), replace(second, bore=((0.0, asked.second_mm), (deep, asked.second_mm))))
    return _placed(sight, asked, rim, card, lens, up, edge_found=edge_found, holes=holes)


def _round_rim(
    image: Image, sight: BenchSight, asked: MouldAsked, height: float | None, lens: Lens, up: Point3
) -> tuple[RimFit | NoRim, bool]:
    """Fit the taps and mend them by the edge; also whether the edge was found."""
    diameter = asked.bore[0][1]
    tapped = fit_rim(
        np.array(asked.taps_px).reshape(-1, 2),
        sight.camera,
        lens,
        height_mm=height,
        diameter_mm=diameter,
        up=up,
    )
    if isinstance(tapped, NoRim):
        return tapped, False
    mended = refine_rim(image, tapped, sight.camera, lens, height_mm=height, up=up)
    # an edge further off than the taps can be wrong is another edge
    far = isinstance(mended, NoRim) or _apart(tapped, mended) > 4.0 * tapped.centre_sigma_mm + 1.0
    rim = tapped if isinstance(mended, NoRim) or far else mended
    if height is None and rim.centre_sigma_mm > WORST_HEIGHT_SIGMA_MM:
        return NoRim(
            f"the rim's diameter tells its height only to {rim.centre_sigma_mm:.0f} mm; measure the "
            "rim's height above the bench as well, or give the mould a card"
        ), False
    return rim, not far


def _oval_mould(
    sight: BenchSight,
    asked: MouldAsked,
    axes_mm: tuple[float, float],
    card: CardPose | None,
    height: float | None,
    lens: Lens,
    up: Point3,
) -> MouldPlaced | NoRim:
    found = oval_hole(asked.taps_px, axes_mm, sight.camera, lens, height, card, up)
    if isinstance(found, NoRim):
        return found
    fit = found.fit
    # read as hard as a round hole of its short axis would be
    rim = RimFit(fit.centre_mm, fit.axes_mm[1], fit.centre_sigma_mm, 0.0, fit.fit_px)
    placed = _placed(sight, asked, rim, card, lens, up, edge_found=False, holes=(found.hole,))
    return replace(placed, warnings=(*placed.warnings, *found.warnings), oval=fit)


def _placed(
    sight: BenchSight,
    asked: MouldAsked,
    rim: RimFit,
    card: CardPose | None,
    lens: Lens,
    up: Point3,
    *,
    edge_found: bool,
    holes: tuple[PourHole, ...],
) -> MouldPlaced:
    """Tie a rim to its card and say how well it will be read."""
    tied = None if card is None else from_tag(rim.centre_mm, card)
    doubts = () if tied is None else _doubts(sight, asked, tied)
    eye = sight.camera.eye_mm()
    view = hole_view(asked.bore, rim.centre_mm, (float(eye[0]), float(eye[1]), float(eye[2])), lens.fx_px, up)
    kept = None if tied is None or asked.card_id is None else Card(asked.card_id, asked.card_mm, tied)
    return MouldPlaced(rim, kept, edge_found, forecast(view, asked.deepest_mm), doubts, holes)


def _card(sight: BenchSight, card_id: int, asked: MouldAsked, lens: Lens) -> CardPose | NoRim:
    doubled = twins(tag for tag in sight.found if tag.tag_id == card_id)
    if doubled:
        return NoRim(doubled[0])
    seen = sight.seen.get(card_id)
    if seen is None:
        return NoRim(not_found(card_id, asked.name))
    pose = card_from_corners(seen.corners, asked.card_mm, sight.camera, lens.fx_px)
    return pose if pose is not None else NoRim(not_found(card_id, asked.name))


def _rim_height(card: CardPose | None, asked: MouldAsked, up: Point3) -> float | None:
    """Height of the rim from a card that lies level on the mould; None: it must come from the diameter."""
    if card is None or float(card.rotation[:, 2] @ np.array(up)) < LEVEL_CARD:
        return asked.rim_height_mm
    return float(card.centre_mm @ np.array(up)) + asked.rim_above_card_mm


def _doubts(sight: BenchSight, asked: MouldAsked, tied: Point3) -> tuple[str, ...]:
    turned = upside_down(tied, asked.name)
    small = too_small(tag for tag in sight.found if tag.tag_id == asked.card_id)
    return (*small, *(() if turned is None else (turned,)))


def _apart(one: RimFit, other: RimFit) -> float:
    return float(np.linalg.norm(np.subtract(one.centre_mm, other.centre_mm)))
