"""Small recordings written out for the tests, every line by hand."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

CAMERA = """
[camera]
width = 64
height = 48
fx = 60.0
fy = 60.0
cx = 31.5
cy = 23.5
distortion = [0.0, 0.0, 0.0, 0.0, 0.0]

[[sheet]]
dictionary = "DICT_APRILTAG_36h11"
id = 0
size_mm = 60.0
centre_mm = [-62.0, 62.0, 0.0]
yaw_deg = 0.0
"""
HEAD = """
[clock]
start = "2026-03-03T08:10:00Z"

[slip]
specific_gravity = 1.78
cake_solids_fraction = 0.635
"""
JUG = """
[[mould]]
name = "cream jug"
bore = [[0.0, 62.0], [20.0, 54.0], [30.0, 49.0], [60.0, 76.0], [112.0, 56.0]]
target_wall_mm = 3.0
"""
JUG_CARD = """
tag_id = 12
tag_size_mm = 26.0
rim_centre_from_tag_mm = [-44.0, 38.0, -0.35]
"""
BEAKER = """
[[mould]]
name = "beaker"
bore = [[0.0, 84.0], [16.0, 78.0], [20.0, 72.0], [110.0, 50.0]]
tag_id = 23
tag_size_mm = 26.0
rim_centre_from_tag_mm = [50.0, 53.0, -0.35]
"""


def jpeg(width_px: int = 64, height_px: int = 48) -> bytes:
    """Make a small plain picture with a little texture in it."""
    image = np.full((height_px, width_px, 3), 120, np.uint8)
    image[::7, ::5] = 180
    return cv2.imencode(".jpg", image)[1].tobytes()


def write_pictures(folder: Path, *, toml: str = HEAD + CAMERA + JUG + JUG_CARD, times=(0, 30, 60)) -> Path:
    """Write a recording of pictures."""
    (folder / "frames").mkdir(parents=True)
    (folder / "recording.toml").write_text(toml, encoding="utf-8")
    lines = ["file,time_s"]
    for number, time_s in enumerate(times):
        name = f"frames/{number:06d}.jpg"
        (folder / name).write_bytes(jpeg())
        lines.append(f"{name},{time_s}")
    (folder / "frames.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def write_levels(folder: Path, rows: str, *, toml: str = HEAD + JUG) -> Path:
    """Write a recording of given levels; `rows` are its lines below the header."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "recording.toml").write_text(toml, encoding="utf-8")
    (folder / "levels.csv").write_text("time_s,mould,level_mm\n" + rows, encoding="utf-8")
    return folder
