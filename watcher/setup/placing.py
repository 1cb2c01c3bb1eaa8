"""A profile's file as a mould of a bench, and back."""

from __future__ import annotations

from models.profile_text import ProfileCard, ProfileFile
from models.profile_ways import Way
from watcher.records.layout import Card, PlacedMould


def placed_mould(profile: ProfileFile) -> PlacedMould:
    """Return a profile as it stands on a bench."""
    card = profile.card
    whole = None not in (card.tag_id, card.tag_size_mm, card.rim_centre_from_tag_mm)
    if not whole:
        return PlacedMould(profile.mould.name, profile.mould, None, card.place_mm)
    assert card.tag_id is not None and card.tag_size_mm is not None
    assert card.rim_centre_from_tag_mm is not None
    known = Card(card.tag_id, card.tag_size_mm, card.rim_centre_from_tag_mm)
    return PlacedMould(profile.mould.name, profile.mould, known, card.place_mm)


def profile_of(placed: PlacedMould) -> ProfileFile:
    """Return a bench's mould as a profile; how its wetted area became known is told from what is there."""
    card = placed.card
    kept = (
        ProfileCard(place_mm=placed.place_mm)
        if card is None
        else ProfileCard(card.tag_id, card.size_mm, card.rim_centre_from_tag_mm, placed.place_mm)
    )
    way = Way.CUT_TEST if placed.profile.wetted_area_mm2 is not None else Way.BORE_TABLE
    return ProfileFile(placed.profile, kept, way)


def merged(placed: PlacedMould, known: ProfileFile | None) -> ProfileFile:
    """Return what a bench says of a mould, with what only its profile's file knows (ways, places, notes)."""
    told = profile_of(placed)
    if known is None:
        return told
    return ProfileFile(
        told.mould,
        told.card,
        known.way,
        known.plaster_dry_kg,
        known.casts_before,
        known.places,
        known.note,
    )
