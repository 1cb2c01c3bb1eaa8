"""The bench sheet: four tags on one page, whose places make the bench's frame."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.layout import SheetTag
from watcher.setup.drawing import Page, Paper, Shape, Stroke, Words
from watcher.setup.ruler import ruler_line
from watcher.setup.tag_print import tag_patch

TAG_MM = 60.0
ACROSS_MM, ALONG_MM = 98.0, 58.0
"""The tags' centres lie this far from the sheet's: as far out as both papers
allow, so that one sheet fits both."""
RULER_MM, RULER_ACROSS_MM = 250.0, 160.0
_PLACES = ((0, -1, 1), (1, 1, 1), (2, -1, -1), (3, 1, -1))


def bench_sheet() -> tuple[SheetTag, ...]:
    """Return the bench sheet's tags where they lie in the bench frame, as printed at 100 %."""
    return tuple(SheetTag(tag_id, TAG_MM, (x * ACROSS_MM, y * ALONG_MM, 0.0)) for tag_id, x, y in _PLACES)


def scaled(tags: tuple[SheetTag, ...], factor: float) -> tuple[SheetTag, ...]:
    """Return the tags as they lie on a sheet that was printed at another scale."""
    return tuple(
        replace(
            tag,
            size_mm=tag.size_mm * factor,
            centre_mm=(tag.centre_mm[0] * factor, tag.centre_mm[1] * factor, tag.centre_mm[2] * factor),
        )
        for tag in tags
    )


def bench_page(paper: Paper) -> Page:
    """Draw the bench sheet; the page's centre is the origin of the bench frame."""
    width, height = paper.landscape_mm
    cx, cy = 0.5 * width, 0.5 * height
    shapes: list[Shape] = []
    for tag in bench_sheet():
        x, y, _ = tag.centre_mm
        shapes.append(tag_patch(tag.tag_id, tag.size_mm, (cx + x, cy + y)))
        shapes.append(Words(cx + x, cy + y + (33.0 if y > 0 else -35.5), str(tag.tag_id), 2.5, "middle"))
    shapes += ruler_line((cx - 0.5 * RULER_MM, cy), RULER_MM, label_at=0.25)
    shapes += ruler_line((cx, cy - 0.5 * RULER_ACROSS_MM), RULER_ACROSS_MM, upright=True, label_at=0.25)
    shapes += _words(cx, cy)
    return Page(width, height, tuple(shapes))


def _words(cx: float, cy: float) -> list[Shape]:
    arrow = ((cx, cy + 84.0), (cx - 4.0, cy + 77.0), (cx + 4.0, cy + 77.0))
    lines = (
        "Print at 100 %, on matt paper.",
        "Measure both lines, type them in.",
        "Tape it flat on the level bench,",
        "where the camera sees all of it.",
    )
    shapes: list[Shape] = [
        Stroke(arrow, 0.3, filled=True, closed=True),
        Words(cx, cy + 88.0, "away from the camera", 3.5, "middle"),
        Words(cx, cy - 90.0, "this edge towards the camera", 3.5, "middle"),
        Words(cx + 6.0, cy + 62.0, "Tipbell bench sheet", 5.0, within_mm=52.0),
    ]
    for number, line in enumerate(lines):
        shapes.append(Words(cx + 6.0, cy + 54.0 - 5.5 * number, line, 2.7, within_mm=52.0))
    return shapes
