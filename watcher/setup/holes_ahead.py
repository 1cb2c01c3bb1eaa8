"""Every hole of a bench as the camera sees it now: how well it will be read, before the first pour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from watcher.records.layout import BenchLayout, Lens, PlacedMould, Point3
from watcher.setup.bench_sight import BenchSight
from watcher.setup.reading_advice import ReadingForecast, forecast, hole_view
from watcher.setup.tag_sightings import not_found, upside_down
from watcher.vision.pose import card_from_corners


@dataclass(frozen=True, slots=True)
class HoleAhead:
    """One mould: where its rim is now and how well it will be read, or a sentence why that is not known."""

    name: str
    rim_mm: Point3 | None
    reading: ReadingForecast | None
    warnings: tuple[str, ...]


def holes_ahead(
    sight: BenchSight, layout: BenchLayout, lens: Lens, deepest_mm: dict[str, float], usual_mm: float = 20.0
) -> tuple[HoleAhead, ...]:
    """Foretell the reading of every mould.

    Parameters
    ----------
    sight : BenchSight
        What one picture told.
    layout : BenchLayout
    lens : Lens
    deepest_mm : dict of str to float
        How far the slip will sink in each mould, where that is known. [mm]
    usual_mm : float
        How far it sinks elsewhere. [mm]
    """
    return tuple(
        _one(sight, layout, lens, mould, deepest_mm.get(mould.name, usual_mm)) for mould in layout.moulds
    )


def _one(
    sight: BenchSight, layout: BenchLayout, lens: Lens, mould: PlacedMould, deepest_mm: float
) -> HoleAhead:
    rim, warnings = _rim(sight, lens, mould)
    if rim is None:
        return HoleAhead(mould.name, None, None, warnings)
    eye = sight.camera.eye_mm()
    narrowest = min((hole.axes_mm[1] for hole in mould.profile.holes if hole.axes_mm), default=None)
    bore = mould.profile.bore if narrowest is None else _scaled(mould.profile.bore, narrowest)
    view = hole_view(bore, rim, (float(eye[0]), float(eye[1]), float(eye[2])), lens.fx_px, layout.up)
    return HoleAhead(mould.name, rim, forecast(view, deepest_mm), warnings)


def _scaled(bore: tuple[tuple[float, float], ...], rim_mm: float) -> tuple[tuple[float, float], ...]:
    """Narrow a bore in step, so that its rim has another width."""
    return tuple((depth, wide * rim_mm / bore[0][1]) for depth, wide in bore)


def _rim(sight: BenchSight, lens: Lens, mould: PlacedMould) -> tuple[Point3 | None, tuple[str, ...]]:
    if mould.card is None:
        return mould.place_mm, ()
    seen = sight.seen.get(mould.card.tag_id)
    pose = (
        None
        if seen is None
        else card_from_corners(seen.corners, mould.card.size_mm, sight.camera, lens.fx_px)
    )
    if pose is None:
        return None, (not_found(mould.card.tag_id, mould.name),)
    x, y, z = pose.centre_mm + pose.rotation @ np.array(mould.card.rim_centre_from_tag_mm)
    turned = upside_down(mould.card.rim_centre_from_tag_mm, mould.name)
    return (float(x), float(y), float(z)), () if turned is None else (turned,)
