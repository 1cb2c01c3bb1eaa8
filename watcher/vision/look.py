"""One look at one frame: the eyes' only door."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from watcher.records.frames import Frame
from watcher.records.layout import BenchLayout, Lens, PlacedMould
from watcher.records.readings import Contents, Expected, HoleSighting, Missed, Sighting
from watcher.vision.gate import plan_ring
from watcher.vision.holes import HolePlace, shapes
from watcher.vision.lens import usable_lens
from watcher.vision.lighting import unusable
from watcher.vision.memory import Eyes, HoleLooks, HolePlans, MouldMemory
from watcher.vision.mould_look import look_into
from watcher.vision.plans import plans_with
from watcher.vision.pose import CameraPose, card_from_corners
from watcher.vision.scene import Scene, find_scene
from watcher.vision.strip import StripPlan, plan_strip

SAME_PLACE_MM = 1.2
SAME_TURN_DEG = 2.0


def look_at(
    frame: Frame, layout: BenchLayout, eyes: Eyes | None, expected: Mapping[str, Expected]
) -> tuple[Sighting, Eyes]:
    """Turn one picture into readings.

    Parameters
    ----------
    frame : Frame
        The picture.
    layout : BenchLayout
        What stands on the bench.
    eyes : Eyes or None
        The memory that the last look returned; None for the first.
    expected : mapping of str to Expected
        By mould, what the bench believes; may be empty.

    Returns
    -------
    sighting : Sighting
        One entry for each mould of the layout, in its order.
    eyes : Eyes
        The memory for the next look.
    """
    eyes = Eyes() if eyes is None else eyes
    rows, cols = frame.image.shape[:2]
    lens = usable_lens(layout.lens, rows, cols)
    why = unusable(frame.image)
    if why is not None:
        return _nothing(
            frame,
            layout,
            eyes,
            why,
            "the picture is too dark" if why is Missed.DARK else "the picture is blown out",
        )
    scene = find_scene(frame.image, layout, lens, eyes)
    if scene.camera is None:
        return _nothing(
            frame,
            layout,
            replace(eyes, looks=eyes.looks + 1),
            Missed.CARD_LOST,
            "the bench sheet is not in view",
        )
    if scene.lost:
        eyes = replace(eyes, looks=eyes.looks + 1, searched_look=eyes.looks)
        return _nothing(
            frame, layout, eyes, Missed.MOVED, "the camera was moved and the bench sheet is not found again"
        )
    holes: list[HoleSighting] = []
    moulds: dict[str, MouldMemory] = {}
    for mould in layout.moulds:
        memory = _placed(
            mould,
            eyes.moulds.get(mould.name, MouldMemory()),
            scene,
            scene.camera,
            lens,
            layout,
            frame.taken_s,
        )
        if not memory.plans:
            holes.append(HoleSighting(mould.name, Missed.CARD_LOST, Contents.UNKNOWN))
            moulds[mould.name] = memory
            continue
        there = mould.card is None or mould.card.tag_id in scene.there
        hole, memory = look_into(
            frame.image, mould.name, memory, expected.get(mould.name), there, scene.shift_px, frame.taken_s
        )
        holes.append(hole)
        moulds[mould.name] = memory
    seen = Sighting(
        frame.camera, frame.taken_s, frame.taken_at, tuple(holes), scene.camera_moved, "", frame.name
    )
    after = Eyes(
        scene.camera,
        MappingProxyType(dict(scene.tags)),
        scene.check,
        MappingProxyType(moulds),
        eyes.looks + 1,
        eyes.looks if scene.searched else eyes.searched_look,
        frame.taken_s,
        eyes.first_s if eyes.first_s is not None else frame.taken_s,
    )
    return seen, after


def _nothing(
    frame: Frame, layout: BenchLayout, eyes: Eyes, why: Missed, sentence: str
) -> tuple[Sighting, Eyes]:
    holes = tuple(
        HoleSighting(m.name, why, eyes.moulds[m.name].contents if m.name in eyes.moulds else Contents.UNKNOWN)
        for m in layout.moulds
    )
    return Sighting(frame.camera, frame.taken_s, frame.taken_at, holes, False, sentence, frame.name), eyes


def _placed(
    mould: PlacedMould,
    memory: MouldMemory,
    scene: Scene,
    camera: CameraPose,
    lens: Lens,
    layout: BenchLayout,
    now_s: float,
) -> MouldMemory:
    """Place a mould anew where its card or the camera moved; else leave everything as it was frozen."""
    tag = mould.card.tag_id if mould.card is not None else None
    moved = tag in scene.moved
    if memory.plans and not moved and not scene.refined and not scene.camera_moved:
        return memory
    places = memory.places
    if mould.card is None:
        if mould.place_mm is None:
            return memory
        places = _hole_places(mould, np.array(mould.place_mm), 0.0)
    elif tag is not None and tag in scene.tags and (tag in scene.there or not memory.places):
        card = card_from_corners(scene.tags[tag].corners, mould.card.size_mm, camera, lens.fx_px)
        if card is None:
            return memory
        tilt = math.degrees(math.acos(float(np.clip(card.rotation[2, 2], -1.0, 1.0))))
        if memory.tilt_deg is not None and abs(tilt - memory.tilt_deg) > 20.0:
            return replace(memory, contents=Contents.AWAY, plans=(), stirred_s=now_s)
        rim = card.centre_mm + card.rotation @ np.array(mould.card.rim_centre_from_tag_mm)
        along = card.rotation[:, 0]
        places = _hole_places(mould, rim, math.atan2(float(along[1]), float(along[0])))
        memory = replace(memory, tilt_deg=tilt)
    if not places:
        return memory
    elsewhere = bool(memory.places) and _apart(places[0], memory.places[0])
    plans = tuple(
        _plans(plan_strip(shape, place, camera, lens, layout.up), shape, place, camera, lens)
        for shape, place in zip(shapes(mould.profile), places, strict=True)
    )
    looks = memory.looks or tuple(HoleLooks() for _ in plans)
    regridded = [p.strip.depths_mm.size for p in plans] != [p.strip.depths_mm.size for p in memory.plans]
    if elsewhere or scene.camera_moved or regridded:
        looks = tuple(HoleLooks() for _ in plans)
        memory = replace(memory, stirred_s=now_s)
    return replace(memory, placement=memory.placement + elsewhere, places=places, plans=plans, looks=looks)


def _hole_places(mould: PlacedMould, rim: np.ndarray, yaw: float) -> tuple[HolePlace, ...]:
    turned = np.array([[math.cos(yaw), -math.sin(yaw)], [math.sin(yaw), math.cos(yaw)]])
    made = []
    for shape in shapes(mould.profile):
        xy = rim[:2] + turned @ np.array(shape.centre_mm)
        made.append(HolePlace(np.array([xy[0], xy[1], rim[2]]), yaw))
    return tuple(made)


def _apart(one: HolePlace, other: HolePlace) -> bool:
    turned = abs(math.degrees(math.remainder(one.yaw - other.yaw, 2.0 * math.pi)))
    return float(np.hypot(*(one.rim_mm - other.rim_mm)[:2])) > SAME_PLACE_MM or turned > SAME_TURN_DEG


def _plans(strip: StripPlan, shape: object, place: HolePlace, camera: CameraPose, lens: Lens) -> HolePlans:
    ring = plan_ring(strip.shape, place, camera, lens)
    return plans_with(strip, ring)
