"""All cameras and tags of a survey as one vector of unknowns, and how far the corners lie from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import SheetTag
from watcher.setup.survey_start import Placed, Pose
from watcher.vision.pose import SHRINK_PRIOR_PX, sheet_corners, square, widen

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sight:
    """One tag in one picture: `picture` and `camera` number it before and after some were left out."""

    picture: int
    camera: int
    tag: int
    corners: Array
    wider: Array  # what one pixel of widening does to the corners


@dataclass(frozen=True, slots=True)
class Bundle:
    """The unknowns in order: six of each camera, six of each tag, the shrink in px.

    A pose is six numbers: a small turn (Rodrigues) after the starting rotation, then the shift.
    """

    sights: tuple[Sight, ...]
    cameras: tuple[Pose, ...]
    tags: Mapping[int, tuple[int, Pose]]
    fixed: Mapping[int, Array]
    sizes_mm: Mapping[int, float]
    focal_px: float

    @staticmethod
    def of(
        start: Placed, known: Sequence[SheetTag], sizes_mm: Mapping[int, float], focal_px: float
    ) -> Bundle:
        """Lay out the unknowns for what could be placed."""
        numbers = {picture: n for n, picture in enumerate(sorted(start.cameras))}
        fixed = {tag.tag_id: sheet_corners(tag) for tag in known}
        sights = tuple(
            Sight(picture, camera, tag, corners, widen(corners, 1.0 / focal_px) - corners)
            for picture, camera in numbers.items()
            for tag, corners in start.pictures[picture].items()
            if tag in fixed or tag in start.tags
        )
        cameras = tuple(start.cameras[picture] for picture in numbers)
        tags = {tag: (6 * (len(cameras) + n), start.tags[tag]) for n, tag in enumerate(sorted(start.tags))}
        return Bundle(sights, cameras, tags, fixed, sizes_mm, focal_px)

    def begin(self) -> Array:
        """Return the unknowns to start from."""
        poses = [*self.cameras, *(pose for _, pose in self.tags.values())]
        return np.array([value for _, shift in poses for value in (0.0, 0.0, 0.0, *shift)] + [0.0])

    def away(self, unknowns: Array) -> Array:
        """How far each corner lies from where it should, in px, and the shrink from nought (as a prior)."""
        shrink = float(unknowns[-1])
        cameras = [_turned(pose, unknowns[6 * n : 6 * n + 6]) for n, pose in enumerate(self.cameras)]
        corners = dict(self.fixed)
        for tag, (at, pose) in self.tags.items():
            rotation, centre = _turned(pose, unknowns[at : at + 6])
            corners[tag] = square(self.sizes_mm[tag]) @ rotation.T + centre
        parts = []
        for sight in self.sights:
            rotation, shift = cameras[sight.camera]
            points = corners[sight.tag] @ rotation.T + shift
            seen = sight.corners + shrink * sight.wider
            parts.append((points[:, :2] / points[:, 2:] - seen).ravel() * self.focal_px)
        return np.concatenate([*parts, [0.1 * shrink / SHRINK_PRIOR_PX]])

    def scatter_px(self, away: Array) -> float:
        """Scatter of the corners, the unknowns allowed for, in px."""
        free = max(away.size - 6 * (len(self.cameras) + len(self.tags)), 1)
        return float(np.sqrt((away[:-1] ** 2).sum() / free))

    def scatter_of_each(self, away: Array) -> list[tuple[int, int, float]]:
        """Scatter of each tag in each picture: (picture, tag, px)."""
        each = np.sqrt((away[:-1].reshape(-1, 8) ** 2).mean(axis=1))
        return [(s.picture, s.tag, float(px)) for s, px in zip(self.sights, each, strict=True)]

    def tag_pose(self, unknowns: Array, tag: int) -> tuple[Array, Array, int]:
        """Return a tag's rotation and place in the bench frame, and where its unknowns begin."""
        at, pose = self.tags[tag]
        rotation, centre = _turned(pose, unknowns[at : at + 6])
        return rotation, centre, at


def spread_of(jacobian: Array, sigma_px: float) -> Array:
    """Covariance of the unknowns."""
    information = jacobian.T @ jacobian
    # along the way scipy scales rows where the loss is soft; what is flat is left wide, not refused
    return np.asarray(np.linalg.pinv(information, hermitian=True)) * sigma_px**2


def _turned(pose: Pose, six: Array) -> Pose:
    turn = np.asarray(cv2.Rodrigues(np.ascontiguousarray(six[:3]))[0], dtype=np.float64)
    return turn @ pose[0], six[3:]
