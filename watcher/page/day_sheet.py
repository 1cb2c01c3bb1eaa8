"""The day as a sheet to print: one line for each thing that hands do, in the bench's own time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from watcher.page.shapes_day import DayPlanShape
from watcher.page.words import words_for


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line: when, what, of which mould, and for a tip the range."""

    at: str
    does: str
    mould: str
    cast: str
    span: str


def sheet_lines(day: DayPlanShape, language: str) -> tuple[SheetLine, ...]:
    """Return the lines of a day's plan; those of casts that stand on the bench already come first."""
    words = words_for(language, desk=True)
    zone = ZoneInfo(day["zone"])

    def clock(moment: str | None) -> str:
        return "" if moment is None else datetime.fromisoformat(moment).astimezone(zone).strftime("%H:%M")

    lines = [
        (
            one["ready_at"] or "",
            SheetLine(
                clock(one["ready_at"]),
                words["does_tip"],
                one["mould"],
                words["plan_stands"],
                f"{clock(one['low'])}–{clock(one['high'])}",
            ),
        )
        for one in day["running"]
    ]
    for step in day["steps"]:
        span = f"{clock(step['low'])}–{clock(step['high'])}" if step["low"] else ""
        line = SheetLine(
            clock(step["at"]), words[f"does_{step['what']}"], step["mould"], str(step["cast"]), span
        )
        lines.append((step["at"] or "", line))
    return tuple(line for _, line in sorted(lines, key=lambda pair: pair[0]))
