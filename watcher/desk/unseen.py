"""What no camera saw of a mould, as diary and plan count it: casts while unwatched, hours in a drier."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta

from models.air import Room, humidity_ratio, relative_humidity
from models.diary import Air
from watcher.records.afterwards import Told, ToldKind
from watcher.records.kept import KeptCast


def with_unwatched(casts: Sequence[KeptCast], told: Iterable[Told]) -> tuple[KeptCast, ...]:
    """Put casts that were only told among those that were watched, newest first.

    They bring their water and count in their day; of K or of a wall they teach nothing. Each counts as tipped
    when it was told to be poured: it is over.
    """
    unwatched = [
        KeptCast(f"unwatched {one.told_id}", one.mould, 1, 0.0, one.at, None, one.at, False, ())
        for one in told
        if one.kind is ToldKind.UNWATCHED
    ]
    return tuple(sorted((*casts, *unwatched), key=lambda cast: cast.began_at, reverse=True))


def airs(room: Room, first_h: float, told: Iterable[Told]) -> tuple[Air, ...]:
    """Return the air that a mould stood in: the room, and each drier from when to when.

    A drier is taken as the room's own air made warm, its water kept, and as still: a fan dries quicker than
    that. Where two overlap, the later one counts from the end of the earlier.
    """
    found: list[Air] = []
    ended_h = -float("inf")
    for one in sorted((one for one in told if one.kind is ToldKind.DRIER), key=lambda one: one.at):
        until_h = one.at.timestamp() / 3600.0
        from_h = max((one.at - timedelta(hours=one.amount)).timestamp() / 3600.0, ended_h)
        if one.warmth_c is not None and until_h > from_h:
            found += [Air(from_h, warmed_air(room, one.warmth_c)), Air(until_h, room)]
            ended_h = until_h
    return (Air(min([first_h, *(air.from_h for air in found)]), room), *found)


def warmed_air(room: Room, warmth_c: float) -> Room:
    """Return the room's air at another temperature, with the water that it holds [S7]."""
    ratio = humidity_ratio(room.temperature_c, room.relative_humidity, room.pressure_pa)
    humidity = min(relative_humidity(warmth_c, ratio, room.pressure_pa), 1.0)
    return Room(warmth_c, humidity, room.air_speed_m_s, room.pressure_pa)
