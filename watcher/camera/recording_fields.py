"""Values out of a recording's TOML file, each checked, each with its place for the message."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from models.doors import one_line

_MOST = 1e12
"""No length, time or share of a bench is larger in the units asked for."""


class RecordingError(ValueError):
    """A recording that cannot be used: one sentence with the place, what was found and what is wanted."""

    def __init__(self, said: str) -> None:
        super().__init__(one_line(said))


class Fields:
    """One table of a TOML file: hands out checked values and remembers which keys were asked for.

    Parameters
    ----------
    where : str
        How messages name this table, for instance ``recording.toml: [camera]``.
    table : mapping
        The table as tomllib read it.
    """

    def __init__(self, where: str, table: Mapping[str, Any]) -> None:
        self._where = where
        self._table = table
        self._asked: set[str] = set()

    @property
    def where(self) -> str:
        """How messages name this table."""
        return self._where

    def has(self, key: str) -> bool:
        """Say whether the table holds this key (and count the key as known)."""
        self._asked.add(key)
        return key in self._table

    def unknown(self) -> list[str]:
        """Name the keys that nobody asked for."""
        return [f"{self._where} {key}" for key in self._table if key not in self._asked]

    def fault(self, key: str, wanted: str) -> RecordingError:
        """Make the error for a key whose value is missing or not as wanted."""
        if key not in self._table:
            return RecordingError(f"{self._where} {key} is missing; {wanted}")
        return RecordingError(f"{self._where} {key} is {_shown(self._table[key])}; {wanted}")

    def text(self, key: str, wanted: str) -> str:
        """Return a text that is not blank."""
        value = self.value(key)
        if not isinstance(value, str) or not value.strip():
            raise self.fault(key, wanted)
        return value

    def number(self, key: str, wanted: str, *, above: float = -math.inf, below: float = math.inf) -> float:
        """Return a finite number strictly between two limits."""
        value = self.value(key)
        if not _is_number(value) or not above < value < below:
            raise self.fault(key, wanted)
        return float(value)

    def whole(self, key: str, wanted: str, *, least: int = 0) -> int:
        """Return a whole number that is not less than `least`."""
        value = self.value(key)
        if isinstance(value, bool) or not isinstance(value, int) or value < least:
            raise self.fault(key, wanted)
        return value

    def numbers(self, key: str, count: int, wanted: str) -> tuple[float, ...]:
        """Return a list of exactly `count` finite numbers."""
        value = self.value(key)
        if not isinstance(value, list) or len(value) != count or not all(map(_is_number, value)):
            raise self.fault(key, wanted)
        return tuple(float(one) for one in value)

    def point(self, key: str) -> tuple[float, float, float]:
        """Return a place [x, y, z] in millimetres (or a direction, or three turns)."""
        x, y, z = self.numbers(key, 3, "give three numbers [x, y, z]")
        return x, y, z

    def rows(self, key: str, columns: int, wanted: str) -> tuple[tuple[float, ...], ...]:
        """Return a list of rows, each with exactly `columns` finite numbers."""
        value = self.value(key)
        if not isinstance(value, list) or not value:
            raise self.fault(key, wanted)
        for number, row in enumerate(value, start=1):
            if not isinstance(row, list) or len(row) != columns or not all(map(_is_number, row)):
                raise RecordingError(f"{self._where} {key} row {number} is {_shown(row)}; {wanted}")
        return tuple(tuple(float(one) for one in row) for row in value)

    def tables(self, key: str, wanted: str) -> list[Mapping[str, Any]]:
        """Return a list of tables; empty where the key is absent."""
        self._asked.add(key)
        value = self._table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            raise self.fault(key, wanted)
        return value

    def table(self, key: str, wanted: str) -> Mapping[str, Any]:
        """Return one table that must be there."""
        value = self.value(key)
        if not isinstance(value, dict):
            raise self.fault(key, wanted)
        return value

    def value(self, key: str) -> Any:
        """Return what stands under the key as it is; None where it is absent."""
        self._asked.add(key)
        return self._table.get(key)


def _is_number(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return -_MOST <= value <= _MOST  # so is NaN refused, and a whole number too long to reckon with


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
