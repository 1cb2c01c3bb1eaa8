"""The bench in one picture: the camera from its sheet, every card measured, and what is wrong so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.setup.bench_file import BenchFile
from watcher.setup.sheet_check import SheetCheck, check_sheet
from watcher.setup.tag_sightings import FoundTag, every_tag, measured, twins
from watcher.vision.lighting import unusable
from watcher.vision.pose import CameraPose, camera_from_sheet
from watcher.vision.tags import SeenTag


@dataclass(frozen=True, slots=True)
class BenchSight:
    """What one picture tells of the bench.

    `found` are all tags, twins too; `seen` those that could be measured, by number; `check` how the sheet
    lies, where enough of it is seen; `warnings` sentences for the caster.
    """

    camera: CameraPose
    found: tuple[FoundTag, ...]
    seen: Mapping[int, SeenTag]
    check: SheetCheck | None
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoBench:
    """Why a picture shows no bench: one sentence."""

    why: str


def bench_sight(image: Image, lens: Lens, bench: BenchFile) -> BenchSight | NoBench:
    """Find the camera's place and all cards in a picture."""
    dark = unusable(image)
    if dark is not None:
        return NoBench(f"the picture is {dark.value.replace('_', ' ')}; change the light or the exposure")
    found = every_tag(image, bench.dictionary)
    sheet_ids = {tag.tag_id for tag in bench.tags}
    doubled = twins(tag for tag in found if tag.tag_id in sheet_ids)
    if doubled:
        return NoBench(f"{doubled[0]} (it belongs to the bench sheet)")
    seen = measured(image, found, lens)
    on_sheet = {tag: one.corners for tag, one in seen.items() if tag in sheet_ids}
    if not on_sheet:
        return NoBench("the bench sheet is not to be seen; uncover it, or turn the camera to it")
    camera = camera_from_sheet(on_sheet, bench.tags, lens.fx_px)
    if camera is None:
        return NoBench(
            "the bench sheet's squares do not fit together; is it flat, uncovered, and printed at one scale?"
        )
    check = check_sheet(on_sheet, bench.flat_sheet, camera, lens.fx_px)
    few = () if len(on_sheet) > 1 else ("only one square of the bench sheet is seen; uncover the others",)
    warnings = (*few, *(check.warnings if check else ()), *twins(found))
    return BenchSight(camera, found, seen, check, warnings)
