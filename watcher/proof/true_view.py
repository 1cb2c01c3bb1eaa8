"""Where things truly are in a picture: the camera from the sheet, the rest from the recording's truth."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.proof.truth_tables import TruePlace, Truth
from watcher.records.frames import Image
from watcher.records.layout import BenchLayout, Lens, PlacedMould
from watcher.setup.bench_file import BenchFile
from watcher.setup.bench_sight import BenchSight, bench_sight
from watcher.setup.reading_advice import hole_view
from watcher.setup.reading_forecast import HoleView

Array = npt.NDArray[np.float64]

CAMERA_BUMP = "camera_bump"
TRIES = 6
"""Pictures that are tried for a view of the whole sheet after each bump."""
POINTS = 180


@dataclass(frozen=True, slots=True)
class Camera:
    """The camera in the bench frame: x_camera = rotation @ x_bench + shift. [mm]."""

    rotation: Array
    shift_mm: Array
    lens: Lens

    def eye_mm(self) -> tuple[float, float, float]:
        """Where it stands. [mm]."""
        x, y, z = -self.rotation.T @ self.shift_mm
        return float(x), float(y), float(z)

    def pixels(self, points_mm: Array) -> Array:
        """Bench points (n, 3) in the picture (n, 2), as (x, y). [px]."""
        lens = self.lens
        matrix = np.array([[lens.fx_px, 0, lens.cx_px], [0, lens.fy_px, lens.cy_px], [0, 0, 1.0]])
        turn = cv2.Rodrigues(self.rotation)[0]
        flat = cv2.projectPoints(points_mm, turn, self.shift_mm, matrix, np.array(lens.distortion))[0]
        return np.asarray(flat, dtype=np.float64).reshape(-1, 2)


@dataclass(frozen=True, slots=True)
class TrueHole:
    """One mould's pour hole as it truly stands before the camera."""

    camera: Camera
    rim_mm: tuple[float, float, float]
    mould: PlacedMould

    def view(self) -> HoleView:
        """How the camera looks into it."""
        lens = self.camera.lens
        return hole_view(self.mould.profile.bore, self.rim_mm, self.camera.eye_mm(), lens.fx_px)

    def ring_px(self, depth_mm: float, clay_mm: float = 0.0) -> Array:
        """Circle of the wall at a depth, less the clay on it, (POINTS, 2), far point first. [px]."""
        return self.points_px(depth_mm, clay_mm, np.linspace(0.0, 2.0 * math.pi, POINTS, endpoint=False))

    def points_px(self, depth_mm: float, clay_mm: float, angles: Array) -> Array:
        """Points of that circle at some angles from the far point, (n, 2) as (x, y). [px]."""
        x, y, z = self.rim_mm
        eye = self.camera.eye_mm()
        far = math.atan2(y - eye[1], x - eye[0])
        radius = float(self.mould.profile.radius_mm(depth_mm)) - clay_mm
        ways = np.stack((np.cos(far + angles), np.sin(far + angles)), axis=1) * radius
        points = np.column_stack((ways + np.array((x, y)), np.full(len(angles), z - depth_mm)))
        return self.camera.pixels(points)


class TrueView:
    """Camera and holes of one recording at every moment.

    Parameters
    ----------
    layout : BenchLayout
    bench : BenchFile
    truth : Truth
    """

    def __init__(self, layout: BenchLayout, bench: BenchFile, truth: Truth) -> None:
        self._layout = layout
        self._bench = bench
        self._bumps = sorted(event.time_s for event in truth.events if event.event == CAMERA_BUMP)
        self._cameras: dict[int, Camera] = {}
        self._tried: dict[int, int] = {}
        self._places: dict[str, list[TruePlace]] = {}
        for place in truth.places:
            self._places.setdefault(place.mould, []).append(place)

    def camera(self, image: Image, at_s: float) -> Camera | None:
        """Return the camera at a moment: measured after every bump, from the first picture that serves."""
        epoch = bisect_right(self._bumps, at_s)
        known = self._cameras.get(epoch)
        if known is not None or self._tried.get(epoch, 0) >= TRIES or self._layout.lens is None:
            return known
        self._tried[epoch] = self._tried.get(epoch, 0) + 1
        sight = bench_sight(image, self._layout.lens, self._bench)
        if not isinstance(sight, BenchSight):
            return None
        camera = Camera(sight.camera.rotation, sight.camera.shift_mm, self._layout.lens)
        self._cameras[epoch] = camera
        return camera

    def hole(self, camera: Camera, mould: str, at_s: float) -> TrueHole | None:
        """Return a mould's hole at a moment; None: it is not there, not round, or its place is not told."""
        placed = self._layout.mould(mould)
        if len(placed.profile.holes) != 1 or placed.profile.holes[0].axes_mm is not None:
            return None
        place = _latest(self._places.get(mould, ()), at_s)
        if place is None or not place.there:
            return None
        return TrueHole(camera, place.rim_mm, placed)


def _latest(places: Sequence[TruePlace], at_s: float) -> TruePlace | None:
    found = bisect_right([place.time_s for place in places], at_s + 0.005)
    return places[found - 1] if found else None
