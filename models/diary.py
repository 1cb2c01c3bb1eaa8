"""A mould's diary in plain values: casts, weighings and rooms, and the water they leave in the plaster."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from models.air import Room
from models.doors import BadValue, number
from models.drying import Drying, drying_in, water_left_ml
from models.plaster import PlasterBlock

REFERENCE_C = 20.0
"""Temperature that all learned K stand for. [C]"""


BOOK_SIGMA_ML, BOOK_SIGMA_SHARE = 20.0, 0.2
"""How far the water by the diary alone is off: a fixed part and a share of it (guess)."""


@dataclass(frozen=True, slots=True)
class PastCast:
    """One cast that is over, in plain values.

    Attributes
    ----------
    at_h : float
        When it was poured, hours on any clock that only runs forward. [h]
    k_mm2_per_min : float or None
        L2/t over the whole cast; None for a cast that was not watched. [mm2/min]
    k_sigma_log : float
        Standard deviation of its logarithm, as the fit said.
    water_ml : float
        Water that went into the plaster, stiffening included. [mL]
    temperature_c : float
        Of slip and mould. [C]
    f_ratio : float
        This slip's f over the reference slip's; 1 where the slip is the same.
    """

    at_h: float
    k_mm2_per_min: float | None
    k_sigma_log: float
    water_ml: float
    temperature_c: float = REFERENCE_C
    f_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class Weighing:
    """The mould was put on the scale: water is weight less dry weight. [h], [kg]."""

    at_h: float
    weight_kg: float
    sigma_kg: float = 0.02


@dataclass(frozen=True, slots=True)
class Air:
    """The room from `from_h` on, until the next `Air`. [h]."""

    from_h: float
    room: Room


@dataclass(frozen=True, slots=True)
class Diary:
    """All that is known of a mould's past, oldest first within each list.

    Attributes
    ----------
    plaster : PlasterBlock
    casts : tuple of PastCast
    weighings : tuple of Weighing
    air : tuple of Air
        At least one; the first also stands for the time before it.
    start_water_ml : float
        Water in the mould when the diary opens. [mL]
    casts_before : int
        Casts of this mould before the diary opens.
    """

    plaster: PlasterBlock
    casts: tuple[PastCast, ...]
    weighings: tuple[Weighing, ...]
    air: tuple[Air, ...]
    start_water_ml: float = 0.0
    casts_before: int = 0


@dataclass(frozen=True, slots=True)
class WaterTrack:
    """Water in the mould along its diary, [mL]: before each cast, just before each weighing, at the end."""

    before_casts_ml: tuple[float, ...]
    weighed_ml: tuple[float, ...]
    end_ml: float


def drying_by_air(diary: Diary) -> tuple[Drying, ...]:
    """How the mould dries under each `Air` of its diary, by the rule alone (own factor 1)."""
    return tuple(drying_in(air.room, diary.plaster) for air in diary.air)


def water_track(diary: Diary, drying: Sequence[Drying], drying_factor: float, until_h: float) -> WaterTrack:
    """Follow the water through a diary.

    Parameters
    ----------
    diary : Diary
    drying : sequence of Drying
        From `drying_by_air`, one for each `Air`; apart because it is the same for every factor.
    drying_factor : float
        The mould's own, above 0.
    until_h : float
        Not before the last entry. [h]

    Notes
    -----
    The plaster holds at most its capacity [S10]; what a cast gives beyond that has nowhere to go. A weighing
    pulls the water to what the scale says, as far as the scale is the surer of the two: what no diary tells
    (a cast that nobody wrote down, a wash, a drier) is mended so.
    """
    stops = sorted(
        [(c.at_h, 0, i) for i, c in enumerate(diary.casts)]
        + [(w.at_h, 1, i) for i, w in enumerate(diary.weighings)]
    )
    own = [Drying(d.full_ml_h * drying_factor, d.critical_ml) for d in drying]
    since = [air.from_h for air in diary.air]
    before = [0.0] * len(diary.casts)
    weighed = [0.0] * len(diary.weighings)
    water = diary.start_water_ml
    now_h = stops[0][0] if stops else until_h
    for at_h, kind, i in stops:
        water = _dried(since, own, water, now_h, at_h)
        now_h = at_h
        if kind == 0:
            before[i] = water
            water = min(water + diary.casts[i].water_ml, diary.plaster.capacity_ml)
        else:
            weighed[i] = water
            water = _anchored(diary, diary.weighings[i], water)
    return WaterTrack(tuple(before), tuple(weighed), _dried(since, own, water, now_h, until_h))


def check_diary(diary: Diary) -> None:
    """Refuse a diary with absurd values or with times that run backwards, in one sentence."""
    if not diary.air:
        raise BadValue("diary has no air; give the room's temperature and humidity at least once")
    number("start water", diary.start_water_ml, wanted="mL, 0 to 1e6", least=0, most=1e6)
    last_h = -math.inf
    for i, cast in enumerate(diary.casts, 1):
        last_h = _later(f"cast {i}", cast.at_h, last_h)
        if cast.k_mm2_per_min is not None:
            number(f"cast {i} K", cast.k_mm2_per_min, wanted="mm2/min, 0.01 to 100", least=0.01, most=100)
            number(f"cast {i} K spread", cast.k_sigma_log, wanted="above 0 to 3", above=0, most=3)
        number(f"cast {i} water", cast.water_ml, wanted="mL, 0 to 100000", least=0, most=1e5)
        number(f"cast {i} temperature", cast.temperature_c, wanted="C, 1 to 60", least=1, most=60)
        number(f"cast {i} f ratio", cast.f_ratio, wanted="0.2 to 5", least=0.2, most=5)
    last_h = -math.inf
    for i, w in enumerate(diary.weighings, 1):
        last_h = _later(f"weighing {i}", w.at_h, last_h)
        dry = diary.plaster.dry_kg
        number(f"weighing {i}", w.weight_kg, wanted=f"kg, near {dry:g} dry", least=0.7 * dry, most=1.8 * dry)
        number(f"weighing {i} spread", w.sigma_kg, wanted="kg, above 0", above=0, most=10)
    last_h = -math.inf
    for i, a in enumerate(diary.air, 1):
        last_h = _later(f"air {i}", a.from_h, last_h)


def _later(field: str, at_h: float, last_h: float) -> float:
    given = number(f"{field} time", at_h, wanted="hours", least=-1e9, most=1e9)
    if given < last_h:
        raise BadValue(f"{field} time is {given:g} h; give times in order, after {last_h:g} h")
    return given


def _anchored(diary: Diary, weighing: Weighing, water: float) -> float:
    said_ml = 1000.0 * (weighing.weight_kg - diary.plaster.dry_kg)
    own, scale = BOOK_SIGMA_ML + BOOK_SIGMA_SHARE * water, 1000.0 * weighing.sigma_kg
    gain = own**2 / (own**2 + scale**2)
    return min(max(water + gain * (said_ml - water), 0.0), diary.plaster.capacity_ml)


def _dried(since: Sequence[float], own: Sequence[Drying], water: float, from_h: float, to_h: float) -> float:
    """Water after the rooms between two moments; the first room also stands for the time before it."""
    i = max(bisect_right(since, from_h) - 1, 0)
    now_h = from_h
    while now_h < to_h:
        ends = min(since[i + 1], to_h) if i + 1 < len(since) else to_h
        if ends > now_h:
            water = water_left_ml(own[i], water, ends - now_h)
            now_h = ends
        i += 1
    return water
