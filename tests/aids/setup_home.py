"""A folder that a bench is being set up in, without a page: its desks, and pictures dropped into it."""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
from setup_bench import FIELD_DEG, NAME

from watcher.clock import ComputerClock
from watcher.service.setting_up import SetupDesks, first_desks


class Home:
    """A folder that a bench is being set up in, with pictures dropped into it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.begun: list[bool] = []
        self.count = 0
        self.desks = self.open()

    def open(self) -> SetupDesks:
        return first_desks(
            self.folder / "tipbell.toml",
            ComputerClock(),
            lambda: self.begun.append(True),
            port=8417,
            roots=(self.folder,),
        )

    def drop(self, image: np.ndarray) -> None:
        drop = self.folder / "drop"
        drop.mkdir(exist_ok=True)
        self.count += 1
        part = drop / "part.tmp"
        part.write_bytes(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes())
        os.replace(part, drop / f"{self.count:03d}.jpg")

    def until_lens(self, image: np.ndarray) -> None:
        self.drop(image)
        self.desks.camera.choose(str(self.folder / "drop"), 1280, 720)
        self.desks.cards.name((NAME,))
        self.desks.cards.measured(250.0, 160.0)
        self.desks.lens.guess(FIELD_DEG, diagonal=False)
