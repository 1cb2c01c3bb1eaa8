"""What is typed and tapped on the set-up pages, checked field by field before anything is done with it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

_PLAIN = r"^[^\x00-\x1f\x7f]*$"
Name = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=_PLAIN, strip_whitespace=True)]
Millimetres = Annotated[float, Field(ge=0.0, le=2000.0)]
Wall = Annotated[float, Field(ge=0.3, le=60.0)]
Tap = tuple[Annotated[float, Field(ge=-8000.0, le=16000.0)], Annotated[float, Field(ge=-8000.0, le=16000.0)]]
Row = tuple[Millimetres, Annotated[float, Field(ge=1.0, le=2000.0)]]


class Typed(BaseModel):
    """Nothing is passed over: a key that nobody knows is refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class Nothing(Typed):
    """Nothing needs to be said."""


class CameraTyped(Typed):
    """A camera's address and its picture's size."""

    address: Annotated[str, StringConstraints(min_length=1, max_length=500, pattern=_PLAIN)]
    width_px: Annotated[int, Field(ge=64, le=8000)] = 1280
    height_px: Annotated[int, Field(ge=64, le=8000)] = 720


class NamesTyped(Typed):
    """The moulds that want a card."""

    names: Annotated[list[Name], Field(max_length=40)]


class PrintTyped(Typed):
    """Both printed lines as measured with a ruler."""

    ruler_mm: Annotated[float, Field(gt=0.0, le=2000.0)]
    ruler_up_mm: Annotated[float, Field(gt=0.0, le=2000.0)]


class GuessTyped(Typed):
    """The lens's field of view from the camera's box; none: an ordinary webcam's."""

    view_deg: float | None = None
    diagonal: bool = False


class StripTyped(Typed):
    """The side of a strip's square as printed; none: as drawn, at the print's scale. [mm]."""

    tag_mm: Annotated[float, Field(ge=10.0, le=400.0)] | None = None


class MouldTyped(Typed):
    """A mould to be taken in. Lengths in mm, points in pixels of the picture."""

    name: Name
    card: Annotated[int, Field(ge=0, le=100000)] | None = None
    taps: Annotated[list[Tap], Field(max_length=40)] = []
    bore: Annotated[list[Row], Field(max_length=12)] = []
    depth_mm: Annotated[float, Field(ge=4.0, le=2000.0)] | None = None
    whole_bore: bool = False
    thin_mm: Wall | None = None
    thick_mm: Wall | None = None
    oval_long_mm: Millimetres | None = None
    oval_short_mm: Millimetres | None = None
    second_taps: Annotated[list[Tap], Field(max_length=40)] = []
    second_mm: Millimetres | None = None
    rim_above_card_mm: Annotated[float, Field(ge=-300.0, le=300.0)] = -0.3
    rim_height_mm: Millimetres | None = None
    deepest_mm: Annotated[float, Field(ge=1.0, le=500.0)] = 20.0
    keep: bool = False
    sure: bool = False


class MouldNamed(Typed):
    """One mould."""

    mould: Name


class StartTyped(Typed):
    """What is still wanted before the bench is watched."""

    bench_name: Annotated[
        str, StringConstraints(min_length=1, max_length=40, pattern=_PLAIN, strip_whitespace=True)
    ] = "bench"
    zone: Annotated[str, StringConstraints(max_length=60, pattern=r"^[A-Za-z0-9_+/-]*$")] = "UTC"
    gravity: Annotated[float, Field(ge=1.2, le=2.2)] = 1.75
    cake: Annotated[float, Field(ge=0.4, le=0.75)] = 0.62
    every_s: Annotated[float, Field(ge=0.2, le=120.0)] = 5.0
    open: bool = False


class ChannelTyped(Typed):
    """A way to reach somebody."""

    name: Annotated[
        str, StringConstraints(min_length=1, max_length=40, pattern=_PLAIN, strip_whitespace=True)
    ]
    address: Annotated[str, StringConstraints(min_length=3, max_length=500, pattern=_PLAIN)]


class WallTyped(Typed):
    """An entry of the list of walls. [mm]."""

    use: Name
    thin_mm: Wall
    thick_mm: Wall


class UseTyped(Typed):
    """An entry of the list of walls by its name."""

    use: Name


class WantTyped(Typed):
    """The wall that a mould is wanted with; none: it goes by the cast that was good. [mm]."""

    mould: Name
    thin_mm: Wall | None = None
    thick_mm: Wall | None = None


class CutTyped(Typed):
    """A wall that was measured: where, in which state, of which cast."""

    mould: Name
    cast_id: Annotated[str, StringConstraints(max_length=120, pattern=_PLAIN)] = ""
    wall_mm: Annotated[float, Field(ge=0.2, le=60.0)]
    place: Literal["mean", "spare", "belly", "foot"] = "belly"
    basis: Literal["wet", "leather_hard", "dry", "fired"] = "wet"
    depth_mm: Millimetres | None = None
    minutes_ago: Annotated[float, Field(ge=0.0, le=600.0)] = 0.0
    sure: bool = False


class RulerTyped(Typed):
    """A level by the ruler. [mm]."""

    mould: Name
    level_mm: Annotated[float, Field(ge=0.0, le=1000.0)]


class DrawingTyped(Typed):
    """What a drawing says not of itself. `shrinkage_percent`: 0 for the cavity, linear for a piece."""

    name: Name
    unit: Literal["mm", "cm", "inch", "m"] = "mm"
    shrinkage_percent: Annotated[float, Field(ge=0.0, le=30.0)] = 0.0
    wall_mm: Wall | None = None
    sure: bool = False


class ProfileTyped(Typed):
    """Somebody's profile as text."""

    text: Annotated[str, StringConstraints(min_length=10, max_length=6000)]


class ElsewhereTyped(Typed):
    """A mould of another bench that is to be brought here; whose figures count where both have changed it."""

    bench_id: Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=_PLAIN)]
    mould: Name
    choice: Literal["ask", "theirs", "ours"] = "ask"
    sure: bool = False
