"""Read what was printed and surveyed: the `[[sheet]]` tags, the cards' sizes and the bench's up."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from models.doors import BadValue
from watcher.camera.recording_fields import Fields, RecordingError
from watcher.records.layout import Point3, SheetTag
from watcher.setup.tag_print import DICTIONARY


@dataclass(frozen=True, slots=True)
class BenchFile:
    """What a file of the sheet says. `card_sizes_mm`: side of each printed card's square, by its number."""

    tags: tuple[SheetTag, ...]
    dictionary: str
    card_sizes_mm: Mapping[int, float]
    up: Point3

    @property
    def flat_sheet(self) -> tuple[SheetTag, ...]:
        """The tags that lie on the bench itself."""
        return tuple(tag for tag in self.tags if tag.rotation_deg is None and tag.centre_mm[2] == 0.0)


def read_bench(path: Path) -> BenchFile:
    """Read a file with `[[sheet]]` tables: what `tipbell cards` wrote, a survey, or a recording's.

    Raises
    ------
    BadValue
        The file is missing, is not TOML, or a value is not as wanted; one sentence.
    """
    try:
        with path.open("rb") as file:
            top = Fields(f"{path.name}:", tomllib.load(file))
    except FileNotFoundError:
        raise BadValue(
            f"there is no file {path} of the bench sheet; print it first with `tipbell cards`"
        ) from None
    except (ValueError, RecursionError, OSError) as fault:
        raise BadValue(f"{path.name} cannot be read as TOML: {fault}") from fault
    try:
        return _bench(top, path.name)
    except RecordingError as fault:
        raise BadValue(str(fault)) from fault


def _bench(top: Fields, name: str) -> BenchFile:
    tables = top.tables("sheet", "give one [[sheet]] for each tag")
    if not tables:
        raise BadValue(f"{name} has no [[sheet]]; give one for each tag of the bench sheet")
    rows = [Fields(f"{name}: [[sheet]] {n}:", table) for n, table in enumerate(tables, start=1)]
    families = {
        row.text("dictionary", "give the family") if row.has("dictionary") else DICTIONARY for row in rows
    }
    if len(families) > 1:
        raise BadValue(f"{name}: its tags are of several families ({', '.join(sorted(families))}); use one")
    tags = tuple(map(_tag, rows))
    ids = [tag.tag_id for tag in tags]
    twice = sorted({tag for tag in ids if ids.count(tag) > 1})
    if twice:
        raise BadValue(f"{name}: tag {twice[0]} is there twice; give every tag its own number")
    return BenchFile(tags, families.pop(), _cards(top, name), _up(top, name))


def _tag(row: Fields) -> SheetTag:
    return SheetTag(
        row.whole("id", "give the number printed on the tag"),
        row.number("size_mm", "give the side of the black square in mm, above 0", above=0.0),
        row.point("centre_mm"),
        row.number("yaw_deg", "give degrees") if row.has("yaw_deg") else 0.0,
        row.point("rotation_deg") if row.has("rotation_deg") else None,
    )


def _cards(top: Fields, name: str) -> Mapping[int, float]:
    cards = [Fields(f"{name}: [[card]]", one) for one in top.tables("card", "give [[card]] tables")]
    cards += [
        Fields(f"{name}: [[mould]]", one)
        for one in top.tables("mould", "give [[mould]] tables")
        if "tag_id" in one
    ]
    sizes = {
        card.whole("tag_id", "give the card's number"): card.number(
            "tag_size_mm", "give mm, above 0", above=0.0
        )
        for card in cards
    }
    return MappingProxyType(sizes)


def _up(top: Fields, name: str) -> Point3:
    if not top.has("bench"):
        return (0.0, 0.0, 1.0)
    fields = Fields(f"{name}: [bench]", top.table("bench", "give a section [bench]"))
    if not fields.has("up"):
        return (0.0, 0.0, 1.0)
    x, y, z = fields.point("up")
    length = (x * x + y * y + z * z) ** 0.5
    if length < 1e-6 or z <= 0.0:
        raise fields.fault("up", "give the direction against gravity, its last number above 0")
    return x / length, y / length, z / length
