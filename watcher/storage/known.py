"""What the database already holds of all that still changes, so that only differences are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from sqlalchemy import Table

from watcher.records.bench import Filling
from watcher.records.notices import Alert

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class KnownMould:
    """A mould's row, and when it was last brought up to date."""

    seq: int
    core: tuple[Any, ...]
    waits: tuple[Any, ...]
    written_s: float

    @property
    def cast_id(self) -> str | None:
        """The cast that the mould held."""
        cast_id = self.core[1]
        return None if cast_id is None else str(cast_id)


@dataclass(frozen=True, slots=True)
class KnownAlert:
    """An alert with its row."""

    seq: int
    alert: Alert


@dataclass(frozen=True, slots=True)
class KnownCast:
    """A cast's row, its fillings with their rows, and when its figures and its forecast were last written."""

    seq: int
    core: tuple[Any, ...]
    fillings: tuple[tuple[int, Filling], ...]
    figures_s: float
    estimate_s: float


@dataclass(frozen=True, slots=True)
class Known:
    """Everything known. Replaced as a whole once a transaction has been committed."""

    moulds: Mapping[str, KnownMould] = field(default_factory=lambda: MappingProxyType({}))
    casts: Mapping[str, KnownCast] = field(default_factory=lambda: MappingProxyType({}))
    alerts: Mapping[str, KnownAlert] = field(default_factory=lambda: MappingProxyType({}))
    moment_s: float = float("-inf")


@dataclass(frozen=True, slots=True)
class Put:
    """A row to insert (`new`) or to change."""

    table: Table[Any]
    row: Row
    new: bool


@dataclass(frozen=True, slots=True)
class Drop:
    """Rows of one filling to be taken out: its readings, and itself where `whole`."""

    filling_seq: int
    whole: bool


@dataclass(slots=True)
class Draft:
    """The changes of one transaction while they are gathered. `durable`: they must survive a power cut."""

    changes: list[Put | Drop] = field(default_factory=list)
    durable: bool = False

    def put(self, table: Table[Any], row: Row, *, new: bool, durable: bool = True) -> None:
        """Add a row."""
        self.changes.append(Put(table, row, new))
        self.durable = self.durable or durable

    def drop(self, drop: Drop) -> None:
        """Take rows out: a filling that was taken back, or a pour that was taken up again."""
        self.changes.append(drop)
        self.durable = True
