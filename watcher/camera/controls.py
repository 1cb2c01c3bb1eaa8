"""Exposure, white balance and focus of a USB camera: set, read back, and said when they did not take.

A camera that follows the light by itself changes every shade in the picture when a hand comes into view.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import cv2

_DARKENS = 1.15  # a third of the light darkens a picture by more than this, whatever its tone curve
_TOO_DARK_TO_TELL = 8.0  # grey level of 255: nothing is lit
_MANUAL_EXPOSURE = 1.0
"""V4L2_EXPOSURE_MANUAL in the kernel's list; 3 is aperture priority, the usual automatic."""


class Controllable(Protocol):
    """An open camera whose settings can be set and read."""

    def set(self, prop: int, value: float) -> bool:
        """Set a setting; False when the driver refuses at once."""
        ...

    def get(self, prop: int) -> float:
        """Read a setting back."""
        ...


@dataclass(frozen=True, slots=True)
class Controls:
    """What to lock. None leaves that one to the camera.

    Attributes
    ----------
    exposure : float or None
        In the driver's own steps (V4L2: 100 microseconds each).
    white_balance_k : float or None
        Colour temperature. [K]
    focus : float or None
        In the driver's own steps.
    """

    exposure: float | None = None
    white_balance_k: float | None = None
    focus: float | None = None


def lock(camera: Controllable, controls: Controls) -> tuple[str, ...]:
    """Set what is to be locked.

    Returns
    -------
    tuple of str
        One plain sentence for each setting that the camera did not take.
    """
    remarks = []
    if controls.exposure is not None:
        # automatic first: some drivers refuse the value while they still choose it themselves
        camera.set(cv2.CAP_PROP_AUTO_EXPOSURE, _MANUAL_EXPOSURE)
        remarks += _set(camera, cv2.CAP_PROP_EXPOSURE, controls.exposure, "exposure")
    if controls.white_balance_k is not None:
        camera.set(cv2.CAP_PROP_AUTO_WB, 0.0)
        remarks += _set(camera, cv2.CAP_PROP_WB_TEMPERATURE, controls.white_balance_k, "white balance")
    if controls.focus is not None:
        camera.set(cv2.CAP_PROP_AUTOFOCUS, 0.0)
        remarks += _set(camera, cv2.CAP_PROP_FOCUS, controls.focus, "focus")
    return tuple(remarks)


def exposure_obeys(camera: Controllable, mean_grey: Callable[[], float], exposure: float) -> str:
    """Try whether the picture really darkens at a third of the exposure: some drivers say yes and do nothing.

    Parameters
    ----------
    camera : Controllable
    mean_grey : callable
        Takes new pictures and returns the mean grey of the last one, 0 to 255.
    exposure : float
        What it is locked to; set again at the end. [driver's steps]

    Returns
    -------
    str
        Empty when it obeys, else a plain sentence.
    """
    camera.set(cv2.CAP_PROP_EXPOSURE, exposure / 3.0)
    dark = mean_grey()
    camera.set(cv2.CAP_PROP_EXPOSURE, exposure)
    light = mean_grey()
    if light > _DARKENS * dark or light < _TOO_DARK_TO_TELL:
        return ""
    return (
        f"the camera says that it takes its exposure, but its picture stays as bright ({dark:.0f} at a third,"
        f" {light:.0f}): it still chooses by itself"
    )


def _set(camera: Controllable, prop: int, value: float, name: str) -> list[str]:
    camera.set(prop, value)
    read = camera.get(prop)
    if abs(read - value) <= 0.02 * abs(value) + 1.0:
        return []
    return [f"the camera did not take its {name}: asked for {value:g}, it says {read:g}"]
