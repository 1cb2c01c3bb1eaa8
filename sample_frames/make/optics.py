"""The camera: where it stands, how its lens bends, what its sensor adds."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np


@dataclass(frozen=True, slots=True)
class Lens:
    """Pinhole with Brown distortion, as OpenCV orders it."""

    width: int
    height: int
    f: float
    cx: float
    cy: float
    distortion: tuple[float, float, float, float, float]

    @property
    def matrix(self) -> np.ndarray:
        """The 3x3 camera matrix."""
        return np.array([[self.f, 0, self.cx], [0, self.f, self.cy], [0, 0, 1.0]])


@dataclass(frozen=True, slots=True)
class Pose:
    """Camera at `eye` (bench frame, mm); the rows of `turn` are its axes (right, down, ahead)."""

    eye: tuple[float, float, float]
    turn: tuple[tuple[float, float, float], ...]

    def project(self, lens: Lens, points: np.ndarray) -> np.ndarray:
        """Pixel (x, y) of points (n, 3)."""
        turn = np.array(self.turn)
        rvec, _ = cv2.Rodrigues(turn)
        shift = -turn @ np.array(self.eye)
        flat = np.asarray(points, float).reshape(-1, 1, 3)
        return cv2.projectPoints(flat, rvec, shift, lens.matrix, np.array(lens.distortion))[0].reshape(-1, 2)


def look_at(eye, target, roll_deg: float = 0.0) -> Pose:
    """Pose of a camera at `eye` that looks at `target`, rolled about its axis."""
    ahead = np.subtract(target, eye)
    ahead = ahead / np.linalg.norm(ahead)
    right = np.cross(ahead, (0, 0, 1.0))
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    c, s = np.cos(np.radians(roll_deg)), np.sin(np.radians(roll_deg))
    rows = (c * right + s * down, -s * right + c * down, ahead)
    return Pose(tuple(map(float, eye)), tuple(tuple(map(float, r)) for r in rows))


def bumped(pose: Pose, shift_mm, turn_deg) -> Pose:
    """Return the same camera knocked by a shift and small turns about its own axes."""
    extra, _ = cv2.Rodrigues(np.radians(np.asarray(turn_deg, float)))
    turn = extra @ np.array(pose.turn)
    eye = np.add(pose.eye, shift_mm)
    return Pose(tuple(map(float, eye)), tuple(tuple(map(float, r)) for r in turn))


@dataclass(frozen=True, slots=True)
class Sensor:
    """What the sensor and its software do to the light.

    `full_well` sets shot noise (electrons at white), `read` the dark noise in electrons, `drift` slow swings
    of exposure and white balance (shares), `jpeg` the quality.
    """

    exposure: float
    full_well: float = 4000.0
    read: float = 6.0
    white: tuple[float, float, float] = (1.0, 1.0, 1.0)
    drift: float = 0.01
    warm_drift: float = 0.005
    vignette: float = 0.12
    jpeg: int = 90
    softness_px: float = 0.0


def develop(
    light: np.ndarray, sensor: Sensor, time_s: float, gain: float, rng: np.random.Generator
) -> np.ndarray:
    """Linear light (h, w, RGB) to an 8-bit BGR picture."""
    h, w = light.shape[:2]
    y, x = np.mgrid[0:h, 0:w]
    edge = ((x - w / 2) ** 2 + (y - h / 2) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2)
    swing = 1 + sensor.drift * np.sin(time_s / 173.0 + 1.1) + 0.3 * sensor.drift * np.sin(time_s / 31.0)
    warm = sensor.warm_drift * np.sin(time_s / 397.0 + 0.4)
    balance = np.array(sensor.white) * np.array([1 + warm, 1.0, 1 - warm])
    signal = light * (sensor.exposure * swing * gain) * balance
    signal = signal * (1 - sensor.vignette * edge**1.3)[..., None]
    electrons = np.maximum(signal, 0) * sensor.full_well
    noise = rng.standard_normal(signal.shape, dtype=np.float32)
    electrons = electrons + np.sqrt(electrons + sensor.read**2) * noise
    value = np.clip(electrons / sensor.full_well, 0, 1)
    code = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    picture = (code * 255 + 0.5).astype(np.uint8)[..., ::-1]
    if sensor.softness_px > 0:
        picture = cv2.GaussianBlur(picture, (0, 0), sensor.softness_px)
    return np.ascontiguousarray(picture)
