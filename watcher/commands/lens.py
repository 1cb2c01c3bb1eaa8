"""`tipbell lens`: measure a camera's lens with the printed board, or guess it from its field of view."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from threading import Event

from models.doors import BadValue
from watcher.camera.address import AddressError, camera_address
from watcher.camera.opening import open_source
from watcher.clock import ComputerClock
from watcher.commands.picture_files import pictures_in, read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.records.frames import Frame
from watcher.setup.calibration import LensFound, LensRefused, calibrate
from watcher.setup.lens_board import RULER_MM, SQUARE_MM, LensBoard
from watcher.setup.lens_file import lens_text
from watcher.setup.lens_guess import cost_of_lens, guess_cost, guess_warning, guessed_lens
from watcher.setup.lens_picture import coverage_picture
from watcher.setup.lens_views import LensViews, take_in
from watcher.setup.ruler import WrongScale, print_scale
from watcher.vision.lens import USUAL_FIELD_DEG

ASK_AGAIN_S = 0.2
SILENT_S = 30.0


@dataclass(frozen=True, slots=True)
class Camera:
    """A running camera: its address, the picture's size, and the folder that its kept pictures go to."""

    address: str
    size_px: tuple[int, int]
    keep: Path


def lens_from_pictures(
    folder: Path, out: Path, *, ruler_mm: float | None = None, picture: Path | None = None
) -> None:
    """Measure the lens from a folder of pictures of the board.

    Parameters
    ----------
    folder : Path
        Pictures of the board, all of one camera and size.
    out : Path
        The lens file to write.
    ruler_mm : float, optional
        Measured length of the board's 200 mm line. [mm]
    picture : Path, optional
        Where the coverage map goes.

    Raises
    ------
    Refused
        A poor set, with what is missing; or something given cannot be used.
    """
    so_far = _taken_from(folder, LensViews(_board(ruler_mm)))
    _finish(so_far, out, picture)


def lens_from_camera(
    camera: Camera, out: Path, *, ruler_mm: float | None = None, picture: Path | None = None
) -> None:
    """Measure the lens with a running camera that keeps pictures by itself: the board sharp, still and new.

    Kept pictures stay in a folder, so that the next call goes on from there.

    Raises
    ------
    Refused
        The camera cannot be used, or what it shows gives no lens.
    """
    so_far = LensViews(_board(ruler_mm))
    camera.keep.mkdir(parents=True, exist_ok=True)
    if any(camera.keep.iterdir()):
        so_far = _taken_from(camera.keep, so_far)
    try:
        so_far = _watched(camera, so_far, picture)
    except KeyboardInterrupt:
        print(f"stopped; the pictures kept in {camera.keep} count next time")
    _finish(so_far, out, picture)


def lens_from_view(
    out: Path, size_px: tuple[int, int], view_deg: float | None, *, diagonal: bool = False
) -> None:
    """Guess the lens from its field of view, with a warning of what that costs.

    Raises
    ------
    Refused
        A field of view that no webcam has.
    """
    try:
        lens = guessed_lens(*size_px, view_deg or USUAL_FIELD_DEG, diagonal=diagonal)
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    warning = guess_warning(guess_cost(lens, from_box=view_deg is not None))
    _write(out, lens_text(lens, guess=warning))
    print(warning)


def _board(ruler_mm: float | None) -> LensBoard:
    if ruler_mm is None:
        return LensBoard()
    scale = print_scale(RULER_MM, ruler_mm)
    if isinstance(scale, WrongScale):
        raise Refused(scale.why)
    return LensBoard(SQUARE_MM * scale.factor)


def _taken_from(folder: Path, so_far: LensViews) -> LensViews:
    for path in pictures_in(folder):
        so_far = take_in(so_far, read_picture(path), path.name, live=False)
        print(f"{path.name}: {so_far.said}")
    return so_far


def _watched(camera: Camera, so_far: LensViews, picture: Path | None) -> LensViews:
    """Look at the camera until nothing is missing."""
    try:
        address = camera_address(camera.address, (Path.cwd(), Path.home()))
    except AddressError as fault:
        raise Refused(str(fault)) from fault
    clock, wait = ComputerClock(), Event()
    source = open_source("lens", address, clock, size_px=camera.size_px)
    last_s, heard_s, said = -1.0, clock.now_s(), ""
    try:
        while so_far.covered.missing:
            newest = source.newest()
            if isinstance(newest, Frame) and newest.taken_s > last_s:
                before = len(so_far.views)
                so_far = take_in(so_far, newest.image, newest.name, live=True)
                last_s, heard_s = newest.taken_s, clock.now_s()
                if len(so_far.views) > before:
                    write_picture(camera.keep / f"board-{len(so_far.views):03d}.png", newest.image)
                if so_far.said != said:
                    said = so_far.said
                    print(
                        f"{said}; still missing: {'; '.join(so_far.covered.missing[:2]) or 'nothing'}",
                        flush=True,
                    )
                    if picture:
                        write_picture(picture, coverage_picture(so_far))
            elif not isinstance(newest, Frame) and clock.now_s() - heard_s > SILENT_S:
                raise Refused(newest.detail or f"the camera sends no picture ({newest.why})")
            wait.wait(ASK_AGAIN_S)
    finally:
        source.close()
    return so_far


def _finish(so_far: LensViews, out: Path, picture: Path | None) -> None:
    if picture:
        write_picture(picture, coverage_picture(so_far))
    if not so_far.views:
        raise Refused(f"no picture shows the board well enough; the last one: {so_far.said}")
    found = calibrate(so_far.views, so_far.board)
    if isinstance(found, LensRefused):
        raise Refused(f"these {len(so_far.views)} views are not enough for the lens; {found.why}")
    _write(out, lens_text(found.lens, found))
    _tell(found)


def _tell(found: LensFound) -> None:
    lens, fit = found.lens, found.fit
    off = replace(
        lens,
        fx_px=lens.fx_px + fit.focal_sigma_px,
        fy_px=lens.fy_px + fit.focal_sigma_px,
        cx_px=lens.cx_px + fit.centre_sigma_px,
    )
    cost = cost_of_lens(off, lens)
    for name in found.left_out:
        print(f"{name} did not fit and was left out")
    print(
        f"lens measured from {found.covered.views} views: focal length {lens.fx_px:.1f} px, "
        f"give or take {fit.focal_sigma_px:.1f}, corners within {fit.fit_px:.2f} px; "
        f"this leaves levels open by {cost.level_mm:.2f} mm"
    )


def _write(out: Path, text: str) -> None:
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(text, encoding="utf-8")
    print(f"wrote {out}")
