"""Typed values out of a profile's table; each refusal names source, key, value and what is wanted."""

from __future__ import annotations

from collections.abc import Mapping

from models.mould import ProfileError

_MOST = 1e12
"""No mould has a larger number in its profile; NaN and whole numbers without end are refused by it."""

Table = Mapping[str, object]


def text(table: Table, key: str, source: str, wanted: str) -> str:
    """Return a text that must be there."""
    if key not in table:
        raise ProfileError(f"{source}: {key} is missing; give {wanted}")
    value = table[key]
    if not isinstance(value, str):
        raise ProfileError(f"{source}: {key} is {value!r}; give {wanted} between quotes")
    return value


def optional_number(
    table: Table, key: str, source: str, *, wanted: str, least: float, most: float
) -> float | None:
    """Return a number within its limits, or None where the key is absent."""
    if key not in table:
        return None
    value = _number(table[key])
    if value is None or not least <= value <= most:
        raise ProfileError(f"{source}: {key} is {table[key]!r}; give {wanted}")
    return value


def optional_whole(table: Table, key: str, source: str) -> int | None:
    """Return a whole number from 0 to 100000, or None where the key is absent."""
    if key not in table:
        return None
    value = table[key]
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 100000:
        raise ProfileError(f"{source}: {key} is {value!r}; give a whole number from 0 to 100000")
    return value


def yes_or_no(table: Table, key: str, source: str) -> bool:
    """Return a truth value; false where the key is absent."""
    value = table.get(key, False)
    if not isinstance(value, bool):
        raise ProfileError(f"{source}: {key} is {value!r}; give true or false")
    return value


def numbers(table: Table, key: str, source: str, count: int) -> tuple[float, ...]:
    """Return a list of exactly `count` finite numbers."""
    given = table[key]
    values = [_number(v) for v in given] if isinstance(given, list) else []
    found = [v for v in values if v is not None]
    if len(values) != count or len(found) != count:
        raise ProfileError(f"{source}: {key} is {given!r}; give a list of {count} numbers")
    return tuple(found)


def rows(table: Table, key: str, source: str) -> tuple[tuple[float, float], ...]:
    """Return a bore: rows of depth and diameter. Their order and size are the mould's to check."""
    wanted = "rows of [depth_mm, diameter_mm], depth growing from 0 at the rim"
    if key not in table:
        raise ProfileError(f"{source}: {key} is missing; give {wanted}")
    given = table[key]
    if not isinstance(given, list):
        raise ProfileError(f"{source}: {key} is {given!r}; give {wanted}")
    found = []
    for n, row in enumerate(given, 1):
        pair = [_number(v) for v in row] if isinstance(row, list) else []
        if len(pair) != 2 or pair[0] is None or pair[1] is None:
            raise ProfileError(f"{source}: {key} row {n} is {row!r}; give {wanted}")
        found.append((pair[0], pair[1]))
    return tuple(found)


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= _MOST:
        return None
    return float(value)
