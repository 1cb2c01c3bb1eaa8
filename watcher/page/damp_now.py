"""What the caster wants of today, and how damp the moulds are by it."""

from __future__ import annotations

from models.doors import BadValue
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.mould_diary import Dampness, dampness_of, diary_of
from watcher.desk.wishes import PAPER_NAME as DAY
from watcher.desk.wishes import DayWishes, wishes_from
from watcher.page.dampness import DampShelf
from watcher.page.port import BenchPort
from watcher.records.kept import KeptCast
from watcher.records.layout import PlacedMould
from watcher.storage.papers import PaperKind


def wishes_now(port: BenchPort, memory: BenchMemory) -> DayWishes:
    """Return what the caster wants of today."""
    papers = memory.papers(PaperKind.DAY, DAY)
    return wishes_from(papers[0] if papers else None, day_of(port.now(), memory.zone))


def dampness_now(
    port: BenchPort,
    memory: BenchMemory,
    placed: PlacedMould,
    casts: tuple[KeptCast, ...],
    wishes: DayWishes,
) -> Dampness | None:
    """Return how damp a mould is now; None where it was never weighed or its weights cannot be right."""
    try:
        weighed = memory.after.weighings(placed.name)
        diary = diary_of(
            placed.profile, port.bench().slip, casts, weighed, wishes, memory.telling.told(placed.name)
        )
    except BadValue:
        return None
    return None if diary is None else dampness_of(diary, port.now(), placed.profile)


def damp_shelf(port: BenchPort, memory: BenchMemory) -> DampShelf:
    """Return the shelf that the cards take each mould's dampness from."""

    def free_water(name: str) -> float | None:
        wishes = wishes_now(port, memory)
        placed = next((one for one in port.bench().layout.moulds if one.name == name), None)
        if placed is None or wishes.of(name).dry_kg is None:
            return None
        damp = dampness_now(port, memory, placed, memory.all_casts(name, 60), wishes)
        return None if damp is None else damp.free_water.value

    return DampShelf(port, free_water)
