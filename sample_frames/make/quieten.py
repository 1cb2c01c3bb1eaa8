"""Take the renderer's own noise out of finished frames: `python quieten.py SET FROM TO [NAME ...]`.

A still part is rendered once and shown in many frames, so the noise of its paths stands still as no sensor's
noise does, twice as strong as in a photograph. Here the mean of the frames that share a still picture is
smoothed without crossing edges (bilateral filter), and each of these frames is multiplied by smoothed over
mean. Around pour holes, and in frames with a hand or a jug, every frame has fresh noise and stays as it is.
"""

from __future__ import annotations

import importlib
import shutil
import sys
from pathlib import Path

import cv2
import numpy as np
import render
from record import integrate
from story import Session

LIFT = 4.0  # grey levels, against dividing by black
FEWEST = 3


def shared(session: Session) -> list[list[int]]:
    """Frames (their numbers) that show the same still picture."""
    runs, groups = integrate(session), {}
    for k, t in enumerate(session.times):
        if not render.busy(session, runs, t):
            groups.setdefault(render.light_state(session, t), []).append(k)
    return [group for group in groups.values() if len(group) >= FEWEST]


def quieten(session: Session, source: Path, target: Path) -> None:
    """Copy a recording and quieten its frames."""
    if target.exists():
        shutil.rmtree(target)
    shutil.copytree(source, target)
    lens = session.lens
    for group in shared(session):
        frames = [cv2.imread(str(source / f"frames/{k:06d}.jpg")).astype(np.float32) for k in group]
        mean = np.mean(frames, axis=0)
        smooth = mean
        for _ in range(2):
            smooth = cv2.bilateralFilter(smooth, 9, 22, 2.2)
        holes = render.hole_pixels(session, session.times[group[0]]).reshape(lens.height, lens.width)
        holes = cv2.dilate(holes.astype(np.uint8), np.ones((3, 3)))[..., None] > 0
        ratio = np.where(holes, 1.0, (smooth + LIFT) / (mean + LIFT))
        for k, frame in zip(group, frames, strict=True):
            picture = np.clip((frame + LIFT) * ratio - LIFT + 0.5, 0, 255).astype(np.uint8)
            path = str(target / f"frames/{k:06d}.jpg")
            cv2.imwrite(path, picture, [cv2.IMWRITE_JPEG_QUALITY, session.sensor.jpeg])
    about = target / "about.md"
    if "quieten" not in about.read_text():
        with about.open("a") as f:
            f.write("\nThe still parts were quietened afterwards (quieten.py): no denoiser elsewhere.\n")


if __name__ == "__main__":
    for one in importlib.import_module(sys.argv[1]).sessions(sys.argv[4:] or None):
        quieten(one, Path(sys.argv[2]) / one.name, Path(sys.argv[3]) / one.name)
