"""All the tags in one picture, twins included, and what is wrong with how they are shown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.setup.board_view import SMALL_PICTURE_PX
from watcher.setup.tag_print import DICTIONARY, tag_cells
from watcher.vision.lighting import LINEAR_BYTE, linear_grey
from watcher.vision.tags import SeenTag, measure_tag

Array = npt.NDArray[np.float64]

SMALL_PX = 20.0
"""Tags with shorter sides are read unsurely: two and a half pixels to a cell (common practice, no source)."""
TORN_SHARE, WHOLE_SHARE = 0.62, 0.93
"""Share of a card's cells that must be as printed: below the first it is gone, from the second whole."""


@dataclass(frozen=True, slots=True)
class FoundTag:
    """One tag as found: its number, and its corners (4, 2) in px from the printed upper left round."""

    tag_id: int
    corners_px: Array

    @property
    def side_px(self) -> float:
        """Its shortest side, in px."""
        sides = np.roll(self.corners_px, -1, axis=0) - self.corners_px
        return float(np.hypot(sides[:, 0], sides[:, 1]).min())


def every_tag(image: Image, dictionary: str = DICTIONARY) -> tuple[FoundTag, ...]:
    """Find all tags of a family, each as often as it is there.

    Small or blurred tags are lost in one rendering of the picture and found in another: the grey picture, the
    light behind it, and the light enlarged twice where the picture is small.
    """
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    light = cv2.LUT(grey, LINEAR_BYTE)
    shown = [(grey, 1.0), (light, 1.0)]
    if grey.shape[1] <= SMALL_PICTURE_PX:
        shown += [
            (cv2.resize(one, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_CUBIC), 2.0)
            for one in (grey, light)
        ]
    found: list[FoundTag] = []
    for picture, scale in shown:
        found += [tag for tag in _detected(picture, scale, dictionary) if not _known(tag, found)]
    return tuple(found)


def _detected(grey: npt.NDArray[np.uint8], scale: float, dictionary: str) -> list[FoundTag]:
    book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    corners, ids, _ = cv2.aruco.ArucoDetector(book).detectMarkers(grey)
    if ids is None:
        return []
    return [
        FoundTag(int(tag), (np.asarray(four, dtype=np.float64).reshape(4, 2) + 0.5) / scale - 0.5)
        for tag, four in zip(np.ravel(ids), corners, strict=True)
    ]


def _known(tag: FoundTag, found: list[FoundTag]) -> bool:
    middle = tag.corners_px.mean(axis=0)
    return any(
        tag.tag_id == other.tag_id
        and float(np.hypot(*(other.corners_px.mean(axis=0) - middle))) < 0.5 * other.side_px
        for other in found
    )


def measured(image: Image, tags: Iterable[FoundTag], lens: Lens) -> dict[int, SeenTag]:
    """Measure the sides of each tag; one that cannot be measured is left out."""
    seen = {tag.tag_id: measure_tag(image, tag.corners_px, lens, 2) for tag in tags}
    return {tag_id: one for tag_id, one in seen.items() if one is not None}


def twins(tags: Iterable[FoundTag]) -> tuple[str, ...]:
    """Say which numbers are there more than once."""
    counted = Counter(tag.tag_id for tag in tags)
    return tuple(
        f"{count} cards carry the number {tag_id}; take one away or print it anew with another number"
        for tag_id, count in sorted(counted.items())
        if count > 1
    )


def too_small(tags: Iterable[FoundTag]) -> tuple[str, ...]:
    """Say which tags are so small in the picture that they will be lost now and then."""
    return tuple(
        f"card {tag.tag_id} is only {tag.side_px:.0f} px wide in the picture; "
        "bring the camera nearer or print a larger card"
        for tag in tags
        if tag.side_px < SMALL_PX
    )


def cells_shown(image: Image, corners_px: Array, tag_id: int, dictionary: str = DICTIONARY) -> float:
    """Tell which share of a card's cells look as printed, its corners known from before (0 to 1)."""
    cells = tag_cells(tag_id, dictionary)
    n = len(cells)
    middle = (np.arange(n) + 0.5) / n
    grid = np.array([(x, y) for y in middle for x in middle], dtype=np.float32).reshape(-1, 1, 2)
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float32)
    to_picture = cv2.getPerspectiveTransform(unit, corners_px.astype(np.float32))
    xy = cv2.perspectiveTransform(grid, to_picture).reshape(n, n, 2)
    light = cv2.remap(linear_grey(image), xy[..., 0], xy[..., 1], cv2.INTER_LINEAR)
    # black and white as this card shows them: from the cells that should be so, the better half of each
    black = float(np.percentile(light[cells], 25.0))
    white = float(np.percentile(light[~cells], 75.0))
    if white < 1.5 * black + 0.01:
        return 0.5
    return float(((light < 0.5 * (black + white)) == cells).mean())


def half_covered(image: Image, corners_px: Array, tag_id: int, name: str) -> str | None:
    """Say so where a card that was at known corners is partly covered now; None: whole or gone altogether."""
    share = cells_shown(image, corners_px, tag_id)
    if TORN_SHARE <= share < WHOLE_SHARE:
        return f"the card of '{name}' is partly covered; uncover it or wipe it clean"
    return None


def not_found(tag_id: int, name: str) -> str:
    """Say that a card is not to be seen, and what may be the matter."""
    return (
        f"the card of '{name}' (number {tag_id}) is not to be seen; is it covered, face down, shining wet "
        "or too far away?"
    )


def upside_down(rim_from_tag_mm: tuple[float, float, float], name: str) -> str | None:
    """Say so where a card's notch points away from its pour hole."""
    if rim_from_tag_mm[1] < -0.25 * abs(rim_from_tag_mm[0]):
        return (
            f"the card of '{name}' lies upside down: its notch points away from the pour hole; turn it "
            "round, or leave it so if there is no other place"
        )
    return None
