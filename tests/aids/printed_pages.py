"""Printed pages brought back to pixels by a PDF reader that is not ours (PDFium)."""

from __future__ import annotations

import cv2
import numpy as np
import pypdfium2


def rendered(data: bytes, page: int, px_per_mm: float) -> np.ndarray:
    """Render one page in grey, (rows, cols), `px_per_mm` pixels to a millimetre."""
    document = pypdfium2.PdfDocument(data)
    try:
        picture = document[page].render(scale=px_per_mm * 25.4 / 72.0, grayscale=True)
        return np.array(picture.to_numpy()).squeeze()  # a copy: the pixels go with the document
    finally:
        document.close()


def page_sizes_mm(data: bytes) -> list[tuple[float, float]]:
    """Width and height of every page, in mm, as the PDF says."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [tuple(side * 25.4 / 72.0 for side in page.get_size()) for page in document]
    finally:
        document.close()


def per_mm(grey: np.ndarray, size_mm: tuple[float, float]) -> np.ndarray:
    """Pixels to a millimetre as rendered, (across, down): the renderer stretches a page to whole pixels."""
    return np.array([grey.shape[1] / size_mm[0], grey.shape[0] / size_mm[1]])


def found_tags_mm(grey: np.ndarray, dictionary: int, size_mm: tuple[float, float]) -> dict[int, np.ndarray]:
    """Corners (4, 2) of every tag that OpenCV decodes, in mm from the page's upper left corner."""
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    book = cv2.aruco.getPredefinedDictionary(dictionary)
    corners, ids, _ = cv2.aruco.ArucoDetector(book, settings).detectMarkers(grey)
    # pixel centres lie half a pixel inside the page's edge
    scale = per_mm(grey, size_mm)
    return {int(i): (c.reshape(4, 2) + 0.5) / scale for i, c in zip(np.ravel(ids), corners, strict=True)}
