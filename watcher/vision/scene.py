"""Where everything stands in this frame: camera, cards of the moulds, and what moved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import BenchLayout, Lens
from watcher.vision.memory import Eyes, TagTrack
from watcher.vision.pose import CameraPose, camera_from_sheet
from watcher.vision.tagcheck import CheckPlan, check_tags, plan_check
from watcher.vision.tags import Patch, find_near, find_tags, measure_tag

Array = npt.NDArray[np.float64]

SEARCH_EVERY = 20
FIRST_LOOKS = 3
LOOK_NEAR_EVERY, LOOK_AGAIN_EVERY = 3, 12
AVERAGED = 6
"""Looks over which corners are averaged; the place of everything is then frozen."""
SHAKE_PX = 0.8
"""A picture that shifts by less only shook; a tag that shifts more against the others was moved."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What the tags of one frame tell.

    Attributes
    ----------
    camera : CameraPose or None
        None where the sheet has never been found.
    tags : mapping of int to TagTrack
        All tags that are known to be somewhere, also those covered just now.
    there : frozenset of int
        Tags seen in this frame, where `tags` says.
    moved : frozenset of int
        Tags that stand somewhere else than in the last frame.
    shift_px : ndarray (2,)
        Shake of the whole picture against `tags`. [px]
    refined : frozenset of int
        Tags whose averages improved enough for what hangs on them to be worked out again.
    refined_camera : bool
        The same for the camera, on which everything hangs.
    lost : bool
        The camera is not where it was and could not be found again.
    """

    camera: CameraPose | None
    tags: Mapping[int, TagTrack]
    check: CheckPlan | None
    there: frozenset[int]
    moved: frozenset[int]
    shift_px: Array
    camera_moved: bool
    refined: frozenset[int]
    refined_camera: bool
    lost: bool
    searched: bool
    tried: Mapping[int, Patch] = field(default_factory=lambda: MappingProxyType({}))


def find_scene(image: Image, layout: BenchLayout, lens: Lens, eyes: Eyes) -> Scene:
    """Check the known tags; search the whole picture only when it must be."""
    sheet = frozenset(t.tag_id for t in layout.sheet)
    wanted = sheet | frozenset(m.card.tag_id for m in layout.moulds if m.card is not None)
    if eyes.check is None or eyes.camera is None:
        return _search(image, layout, lens, eyes, wanted, sheet)
    looked = check_tags(image, eyes.check)
    firm = [tag for tag, c in looked.items() if c.there]
    shift = _common_shift([looked[t].shift_px for t in firm])
    still = frozenset(t for t in firm if float(np.hypot(*(looked[t].shift_px - shift))) < SHAKE_PX)
    camera_firm = (
        len(still) >= 2 and float(np.hypot(*shift)) < SHAKE_PX and (bool(still & sheet) or len(still) >= 3)
    )
    due = eyes.looks - eyes.searched_look
    missing = wanted - still
    if not camera_firm or (missing and (due >= SEARCH_EVERY or eyes.looks <= FIRST_LOOKS)):
        return _search(image, layout, lens, eyes, wanted, sheet, still if camera_firm else None, shift)
    tried = {t: patch for t, patch in eyes.tried.items() if t in missing}
    if missing and eyes.looks % LOOK_NEAR_EVERY == 0:
        near = {t: eyes.tags[t].corners_px for t in missing if t in eyes.tags}
        tried = tried if eyes.looks % LOOK_AGAIN_EVERY else {}
        found, tried = find_near(image, layout.dictionary, near, tried)
        if found:
            return _search(image, layout, lens, eyes, wanted, sheet, still, shift, found)
    return replace(_keep(image, layout, lens, eyes, still, shift), tried=tried)


def _common_shift(shifts: list[Array]) -> Array:
    return np.median(np.stack(shifts), axis=0) if shifts else np.zeros(2)


def _keep(
    image: Image, layout: BenchLayout, lens: Lens, eyes: Eyes, still: frozenset[int], shift: Array
) -> Scene:
    """Nothing moved: average the corners on while they are young."""
    tags = dict(eyes.tags)
    refined = set()
    for tag in still:
        track = tags[tag]
        if track.count < AVERAGED:
            seen = measure_tag(image, track.corners_px + shift, lens)
            if seen is not None:
                tags[tag] = _average(track, seen.corners_px - shift, seen.corners - shift / lens.fx_px)
                if tags[tag].count in (3, AVERAGED):
                    refined.add(tag)
    camera, check = eyes.camera, eyes.check
    of_sheet = any(tag.tag_id in refined for tag in layout.sheet)
    if of_sheet:
        camera = _camera(layout, lens, tags, eyes.camera) or eyes.camera
    if refined:
        check = plan_check({t: v.corners_px for t, v in tags.items()})
    moved = frozenset[int]()
    return Scene(camera, tags, check, still, moved, shift, False, frozenset(refined), of_sheet, False, False)


def _average(track: TagTrack, corners_px: Array, corners: Array) -> TagTrack:
    n = track.count
    return TagTrack(
        (track.corners_px * n + corners_px) / (n + 1), (track.corners * n + corners) / (n + 1), n + 1
    )


def _camera(
    layout: BenchLayout, lens: Lens, tags: Mapping[int, TagTrack], start: CameraPose | None
) -> CameraPose | None:
    corners = {t.tag_id: tags[t.tag_id].corners for t in layout.sheet if t.tag_id in tags}
    return camera_from_sheet(corners, layout.sheet, lens.fx_px, start)


def _search(
    image: Image,
    layout: BenchLayout,
    lens: Lens,
    eyes: Eyes,
    wanted: frozenset[int],
    sheet: frozenset[int],
    still: frozenset[int] | None = None,
    shift: Array | None = None,
    near: dict[int, Array] | None = None,
) -> Scene:
    """Search the whole picture. `still`: the tags that stand where they were, None if the camera moved."""
    shift = np.zeros(2) if shift is None else shift
    found: dict[int, TagTrack] = {}
    odd = bool(eyes.looks // SEARCH_EVERY % 2)
    passes = (True, True) if still is None or eyes.looks <= FIRST_LOOKS else (odd, not odd)
    spotted = find_tags(image, layout.dictionary, wanted, passes) if near is None else near
    for tag, corners in spotted.items():
        seen = measure_tag(image, corners, lens, 2)
        if seen is not None:
            found[tag] = TagTrack(seen.corners_px, seen.corners, 1)
    if still is not None:
        tags = dict(eyes.tags)
        moved = set()
        there = set(still)
        for tag, track in found.items():
            if tag in still:
                continue
            there.add(tag)
            known = tags.get(tag)
            placed = TagTrack(track.corners_px - shift, track.corners - shift / lens.fx_px, 1)
            if known is None or float(np.abs(placed.corners_px - known.corners_px).max()) > SHAKE_PX:
                tags[tag] = placed
                moved.add(tag)
        new_sheet = bool(moved & sheet)
        camera = _camera(layout, lens, tags, eyes.camera) if new_sheet else eyes.camera
        check = plan_check({t: v.corners_px for t, v in tags.items()}) if moved else eyes.check
        return Scene(
            camera or eyes.camera,
            tags,
            check,
            frozenset(there),
            frozenset(moved - sheet),
            shift,
            False,
            frozenset(),
            new_sheet and camera is not None,
            False,
            True,
        )
    camera = _camera(layout, lens, found, None)
    if camera is None:
        return Scene(
            eyes.camera,
            eyes.tags,
            eyes.check,
            frozenset(),
            frozenset(),
            np.zeros(2),
            False,
            frozenset(),
            False,
            eyes.camera is not None,
            True,
        )
    check = plan_check({t: v.corners_px for t, v in found.items()})
    tags = {**{t: v for t, v in eyes.tags.items() if t not in sheet and eyes.camera is None}, **found}
    return Scene(
        camera,
        tags,
        check,
        frozenset(found),
        frozenset(found) - sheet,
        np.zeros(2),
        eyes.camera is not None,
        frozenset(),
        False,
        False,
        True,
    )
