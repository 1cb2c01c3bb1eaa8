"""A strip of tags on a wall or shelf: what one picture shows of it, and its places once it is surveyed."""

from __future__ import annotations

from collections.abc import Sequence

from models.doors import BadValue
from watcher.records.frames import Image
from watcher.records.layout import Lens, SheetTag
from watcher.setup.bench_file import BenchFile
from watcher.setup.mould_card import STRIP_IDS
from watcher.setup.sheet_file import sheet_table
from watcher.setup.survey import NoSurvey, Sighted, Surveyed, survey
from watcher.setup.tag_sightings import FoundTag, every_tag, measured, twins
from watcher.setup.toml_text import Table, toml_text

HEADING = """The bench sheet and the surveyed tags of a strip.
The bench frame: x right, y away from the camera, z up; millimetres from the sheet's centre."""


def tags_in(image: Image, lens: Lens, dictionary: str) -> tuple[tuple[FoundTag, ...], Sighted]:
    """Find all tags of a picture, and the straightened corners of those that could be measured.

    Raises
    ------
    BadValue
        A number is there twice.
    """
    found = tuple(every_tag(image, dictionary))
    doubled = twins(found)
    if doubled:
        raise BadValue(doubled[0])
    return found, {tag: one.corners for tag, one in measured(image, found, lens).items()}


def survey_strip(
    pictures: Sequence[Sighted], known: Sequence[SheetTag], size_mm: float, focal_px: float
) -> Surveyed | NoSurvey:
    """Survey every tag of the strip that the pictures show and whose place is not known.

    Raises
    ------
    BadValue
        No picture shows one.
    """
    shown = {tag for one in pictures for tag in one} - {tag.tag_id for tag in known}
    wanted = {tag: size_mm for tag in STRIP_IDS if tag in shown}
    if not wanted:
        raise BadValue(f"no picture shows a tag of the strip (numbers {STRIP_IDS[0]} to {STRIP_IDS[-1]})")
    return survey(pictures, known, wanted, focal_px)


def strip_words(found: Surveyed) -> tuple[str, ...]:
    """Say where each tag is, and how well that is known."""
    return tuple(
        f"tag {one.tag.tag_id} at {one.tag.centre_mm[0]:.1f}, {one.tag.centre_mm[1]:.1f}, "
        f"{one.tag.centre_mm[2]:.1f} mm, to {one.sigma_mm:.1f} mm and {one.sigma_deg:.1f} degrees"
        for one in found.tags
    )


def strip_text(known: Sequence[SheetTag], found: Surveyed, bench: BenchFile) -> str:
    """Write the tags that were known and those that were surveyed as `[[sheet]]` tables."""
    tags = (*known, *(one.tag for one in found.tags))
    up: list[tuple[str, Table]] = [] if bench.up == (0.0, 0.0, 1.0) else [("bench", {"up": list(bench.up)})]
    return toml_text([*up, *(("[[sheet]]", sheet_table(tag, bench.dictionary)) for tag in tags)], HEADING)
