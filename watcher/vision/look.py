"""One look at one frame: the eyes' only door."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from watcher.records.frames import Frame
from watcher.records.layout import BenchLayout
from watcher.records.readings import Contents, Expected, HoleSighting, Missed, Sighting
from watcher.vision.lens import usable_lens
from watcher.vision.lighting import blurred, unusable
from watcher.vision.memory import Eyes, MouldMemory
from watcher.vision.scene import find_scene
from watcher.vision.several import look_into_all
from watcher.vision.standing import anchor_rim, place_mould


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
    if scene.camera is None or scene.lost:
        eyes = replace(eyes, looks=eyes.looks + 1, searched_look=eyes.looks)
        if blurred(frame.image):
            return _nothing(frame, layout, eyes, Missed.BLURRED, "the picture is blurred")
        if scene.camera is None:
            return _nothing(frame, layout, eyes, Missed.CARD_LOST, "the bench sheet is not in view")
        said = "the camera was moved and the bench sheet is not found again"
        return _nothing(frame, layout, eyes, Missed.MOVED, said)
    holes: list[HoleSighting] = []
    moulds: dict[str, MouldMemory] = {}
    for mould in layout.moulds:
        memory = place_mould(
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
        memory = anchor_rim(frame.image, mould, memory, scene.shift_px, scene.camera, lens, layout)
        there = mould.card is None or mould.card.tag_id in scene.there
        hole, memory = look_into_all(
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
        MappingProxyType(dict(scene.tried)),
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
