"""Where each mould stands: by its card, by its given place, and by its own rim while it is empty."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import BenchLayout, Lens, PlacedMould
from watcher.records.readings import Contents
from watcher.vision.gate import plan_ring
from watcher.vision.holes import HolePlace, shapes
from watcher.vision.memory import HoleLooks, HolePlans, MouldMemory
from watcher.vision.plans import plans_with
from watcher.vision.pose import CameraPose, card_from_corners
from watcher.vision.rim import find_rim
from watcher.vision.scene import Scene
from watcher.vision.strip import plan_strip

Array = npt.NDArray[np.float64]

SAME_PLACE_MM = 1.2
SAME_TURN_DEG = 2.0
TIPPED_DEG = 20.0
"""A card whose tilt changed by more lies on a mould that was tipped or put on its side."""
ANCHOR_LOOKS = 3
SAME_SHIFT_MM = 0.8
CLEARLY_OFF_MM = 2.0
"""The seen rim is rounded, half a millimetre's worth; a card that sits wrong is off by millimetres."""


def place_mould(
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
    anew = moved or tag in scene.refined or scene.refined_camera or scene.camera_moved
    if memory.plans and not anew:
        return memory
    if moved and memory.contents is not Contents.SLIP:
        memory = replace(memory, offset_mm=(0.0, 0.0), rim_seen_mm=())
    places = memory.places
    if mould.card is None:
        if mould.place_mm is None:
            return memory
        places = _hole_places(mould, np.array(mould.place_mm), 0.0, memory.offset_mm)
    elif tag is not None and tag in scene.tags and (tag in scene.there or not memory.places):
        card = card_from_corners(scene.tags[tag].corners, mould.card.size_mm, camera, lens.fx_px)
        if card is None:
            return memory
        tilt = math.degrees(math.acos(float(np.clip(card.rotation[2, 2], -1.0, 1.0))))
        if memory.tilt_deg is not None and abs(tilt - memory.tilt_deg) > TIPPED_DEG:
            return replace(memory, contents=Contents.AWAY, plans=(), stirred_s=now_s)
        rim = card.centre_mm + card.rotation @ np.array(mould.card.rim_centre_from_tag_mm)
        along = card.rotation[:, 0]
        yaw = math.atan2(float(along[1]), float(along[0]))
        places = _hole_places(mould, rim, yaw, memory.offset_mm)
        memory = replace(memory, tilt_deg=tilt)
    return _stood(mould, memory, places, scene, camera, lens, layout, now_s) if places else memory


def _stood(
    mould: PlacedMould,
    memory: MouldMemory,
    places: tuple[HolePlace, ...],
    scene: Scene,
    camera: CameraPose,
    lens: Lens,
    layout: BenchLayout,
    now_s: float,
) -> MouldMemory:
    """Plan the holes for new places; carry over what was seen where it still fits."""
    elsewhere = bool(memory.places) and _apart(places[0], memory.places[0])
    plans = _plans_for(mould, places, camera, lens, layout)
    looks = memory.looks or tuple(HoleLooks() for _ in plans)
    regridded = [p.strip.depths_mm.size for p in plans] != [p.strip.depths_mm.size for p in memory.plans]
    if elsewhere or regridded:
        looks = tuple(HoleLooks() for _ in plans)
    elif scene.camera_moved:
        looks = tuple(replace(look, ring=None, last=None, past=()) for look in looks)
    if elsewhere or scene.camera_moved:
        memory = replace(memory, stirred_s=now_s, moved=memory.moved or elsewhere, light=None)
    return replace(memory, placement=memory.placement + elsewhere, places=places, plans=plans, looks=looks)


def anchor_rim(
    image: Image,
    mould: PlacedMould,
    memory: MouldMemory,
    shake_px: Array,
    camera: CameraPose,
    lens: Lens,
    layout: BenchLayout,
) -> MouldMemory:
    """Set an empty mould's rim where it is seen, if that is clearly not where its card or place says."""
    if len(memory.rim_seen_mm) >= ANCHOR_LOOKS or memory.contents is not Contents.EMPTY or not memory.places:
        return memory
    place = memory.places[0]
    found = find_rim(image, shapes(mould.profile)[0], place, camera, lens, shake_px)
    now = (math.nan, math.nan) if found is None else (float(found.shift_mm[0]), float(found.shift_mm[1]))
    before = memory.rim_seen_mm
    memory = replace(memory, rim_seen_mm=(*before, now))
    if not before or not math.dist(now, before[-1]) < SAME_SHIFT_MM:
        return memory
    x, y = 0.5 * (now[0] + before[-1][0]), 0.5 * (now[1] + before[-1][1])
    if math.hypot(x, y) < CLEARLY_OFF_MM:
        return memory
    c, s = math.cos(place.yaw), math.sin(place.yaw)
    offset = (memory.offset_mm[0] + c * x + s * y, memory.offset_mm[1] - s * x + c * y)
    places = tuple(HolePlace(p.rim_mm + np.array([x, y, 0.0]), p.yaw) for p in memory.places)
    plans = _plans_for(mould, places, camera, lens, layout)
    looks = tuple(HoleLooks() for _ in plans)
    return replace(memory, places=places, plans=plans, looks=looks, offset_mm=offset)


def _plans_for(
    mould: PlacedMould, places: tuple[HolePlace, ...], camera: CameraPose, lens: Lens, layout: BenchLayout
) -> tuple[HolePlans, ...]:
    made = []
    for shape, place in zip(shapes(mould.profile), places, strict=True):
        strip = plan_strip(shape, place, camera, lens, layout.up)
        made.append(plans_with(strip, plan_ring(shape, place, camera, lens)))
    return tuple(made)


def _hole_places(
    mould: PlacedMould, rim_mm: Array, yaw: float, offset_mm: tuple[float, float]
) -> tuple[HolePlace, ...]:
    turned = np.array([[math.cos(yaw), -math.sin(yaw)], [math.sin(yaw), math.cos(yaw)]])
    made = []
    for shape in shapes(mould.profile):
        xy = rim_mm[:2] + turned @ (np.array(shape.centre_mm) + np.array(offset_mm))
        made.append(HolePlace(np.array([xy[0], xy[1], rim_mm[2]]), yaw))
    return tuple(made)


def _apart(one: HolePlace, other: HolePlace) -> bool:
    turned = abs(math.degrees(math.remainder(one.yaw - other.yaw, 2.0 * math.pi)))
    return float(np.hypot(*(one.rim_mm - other.rim_mm)[:2])) > SAME_PLACE_MM or turned > SAME_TURN_DEG
