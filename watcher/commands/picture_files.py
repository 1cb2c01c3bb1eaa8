"""Read and write picture files for commands, with a sentence where that cannot be."""

from __future__ import annotations

from pathlib import Path

import cv2

from watcher.camera.pictures import MOST_BYTES, BadPicture, picture_of_any_size
from watcher.commands.refused import Refused
from watcher.records.frames import Image

ENDINGS = (".jpg", ".jpeg", ".png")


def pictures_in(folder: Path) -> list[Path]:
    """List the pictures of a folder by name."""
    if not folder.is_dir():
        raise Refused(f"there is no folder {folder}; give one with pictures (.jpg or .png)")
    found = sorted(path for path in folder.iterdir() if path.suffix.lower() in ENDINGS)
    if not found:
        raise Refused(f"the folder {folder} holds no pictures (.jpg or .png)")
    return found


def read_picture(path: Path) -> Image:
    """Read one picture in colour."""
    try:
        with path.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as fault:
        raise Refused(f"{path} cannot be read: {fault.strerror}") from fault
    image = picture_of_any_size(data)
    if isinstance(image, BadPicture):
        raise Refused(f"{path} is not a whole picture: {image.detail}")
    return image.copy()  # what was found is drawn into it


def write_picture(path: Path, image: Image) -> None:
    """Write a picture in the format of the file's ending."""
    if path.suffix.lower() not in ENDINGS:
        raise Refused(f"{path} has no ending of a picture; give .png or .jpg")
    path.parent.mkdir(parents=True, exist_ok=True)
    done, data = cv2.imencode(path.suffix.lower(), image)
    if not done:
        raise Refused(f"the picture {path} could not be made")
    path.write_bytes(data.tobytes())
