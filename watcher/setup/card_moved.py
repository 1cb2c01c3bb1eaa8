"""Whether a card was put back elsewhere: held against the rim of its empty mould."""

from __future__ import annotations

import math

from models.profile_text import ProfileFile
from watcher.records.frames import Image
from watcher.records.layout import Lens, Point3
from watcher.setup.bench_sight import BenchSight
from watcher.setup.found_rim import asked_with_found_rim
from watcher.setup.mould_place import MouldAsked, place_mould
from watcher.setup.rim_fit import NoRim

MOVED_MM = 3.0
"""A card further off than this was moved: the rim is found to a few tenths of a mm, a guessed lens and a worn
card add one or two (common practice, no source). [mm]"""


def card_moved(
    image: Image, sight: BenchSight, profile: ProfileFile, lens: Lens, up: Point3 = (0.0, 0.0, 1.0)
) -> str | None:
    """Say so where a card no longer lies from the rim as it did when the mould was taken in.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
        The mould, empty.
    sight : BenchSight
        Of the same picture.
    profile : ProfileFile
    lens : Lens
    up : Point3

    Returns
    -------
    str or None
        None where nothing is wrong, or where it cannot be told.
    """
    card, rim_mm = profile.card, profile.mould.bore[0][1]
    if card.tag_id is None or card.tag_size_mm is None or card.rim_centre_from_tag_mm is None:
        return None
    if any(hole.axes_mm is not None for hole in profile.mould.holes):
        return None
    asked = MouldAsked(profile.mould.name, (), ((0.0, rim_mm),), card.tag_id, card.tag_size_mm)
    found = asked_with_found_rim(image, sight, asked, lens, up)
    if isinstance(found, NoRim):
        return None
    placed = place_mould(image, sight, found, lens, up)
    if isinstance(placed, NoRim) or placed.card is None:
        return None
    off = math.dist(placed.card.rim_centre_from_tag_mm[:2], card.rim_centre_from_tag_mm[:2])
    if off <= MOVED_MM:
        return None
    return (
        f"the card of '{profile.mould.name}' lies {off:.0f} mm off the place where it was taken in; put it "
        "back, or renew its place: a picture of the empty mould, and keep"
    )
