"""A drawn picture of a bench from straight above: tags only, each where plain perspective puts it."""

from __future__ import annotations

import cv2
import numpy as np

FOCAL_PX, HEIGHT_MM, SIZE_PX = 900.0, 800.0, (1280, 720)
TOML = f"""
[camera]
width = {SIZE_PX[0]}
height = {SIZE_PX[1]}
fx = {FOCAL_PX}
fy = {FOCAL_PX}
cx = {(SIZE_PX[0] - 1) / 2}
cy = {(SIZE_PX[1] - 1) / 2}
distortion = [0.0, 0.0, 0.0, 0.0, 0.0]

[[sheet]]
id = 0
size_mm = 60.0
centre_mm = [-62.0, 0.0, 0.0]

[[sheet]]
id = 1
size_mm = 60.0
centre_mm = [62.0, 0.0, 0.0]
"""
SHEET = ((0, 60.0, (-62.0, 0.0, 0.0)), (1, 60.0, (62.0, 0.0, 0.0)))


def overhead_picture(tags=SHEET) -> np.ndarray:
    """Draw tags given as (number, side in mm, centre on the bench in mm)."""
    image = np.full((SIZE_PX[1], SIZE_PX[0], 3), 235, np.uint8)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    for number, side_mm, (x_mm, y_mm, z_mm) in tags:
        px_per_mm = FOCAL_PX / (HEIGHT_MM - z_mm)
        side = round(side_mm * px_per_mm)
        left = round((SIZE_PX[0] - 1) / 2 + x_mm * px_per_mm - side / 2)
        top = round((SIZE_PX[1] - 1) / 2 - y_mm * px_per_mm - side / 2)
        tag = cv2.resize(cv2.aruco.generateImageMarker(family, number, 80), (side, side))
        image[top : top + side, left : left + side] = tag[:, :, None]
    return cv2.GaussianBlur(image, (0, 0), 0.7)
