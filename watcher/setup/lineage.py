"""How two benches' versions of one mould's profile stand to each other: where it stands is each one's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

from models.profile_text import ProfileCard, profile_from_text, profile_to_text


class Lineage(StrEnum):
    """What there is to take from the other bench."""

    NEW = "new"  # nothing is known of the mould here
    SAME = "same"
    THEIRS = "theirs"  # the other bench has gone on from what is known here
    OURS = "ours"  # this bench has gone on from what is known there
    BOTH = "both"  # both have, each its own way


def compared(ours: Sequence[str], theirs: Sequence[str]) -> Lineage:
    """Compare the versions of a profile on two benches.

    Parameters
    ----------
    ours, theirs : sequence of str
        Every version as TOML, oldest first.
    """
    if not ours:
        return Lineage.NEW
    here, there = [_core(text) for text in ours], [_core(text) for text in theirs]
    if here[-1] == there[-1]:
        return Lineage.SAME
    if here[-1] in there:
        return Lineage.THEIRS
    return Lineage.OURS if there[-1] in here else Lineage.BOTH


def new_to(ours: Sequence[str], theirs: Sequence[str]) -> tuple[int, ...]:
    """Return the places of those versions of theirs that are not known here."""
    here = {_core(text) for text in ours}
    return tuple(place for place, text in enumerate(theirs) if _core(text) not in here)


def _core(text: str) -> str:
    return profile_to_text(replace(profile_from_text(text, source="a version"), card=ProfileCard()))
