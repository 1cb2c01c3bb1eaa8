"""What the caster wants of a day: closing time, pots of each mould, hands, the room; kept as a paper."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, time
from types import MappingProxyType

from watcher.setup.toml_text import Value, toml_text
from watcher.storage.papers import Paper

PAPER_NAME = "day"


@dataclass(frozen=True, slots=True)
class MouldWish:
    """What is wanted of one mould.

    Attributes
    ----------
    pots : int or None
        On this day, 0 to 30; None: nothing was said, so as many as the mould gives in a day.
    dry_kg : float or None
        The mould's weight bone dry; None: never weighed. [kg]
    """

    pots: int | None = None
    dry_kg: float | None = None


@dataclass(frozen=True, slots=True)
class DayWishes:
    """What the caster wants of a day.

    Attributes
    ----------
    day : date
        For which day it was said. `closing` and `pots` of another day are the habit.
    closing : time or None
        In the bench's zone; None: only the next pour is planned.
    hands : int
    room_c, room_rh : float
        The room that moulds dry in. [C], 0 to 1.
    dampest : float
        Free water over dry plaster with which a cast may still begin.
    most_casts : int
        Casts a day of a mould that was never weighed.
    drain_min, set_min : float
        From tip to drained, and to demoulding. [min]
    moulds : mapping of str to MouldWish
    skipped : frozenset of str
        Moulds that are left out today.
    sets : mapping of str to tuple of str
        Pieces of several parts: the moulds of each, by its name.
    """

    day: date
    closing: time | None = None
    hands: int = 1
    room_c: float = 20.0
    room_rh: float = 0.5
    dampest: float = 0.15
    most_casts: int = 5
    drain_min: float = 20.0
    set_min: float = 45.0
    moulds: Mapping[str, MouldWish] = field(default_factory=lambda: MappingProxyType({}))
    skipped: frozenset[str] = frozenset()
    sets: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))

    def of(self, mould: str) -> MouldWish:
        """Return what is wanted of a mould."""
        return self.moulds.get(mould, MouldWish())

    def pots_of(self, mould: str) -> int:
        """Return how many pots of a mould are wanted; where nothing was said, all that a day gives."""
        said = self.of(mould).pots
        return self.most_casts if said is None else said


def paper_text(wishes: DayWishes) -> str:
    """Write wishes as TOML."""
    day: dict[str, Value] = {
        "day": wishes.day.isoformat(),
        "closing": "" if wishes.closing is None else wishes.closing.isoformat("minutes"),
        "hands": wishes.hands,
        "room_c": wishes.room_c,
        "room_rh": wishes.room_rh,
        "dampest": wishes.dampest,
        "most_casts": wishes.most_casts,
        "drain_min": wishes.drain_min,
        "set_min": wishes.set_min,
        "skipped": sorted(wishes.skipped),
    }
    tables: list[tuple[str, Mapping[str, Value]]] = [("day", day)]
    for name, wish in wishes.moulds.items():
        row: dict[str, Value] = {"name": name}
        if wish.pots is not None:
            row["pots"] = wish.pots
        if wish.dry_kg is not None:
            row["dry_kg"] = wish.dry_kg
        tables.append(("[mould]", row))
    tables += [("[set]", {"name": name, "moulds": list(moulds)}) for name, moulds in wishes.sets.items()]
    return toml_text(tables)


def wishes_from(paper: Paper | None, today: date) -> DayWishes:
    """Return the wishes for today: those kept last; whom an earlier day left out is in again."""
    if paper is None:
        return DayWishes(today)
    text = tomllib.loads(paper.text)
    said = text["day"]
    wishes = DayWishes(
        date.fromisoformat(said["day"]),
        time.fromisoformat(said["closing"]) if said["closing"] else None,
        said["hands"],
        said["room_c"],
        said["room_rh"],
        said["dampest"],
        said["most_casts"],
        said["drain_min"],
        said["set_min"],
        MappingProxyType(
            {row["name"]: MouldWish(row.get("pots"), row.get("dry_kg")) for row in text.get("mould", ())}
        ),
        frozenset(said["skipped"]),
        MappingProxyType({row["name"]: tuple(row["moulds"]) for row in text.get("set", ())}),
    )
    return wishes if wishes.day == today else replace(wishes, day=today, skipped=frozenset())
