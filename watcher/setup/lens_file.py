"""The file of a lens: the `[camera]` table of a recording or of the settings, and how it was found."""

from __future__ import annotations

import tomllib
from pathlib import Path

from models.doors import BadValue
from watcher.camera.recording_fields import Fields, RecordingError
from watcher.records.layout import Lens
from watcher.setup.calibration import LensFound
from watcher.setup.toml_text import Table, toml_text

HEADING = "A camera's lens: pixels, and Brown's distortion k1, k2, p1, p2, k3."


def lens_text(lens: Lens, found: LensFound | None = None, *, guess: str = "") -> str:
    """Write a lens as TOML; `found` tells how it was measured, `guess` what a guess costs."""
    camera: Table = {
        "width": lens.width_px,
        "height": lens.height_px,
        "fx": round(lens.fx_px, 3),
        "fy": round(lens.fy_px, 3),
        "cx": round(lens.cx_px, 3),
        "cy": round(lens.cy_px, 3),
        "distortion": [round(value, 6) for value in lens.distortion],
    }
    tables: list[tuple[str, Table]] = [("camera", camera)]
    if found is not None:
        how: Table = {
            "views": found.covered.views,
            "scatter_px": round(found.fit.fit_px, 3),
            "focal_sigma_px": round(found.fit.focal_sigma_px, 2),
            "centre_sigma_px": round(found.fit.centre_sigma_px, 2),
        }
        tables.append(("measured", how))
    if guess:
        tables.append(("guessed", {"warning": guess}))
    return toml_text(tables, HEADING)


def read_lens(path: Path) -> Lens:
    """Read the `[camera]` table of a lens file.

    Raises
    ------
    BadValue
        The file is missing, is not TOML, or a value is not as wanted; one sentence.
    """
    try:
        with path.open("rb") as file:
            held = tomllib.load(file)
    except FileNotFoundError:
        raise BadValue(
            f"there is no lens file {path}; measure the lens first, or give its field of view"
        ) from None
    except (ValueError, RecursionError, OSError) as fault:
        raise BadValue(f"{path.name} cannot be read as TOML: {fault}") from fault
    if not isinstance(held.get("camera"), dict):
        raise BadValue(f"{path.name} has no section [camera]; give the file that the lens was written to")
    fields = Fields(f"{path.name}: [camera]", held["camera"])
    try:
        bent = fields.numbers("distortion", 5, "give five numbers [k1, k2, p1, p2, k3]")
        return Lens(
            fields.whole("width", "give the picture's width in pixels", least=16),
            fields.whole("height", "give the picture's height in pixels", least=16),
            fields.number("fx", "give pixels, above 0", above=0.0),
            fields.number("fy", "give pixels, above 0", above=0.0),
            fields.number("cx", "give pixels"),
            fields.number("cy", "give pixels"),
            (bent[0], bent[1], bent[2], bent[3], bent[4]),
        )
    except RecordingError as fault:
        raise BadValue(str(fault)) from fault
