"""What stands on the bench and what looks at it: lens, bench sheet, moulds with their cards."""

from __future__ import annotations

from dataclasses import dataclass

from models.mould import MouldProfile

Point3 = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Lens:
    """A camera's calibration (pinhole with Brown's five distortion numbers, as OpenCV orders them)."""

    width_px: int
    height_px: int
    fx_px: float
    fy_px: float
    cx_px: float
    cy_px: float
    distortion: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class SheetTag:
    """One tag of the bench sheet (or of a strip on a wall), where it lies in the bench frame.

    The bench frame: x right, y away from the camera, z up, millimetres, origin at the sheet's centre.
    A tag's own axes: x right, y up the tag, z out of its face. `yaw_deg` turns it about z;
    `rotation_deg`, where given, are turns about x, then y, then z (fixed axes) and replaces `yaw_deg`.
    """

    tag_id: int
    size_mm: float
    centre_mm: Point3
    yaw_deg: float = 0.0
    rotation_deg: Point3 | None = None


@dataclass(frozen=True, slots=True)
class Card:
    """The tag card on a mould: which mould it is, and where the rim's centre lies from the tag's centre."""

    tag_id: int
    size_mm: float
    rim_centre_from_tag_mm: Point3


@dataclass(frozen=True, slots=True)
class PlacedMould:
    """A mould of this bench: its profile, and its card or its fixed place (rim centre in the bench frame)."""

    name: str
    profile: MouldProfile
    card: Card | None = None
    place_mm: Point3 | None = None


@dataclass(frozen=True, slots=True)
class BenchLayout:
    """All that one camera looks at. `up` is the direction against gravity in the bench frame."""

    camera: str
    lens: Lens | None
    sheet: tuple[SheetTag, ...]
    moulds: tuple[PlacedMould, ...]
    dictionary: str = "DICT_APRILTAG_36h11"
    up: Point3 = (0.0, 0.0, 1.0)

    def mould(self, name: str) -> PlacedMould:
        """Return the mould of that name; KeyError if it is not on this bench."""
        for mould in self.moulds:
            if mould.name == name:
                return mould
        raise KeyError(name)
