"""What rows are written with: the bench's id and numbers, and what is noted with a cast that begins."""

from __future__ import annotations

from dataclasses import dataclass, field

from watcher.clock import Moment
from watcher.storage.numbers import Numbers


@dataclass(frozen=True, slots=True)
class Papers:
    """Hashes of the newest profile of each mould and of the slip."""

    profiles: dict[str, str] = field(default_factory=dict)
    slip: str = ""


@dataclass(frozen=True, slots=True)
class Desk:
    """What the writer works with. `boot` is this start of the service, once it is known."""

    bench_id: str
    numbers: Numbers
    papers: Papers = Papers()
    boot: Moment | None = None
