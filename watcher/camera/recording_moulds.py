"""The moulds of a recording: profile, target, and the tag card or the place where each stands."""

from __future__ import annotations

from models.doors import BadValue
from models.mould import MouldProfile, PourHole, checked_mould
from watcher.camera.recording_fields import Fields, RecordingError
from watcher.records.layout import Card, PlacedMould

AREA_FROM_CUT_TEST_REL_SIGMA = 0.05
"""Spread of a wetted area that was given as one figure (common practice, no source)."""
_BORE = "give rows [depth_mm, diameter_mm], depth growing from 0 at the rim"


def read_mould(fields: Fields, *, placed: bool) -> tuple[PlacedMould, list[Fields]]:
    """Read one ``[[mould]]``.

    Parameters
    ----------
    fields : Fields
        The mould's table.
    placed : bool
        Whether a card or a place on the bench must be given, since the mould is to be found in pictures.

    Returns
    -------
    PlacedMould, list of Fields
        The mould, and every table that was read for it.

    Raises
    ------
    RecordingError
        A value is missing or not as wanted.
    """
    name = fields.text("name", "give what the caster calls the mould")
    card = _card(fields)
    place_mm = fields.point("place_mm") if fields.has("place_mm") else None
    if placed and card is None and place_mm is None:
        raise RecordingError(
            f"{fields.where} has neither tag_id nor place_mm; give the number of its tag card, or where its "
            "rim's centre lies on the bench"
        )
    profile, hole_fields = _profile(name, fields)
    return PlacedMould(name, profile, card, place_mm), [fields, *hole_fields]


def _card(fields: Fields) -> Card | None:
    if not fields.has("tag_id"):
        # the two others mean nothing alone, and must not be warned of as unknown
        for key in ("tag_size_mm", "rim_centre_from_tag_mm"):
            fields.has(key)
        return None
    return Card(
        tag_id=fields.whole("tag_id", "give the number printed on the tag, 0 or more"),
        size_mm=fields.number("tag_size_mm", "give the side of the black square in mm, above 0", above=0.0),
        rim_centre_from_tag_mm=fields.point("rim_centre_from_tag_mm"),
    )


def _profile(name: str, fields: Fields) -> tuple[MouldProfile, list[Fields]]:
    bore = fields.rows("bore", 2, _BORE)
    holes, hole_fields = _holes(fields)
    target = _target(fields)
    area_mm2 = _optional(fields, "wetted_area_mm2", "give the wetted plaster in mm2, above 0")
    water_ml = _optional(fields, "target_water_ml", "give the water of a good cast in mL, above 0")
    trim_mm = _optional(fields, "trim_line_mm", "give the depth of the trim line below the rim in mm")
    spread = _optional(fields, "area_rel_sigma", "give the wetted area's spread as a share, 0 to 1")
    if spread is None:
        spread = 0.01 if area_mm2 is None else AREA_FROM_CUT_TEST_REL_SIGMA
    try:
        profile = checked_mould(
            name,
            bore,
            holes=holes,
            target_wall_mm=target,
            wetted_area_mm2=area_mm2,
            target_water_ml=water_ml,
            trim_line_mm=trim_mm,
            area_rel_sigma=spread,
            solid=_solid(fields),
        )
    except BadValue as fault:
        file = fields.where.split(":")[0]
        raise RecordingError(f"{file}: mould {fault}") from fault
    return profile, hole_fields


def _solid(fields: Fields) -> bool:
    """Whether the piece is cast solid: fed until the cake meets, and never tipped."""
    if not fields.has("solid"):
        return False
    value = fields.value("solid")
    if not isinstance(value, bool):
        raise fields.fault("solid", "give true for a piece that is cast solid, else false")
    return value


def _target(fields: Fields) -> float | tuple[float, ...] | None:
    wanted = "give the wanted wall in mm: one number above 0, or [thin, thick]"
    if not fields.has("target_wall_mm"):
        return None
    if isinstance(fields.value("target_wall_mm"), list):
        return fields.numbers("target_wall_mm", 2, wanted)
    return fields.number("target_wall_mm", wanted, above=0.0)


def _optional(fields: Fields, key: str, wanted: str) -> float | None:
    return fields.number(key, wanted) if fields.has(key) else None


def _holes(fields: Fields) -> tuple[tuple[PourHole, ...], list[Fields]]:
    tables = fields.tables(
        "holes", "give a list of {centre_mm = [x, y], bore = ...} or {..., axes_mm = [long, short]}"
    )
    every = [Fields(f"{fields.where} hole {n}:", table) for n, table in enumerate(tables, start=1)]
    return tuple(map(_hole, every)), every


def _hole(fields: Fields) -> PourHole:
    centre_mm = (0.0, 0.0)
    if fields.has("centre_mm"):
        found = fields.value("centre_mm")
        count = 3 if isinstance(found, list) and len(found) == 3 else 2  # a height would be the rim's own
        centre = fields.numbers("centre_mm", count, "give [x, y] in mm from the rim's centre")
        centre_mm = (centre[0], centre[1])
    bore = fields.rows("bore", 2, _BORE) if fields.has("bore") else ()
    axes_mm = None
    if fields.has("axes_mm"):
        long_mm, short_mm = fields.numbers(
            "axes_mm", 2, "give [long, short], the oval's full axes at the rim in mm"
        )
        axes_mm = (long_mm, short_mm)
    return PourHole(centre_mm, tuple((depth, wide) for depth, wide in bore), axes_mm)
