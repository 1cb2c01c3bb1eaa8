"""One camera over a bench, written out, and where it sees a level circle."""

from __future__ import annotations

import numpy as np
from photographed import TrueLens

from watcher.records.layout import Lens
from watcher.vision.pose import CameraPose

TRUE = TrueLens(1280, 720, 1060.0, 639.5, 359.5, (-0.06, 0.03, 0.0004, -0.0006, 0.0))
LENS = Lens(1280, 720, 1060.0, 1060.0, 639.5, 359.5, TRUE.bent)


def camera_at(eye, look_at=(0.0, 0.0, 0.0)) -> CameraPose:
    """A camera that looks at a point with the bench's z upwards in the picture."""
    forward = np.subtract(look_at, eye).astype(float)
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.stack((right, np.cross(forward, right), forward))
    return CameraPose(rotation, -rotation @ np.array(eye, float), 0.0, 0.0)


CAMERA = camera_at((30.0, -480.0, 520.0))


def rim_px(centre, radius, degrees, lens=TRUE, camera=CAMERA):
    turns = np.radians(degrees)
    points = np.column_stack((np.cos(turns), np.sin(turns), np.zeros(len(turns)))) * radius + centre
    return lens.project(points @ camera.rotation.T + camera.shift_mm)
