"""The black cells of a printed tag, as vector boxes."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from models.doors import BadValue
from watcher.setup.drawing import Box, Patch, Place

DICTIONARY = "DICT_APRILTAG_36h11"
QUIET_CELLS = 1.25
"""White margin round a tag in cells of the tag; one is the least that finds the outline (common practice)."""


def tag_cells(tag_id: int, dictionary: str = DICTIONARY) -> npt.NDArray[np.bool_]:
    """Return which cells of a tag are black, its black frame included.

    Parameters
    ----------
    tag_id : int
        Number of the tag, from 0 up to the family's last.
    dictionary : str
        Name of the family, as OpenCV has it.

    Returns
    -------
    ndarray of bool, shape (N, N)
        First row at the top of the tag.

    Raises
    ------
    BadValue
        The family has no tag of that number.
    """
    book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    count = int(book.bytesList.shape[0])
    if not 0 <= tag_id < count:
        raise BadValue(f"the card's number is {tag_id}; give a whole number from 0 to {count - 1}")
    side = int(book.markerSize) + 2
    drawn = cv2.aruco.generateImageMarker(book, tag_id, side)
    return np.asarray(np.asarray(drawn) == 0, dtype=np.bool_)


def tag_patch(tag_id: int, size_mm: float, centre_mm: Place, dictionary: str = DICTIONARY) -> Patch:
    """Lay a tag on a page: its black square is `size_mm` wide, upright, about `centre_mm`."""
    cells = tag_cells(tag_id, dictionary)
    cell_mm = size_mm / len(cells)
    left, top = centre_mm[0] - 0.5 * size_mm, centre_mm[1] + 0.5 * size_mm
    boxes: list[Box] = []
    for row, black in enumerate(cells):
        edges = np.flatnonzero(np.diff(np.concatenate(([False], black, [False])).astype(np.int8)))
        for start, end in edges.reshape(-1, 2):
            y_mm = top - (row + 1) * cell_mm
            boxes.append(Box(left + start * cell_mm, y_mm, (end - start) * cell_mm, cell_mm))
    return Patch(tuple(boxes))
