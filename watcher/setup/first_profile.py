"""A mould's first profile, from a calliper; what that leaves open stands in its way and spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from models.doors import BadValue
from models.mould import checked_mould
from models.profile_text import ProfileCard, ProfileFile
from models.profile_ways import AREA_REL_SIGMA, Way, area_from_calliper
from watcher.setup.mould_place import MouldPlaced

USUAL_WIDTHS, UNKNOWN_DEPTH_REL_SIGMA = 2.0, 0.6
"""A cavity whose depth nobody measured is taken to be so many hole widths deep, and its wetted area to be
known no better than this (common practice, no source)."""
SPARE_MM, WIDER_MM = 25.0, 1.5
"""A spare narrows downwards, else its clay would not come out: a hole that is wider than its rim by so much
at so small a depth is more often two numbers swapped than a mould (common practice, no source). [mm]"""


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a new mould.

    `bore` are rows of depth and diameter from the rim down; `depth_mm` is the cavity's depth; `whole_bore`:
    the rows reach down to the floor; `wall_mm`: one number, or thin and thick end. All in mm.
    """

    name: str
    bore: tuple[tuple[float, float], ...]
    wall_mm: float | tuple[float, float] | None = None
    depth_mm: float | None = None
    whole_bore: bool = False
    deepest_mm: float = 20.0


def first_profile(given: Measured) -> ProfileFile:
    """Make the first profile.

    Raises
    ------
    BadValue
        A value cannot be right, or a wall in mm is wanted of a mould of unknown depth.
    """
    bore = given.bore
    if given.whole_bore:
        area_known = AREA_REL_SIGMA[Way.BORE_TABLE]
        mould = checked_mould(given.name, bore, target_wall_mm=given.wall_mm, area_rel_sigma=area_known)
        return ProfileFile(mould, way=Way.BORE_TABLE)
    if given.wall_mm is not None and given.depth_mm is None:
        raise BadValue(
            "a wall in mm needs the cavity's depth as well; give --depth, or all diameters and --whole-bore"
        )
    deepest = given.depth_mm
    if deepest is None:
        deepest = max(bore[-1][0] + given.deepest_mm, USUAL_WIDTHS * bore[0][1])
    if deepest > bore[-1][0]:
        bore = (*bore, (deepest, bore[-1][1]))
    area = None if given.depth_mm is None else area_from_calliper(bore[0][1], given.depth_mm).value
    mould = checked_mould(
        given.name,
        bore,
        target_wall_mm=given.wall_mm,
        wetted_area_mm2=area,
        area_rel_sigma=AREA_REL_SIGMA[Way.CALLIPER] if area is not None else UNKNOWN_DEPTH_REL_SIGMA,
    )
    return ProfileFile(mould, way=Way.CALLIPER)


def with_place(profile: ProfileFile, placed: MouldPlaced, *, new: bool) -> ProfileFile:
    """Put a found rim into a profile: the card that it is known by, or its place on the bench."""
    card = placed.card
    if new and placed.holes:
        profile = replace(profile, mould=replace(profile.mould, holes=placed.holes))
    if card is None:
        x, y, z = (round(value, 2) for value in placed.rim.centre_mm)
        return replace(profile, card=ProfileCard(place_mm=(x, y, z)))
    x, y, z = (round(value, 2) for value in card.rim_centre_from_tag_mm)
    return replace(profile, card=ProfileCard(card.tag_id, card.size_mm, (x, y, z)))


def odd_bore(bore: Sequence[Sequence[float]]) -> str | None:
    """Question diameters that look swapped: a sentence, or None."""
    rim = bore[0][1]
    for depth, wide in bore[1:]:
        if depth <= SPARE_MM and wide > rim + WIDER_MM:
            return (
                f"{depth:g} mm down the hole is {wide:g} mm wide, wider than the {rim:g} mm of its rim; were "
                "two diameters swapped, or a depth and a diameter?"
            )
    return None
