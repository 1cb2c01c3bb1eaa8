"""First places of cameras and tags, one after the other from what is known, for the survey to begin from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import SheetTag
from watcher.vision.pose import sheet_corners, square

Array = npt.NDArray[np.float64]
Pose = tuple[Array, Array]
"""Rotation (3, 3) and shift (3,): camera: bench to camera; tag: its own axes to bench."""


@dataclass(frozen=True, slots=True)
class Placed:
    """What could be placed: cameras by picture, tags by number; `pictures` are those that were given."""

    pictures: Sequence[Mapping[int, Array]]
    cameras: Mapping[int, Pose]
    tags: Mapping[int, Pose]


def first_guess(
    pictures: Sequence[Mapping[int, Array]],
    known: Sequence[SheetTag],
    sizes_mm: Mapping[int, float],
    focal_px: float,
) -> Placed:
    """Place cameras by known tags and tags by placed cameras, until nothing is added."""
    corners = {tag.tag_id: sheet_corners(tag) for tag in known}
    cameras: dict[int, Pose] = {}
    tags: dict[int, Pose] = {}
    grown = True
    while grown:
        grown = False
        for number, seen in enumerate(pictures):
            if number not in cameras:
                pose = _camera(seen, corners)
                if pose is not None:
                    cameras[number], grown = pose, True
        for tag, size in sizes_mm.items():
            if tag not in tags:
                best = _best_tag(tag, size, pictures, cameras)
                if best is not None:
                    tags[tag], grown = best, True
                    corners[tag] = square(size) @ best[0].T + best[1]
    return Placed(pictures, cameras, tags)


def _camera(seen: Mapping[int, Array], corners: Mapping[int, Array]) -> Pose | None:
    shared = sorted(set(seen) & set(corners))
    if not shared:
        return None
    world = np.concatenate([corners[tag] for tag in shared])
    image = np.concatenate([seen[tag] for tag in shared]).reshape(-1, 1, 2)
    method = cv2.SOLVEPNP_SQPNP
    done, rvec, tvec = cv2.solvePnP(world, image, np.eye(3), np.zeros(5), flags=method)
    if not done or not np.isfinite(tvec).all():
        return None
    rvec, tvec = cv2.solvePnPRefineLM(world, image, np.eye(3), np.zeros(5), rvec, tvec)
    rotation = np.asarray(cv2.Rodrigues(rvec)[0], dtype=np.float64)
    shift = np.asarray(tvec, dtype=np.float64).ravel()
    if float((world @ rotation.T + shift)[:, 2].min()) <= 0.0:
        return None
    return rotation, shift


def _best_tag(
    tag: int, size_mm: float, pictures: Sequence[Mapping[int, Array]], cameras: Mapping[int, Pose]
) -> Pose | None:
    """Of all ways in which one picture may show the tag, take the one that fits all pictures best."""
    views = [(cameras[n], seen[tag]) for n, seen in enumerate(pictures) if n in cameras and tag in seen]
    trials = [trial for camera, image in views for trial in _both_ways(size_mm, camera, image)]
    if not trials:
        return None
    return min(trials, key=lambda trial: sum(_misfit(trial, size_mm, *view) for view in views))


def _both_ways(size_mm: float, camera: Pose, image: Array) -> list[Pose]:
    """Return both tilts that a small square seen from afar can have."""
    count, rvecs, tvecs, _ = cv2.solvePnPGeneric(
        square(size_mm), image.reshape(-1, 1, 2), np.eye(3), np.zeros(5), flags=cv2.SOLVEPNP_IPPE_SQUARE
    )
    rotation, shift = camera
    poses = []
    for n in range(count):
        turn = rotation.T @ np.asarray(cv2.Rodrigues(rvecs[n])[0], dtype=np.float64)
        poses.append((turn, rotation.T @ (np.ravel(tvecs[n]) - shift)))
    return [pose for pose in poses if np.isfinite(pose[0]).all() and np.isfinite(pose[1]).all()]


def _misfit(pose: Pose, size_mm: float, camera: Pose, image: Array) -> float:
    points = (square(size_mm) @ pose[0].T + pose[1]) @ camera[0].T + camera[1]
    if float(points[:, 2].min()) <= 0.0:
        return 1e9
    return float(((points[:, :2] / points[:, 2:] - image) ** 2).sum())
