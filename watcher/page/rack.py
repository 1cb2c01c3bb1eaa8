"""The drying rack: which moulds are ready for tomorrow."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from models.constants_desk import PLASTER_DRY_WARN_C
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.rack import rack_row, room_word
from watcher.desk.unseen import with_unwatched
from watcher.page.damp_now import dampness_now, wishes_now
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.ranges import range_shape
from watcher.page.shapes_review import RackRowShape, RackShape
from watcher.records.afterwards import ToldKind
from watcher.records.bench import Stage

BEGINS = time(8)
"""When a day at the bench usually begins: till then moulds dry (guess)."""

_FREE = frozenset({Stage.EMPTY, Stage.ABSENT, Stage.DEMOULDED})


def rack_view(port: BenchPort, memory: BenchMemory) -> RackShape:
    """Return which moulds are ready for tomorrow."""
    bench, now = port.bench(), port.now()
    wishes = wishes_now(port, memory)
    local = now.astimezone(ZoneInfo(memory.zone))
    until = datetime.combine(local.date() + timedelta(days=1), BEGINS, local.tzinfo)
    until_h = (until - local).total_seconds() / 3600.0
    rows: list[RackRowShape] = []
    for placed in bench.layout.moulds:
        casts = memory.all_casts(placed.name, 60)
        state = bench.moulds.get(placed.name)
        known = with_unwatched(casts, memory.telling.told(placed.name, ToldKind.UNWATCHED))
        row = rack_row(
            placed.name,
            dampness_now(port, memory, placed, casts, wishes),
            known[0] if known else None,
            casts_today=sum(day_of(cast.began_at, memory.zone) == wishes.day for cast in known),
            casting=state is not None and state.stage not in _FREE,
            now=now,
            until_h=until_h,
        )
        rows.append(
            {
                "mould": row.mould,
                "word": row.word.value,
                "dry_in_h": range_shape(row.dry_in_h, 1),
                "free_water": range_shape(row.free_water, 4),
                "casts_today": row.casts_today,
                "weighed": row.weighed,
            }
        )
    return {
        "now": iso(now),
        "zone": memory.zone,
        "until": iso(until),
        "room_c": wishes.room_c,
        "room_rh": wishes.room_rh,
        "room_word": room_word(wishes.room_c).value,
        "most_c": PLASTER_DRY_WARN_C,
        "moulds": rows,
    }
