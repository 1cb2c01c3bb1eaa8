"""Pictures for the set-up pages: as large as the camera's where that is needed to tap in them."""

from __future__ import annotations

from datetime import datetime

import cv2
import numpy as np

from watcher.page.port import Picture
from watcher.records.frames import Image

MOST_WIDTH_PX = 1280
QUALITY = 80


def shown_picture(image: Image, picture_id: str, taken_at: datetime) -> Picture:
    """Make a JPEG of a picture; wider ones are shrunk."""
    rows, cols = image.shape[:2]
    scale = min(1.0, MOST_WIDTH_PX / cols)
    small = (
        image
        if scale == 1.0
        else np.asarray(
            cv2.resize(image, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), dtype=np.uint8
        )
    )
    fine, data = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    if not fine:
        raise ValueError(f"a picture of {cols} x {rows} could not be written as JPEG")
    return Picture(data.tobytes(), picture_id, taken_at, small.shape[1], small.shape[0], cols, rows)
