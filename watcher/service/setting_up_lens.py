"""The lens step: guess it, or gather views of the board until nothing is missing and work it out."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

import cv2
import numpy as np

from models.doors import BadValue
from watcher.page.port import Picture
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import LensShown, Told
from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.service.setting_up_camera import SetupCamera
from watcher.service.setting_up_pictures import shown_picture
from watcher.setup.calibration import LensRefused, calibrate
from watcher.setup.folder import SetupFolder
from watcher.setup.lens_board import LensBoard
from watcher.setup.lens_file import lens_text
from watcher.setup.lens_guess import guess_cost, guess_warning, guessed_lens
from watcher.setup.lens_picture import coverage_picture
from watcher.setup.lens_views import LensViews, take_in
from watcher.vision.lens import USUAL_FIELD_DEG


class SetupLens:
    """The lens. Kept views lie as pictures in `setup/lens-pictures`, so that one can go on another day."""

    def __init__(self, folder: SetupFolder, camera: SetupCamera) -> None:
        self._folder = folder
        self._camera = camera
        self._lock = Lock()
        self._views: LensViews | None = None
        self._looked_s = -1.0

    def shown(self) -> LensShown:
        """Return what is known of the lens, and which views are there."""
        kind, says = self._kind()
        so_far = self._views or LensViews(LensBoard())
        kept = len(list(self._folder.lens_pictures.glob("*.png"))) if self._views is None else 0
        covered = so_far.covered
        marked = f"{len(so_far.views)}-{self._looked_s:.2f}" if so_far.last or so_far.views else ""
        return LensShown(
            kind, says, max(len(so_far.views), kept), covered.missing if not kept else (), so_far.said, marked
        )

    def guess(self, view_deg: float | None, *, diagonal: bool) -> Told:
        """Guess it from its field of view; says what that costs."""
        try:
            lens = guessed_lens(*self._camera.size_px, view_deg or USUAL_FIELD_DEG, diagonal=diagonal)
        except BadValue as fault:
            raise Unfit(str(fault), "view_deg") from None
        warning = guess_warning(guess_cost(lens, from_box=view_deg is not None))
        self._keep(lens_text(lens, guess=warning))
        return Told((warning,))

    def look(self) -> LensShown:
        """Look once for the board and keep the view if it is sharp, still and new."""
        frame = self._camera.frame()
        with self._lock:
            so_far = self._gathered()
            if frame.taken_s != self._looked_s:
                before = len(so_far.views)
                so_far = take_in(so_far, frame.image, frame.name, live=True)
                self._views, self._looked_s = so_far, frame.taken_s
                if len(so_far.views) > before:
                    _save(self._folder.lens_pictures / f"board-{len(so_far.views):03d}.png", frame.image)
        return self.shown()

    def coverage(self) -> Picture:
        """Return the coverage map."""
        so_far = self._views or LensViews(LensBoard())
        marked = f"{len(so_far.views)}-{self._looked_s:.2f}"
        return shown_picture(coverage_picture(so_far), marked, datetime.fromtimestamp(0.0, UTC))

    def measure(self) -> Told:
        """Work the lens out from the views."""
        with self._lock:
            so_far = self._gathered()
        if not so_far.views:
            raise Unfit("no view of the board is kept yet; take some first")
        found = calibrate(so_far.views, so_far.board)
        if isinstance(found, LensRefused):
            raise Unfit(f"these {len(so_far.views)} views are not enough for the lens; {found.why}")
        self._keep(lens_text(found.lens, found))
        left_out = tuple(f"{name} did not fit and was left out" for name in found.left_out)
        return Told(
            (
                f"lens measured from {found.covered.views} views: focal length {found.lens.fx_px:.0f} px, "
                f"give or take {found.fit.focal_sigma_px:.1f}, corners within {found.fit.fit_px:.2f} px",
                *left_out,
            )
        )

    def forget(self) -> Told:
        """Put the views away and begin anew."""
        with self._lock:
            for path in self._folder.lens_pictures.glob("board-*.png"):
                path.unlink()
            self._views = LensViews(LensBoard())
        return Told(("the views are put away",))

    def lens(self) -> Lens:
        """Return the lens, or raise `Unfit` where it is not known."""
        try:
            lens = self._folder.read_lens()
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        if lens is None:
            raise Unfit("the lens is not known yet; guess it, or measure it")
        if (lens.width_px, lens.height_px) != self._camera.size_px:
            width_px, height_px = self._camera.size_px
            raise Unfit(
                f"the lens belongs to pictures of {lens.width_px} x {lens.height_px} and the camera gives "
                f"{width_px} x {height_px}; guess or measure it anew"
            )
        return lens

    def _gathered(self) -> LensViews:
        """Take up the views of an earlier day."""
        if self._views is None:
            so_far = LensViews(LensBoard())
            for path in sorted(self._folder.lens_pictures.glob("*.png")):
                image = cv2.imread(str(path), cv2.IMREAD_COLOR)
                if image is not None:
                    so_far = take_in(so_far, np.asarray(image, dtype=np.uint8), path.name, live=False)
            self._views = so_far
        return self._views

    def _keep(self, text: str) -> None:
        self._folder.own.mkdir(parents=True, exist_ok=True)
        draft = self._folder.lens.with_name(".lens.toml.part")
        draft.write_text(text, encoding="utf-8")
        draft.replace(self._folder.lens)

    def _kind(self) -> tuple[str, str]:
        try:
            held = tomllib.loads(self._folder.lens.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return "none", ""
        except (OSError, ValueError, RecursionError) as fault:
            return "none", f"{self._folder.lens.name} cannot be read: {fault}"
        if "guessed" in held:
            return "guess", str(held["guessed"].get("warning", ""))
        measured = held.get("measured", {})
        return "measured", f"{measured['views']} views" if "views" in measured else ""


def _save(path: Path, image: Image) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    fine, data = cv2.imencode(".png", image)
    if fine:
        path.write_bytes(data.tobytes())
