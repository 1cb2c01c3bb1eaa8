"""A mould profile as the text of a TOML file, and back: no file is opened here."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from models.calibration import Place, PlaceRatio
from models.mould import MouldProfile, PourHole, ProfileError, checked_mould
from models.profile_keys import numbers, optional_number, optional_whole, rows, text, yes_or_no
from models.profile_ways import AREA_REL_SIGMA, Way

VERSION = 1
"""The version that is written. 0 is a [[mould]] table cut out of a recording, which names no version."""

Value = str | bool | int | float | Sequence["Value"] | Mapping[str, "Value"]

_SHAPE = ("bore", "holes", "wetted_area_mm2", "area_rel_sigma", "way", "trim_line_mm")
_TARGET = ("target_wall_mm", "target_water_ml")
_CARD = ("tag_id", "tag_size_mm", "rim_centre_from_tag_mm", "place_mm")
_OWN = ("plaster_dry_kg", "casts_before", "place_ratios", "note", "solid")
_KNOWN = ("version", "name", *_SHAPE, *_TARGET, *_CARD, *_OWN)
_HOLE = ("centre_mm", "bore", "axes_mm")


@dataclass(frozen=True, slots=True)
class ProfileCard:
    """Where the mould's tag is, as given: the eyes make of it what they need, [mm]."""

    tag_id: int | None = None
    tag_size_mm: float | None = None
    rim_centre_from_tag_mm: tuple[float, float, float] | None = None
    place_mm: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class ProfileFile:
    """All that one profile file says.

    Attributes
    ----------
    mould : MouldProfile
    card : ProfileCard
    way : Way
        How the wetted area became known.
    plaster_dry_kg : float or None
        Weight of the mould bone dry. [kg]
    casts_before : int
        Casts before this tool counted.
    places : tuple of PlaceRatio
        Walls at spare, belly and foot over the mean wall, where cut tests taught them.
    note : str
    warnings : tuple of str
        One sentence on keys that were not understood, if any.
    """

    mould: MouldProfile
    card: ProfileCard = ProfileCard()
    way: Way = Way.BORE_TABLE
    plaster_dry_kg: float | None = None
    casts_before: int = 0
    places: tuple[PlaceRatio, ...] = ()
    note: str = ""
    warnings: tuple[str, ...] = ()


def profile_from_text(toml: str, *, source: str) -> ProfileFile:
    """Read a profile.

    Parameters
    ----------
    toml : str
        Contents of the file.
    source : str
        How messages name it: the file's name.

    Raises
    ------
    ProfileError
        One sentence with source, key, value and what is wanted.
    """
    try:
        table = tomllib.loads(toml)
    except (ValueError, RecursionError) as wrong:
        raise ProfileError(f"{source} is no TOML: {wrong}; mend that line") from wrong
    table = _moved_on(table, source)
    name = text(table, "name", source, "what you call the mould")
    if not name.strip():
        raise ProfileError(f"{source}: name is empty; give what you call the mould")
    try:
        return ProfileFile(
            mould=_mould(name, table, source),
            card=_card(table, source),
            way=_way(table, source),
            plaster_dry_kg=optional_number(
                table, "plaster_dry_kg", source, wanted="kg, 0.05 to 500", least=0.05, most=500.0
            ),
            casts_before=optional_whole(table, "casts_before", source) or 0,
            places=_places(table, source),
            note=text(table, "note", source, "a few words") if "note" in table else "",
            warnings=_unknown(table, source),
        )
    except ProfileError as fault:
        said = str(fault)
        raise ProfileError(said if said.startswith(source) else f"{source}: {said}") from fault


def profile_to_text(profile: ProfileFile) -> str:
    """Write a profile so that reading gives it back; one key a line, in a fixed order, fit for comparing."""
    mould, card = profile.mould, profile.card
    values: dict[str, Value | None] = {
        "version": VERSION,
        "name": mould.name,
        "note": profile.note or None,
        "bore": mould.bore,
        "holes": [_hole_table(h) for h in mould.holes] if mould.holes != (PourHole(),) else None,
        "way": profile.way.value,
        "wetted_area_mm2": mould.wetted_area_mm2,
        "area_rel_sigma": mould.area_rel_sigma,
        "trim_line_mm": mould.trim_line_mm,
        "solid": mould.solid or None,
        "target_wall_mm": mould.target_wall_mm,
        "target_water_ml": mould.target_water_ml,
        "tag_id": card.tag_id,
        "tag_size_mm": card.tag_size_mm,
        "rim_centre_from_tag_mm": card.rim_centre_from_tag_mm,
        "place_mm": card.place_mm,
        "plaster_dry_kg": profile.plaster_dry_kg,
        "casts_before": profile.casts_before or None,
        "place_ratios": [(p.place.value, p.ratio, p.rel_sigma) for p in profile.places] or None,
    }
    return "".join(f"{key} = {_toml(value)}\n" for key, value in values.items() if value is not None)


def _moved_on(table: dict[str, object], source: str) -> dict[str, object]:
    """Bring a table of any version up to `VERSION`, one version at a time."""
    version = table.get("version", 0)
    if isinstance(version, bool) or not isinstance(version, int) or not 0 <= version <= VERSION:
        raise ProfileError(
            f"{source}: version is {version!r}; give a whole number up to {VERSION}, or a newer tool"
        )
    if version == 0:
        table = _from_version_0(table, source)
    return table


def _from_version_0(table: dict[str, object], source: str) -> dict[str, object]:
    moulds = table.get("mould")
    if moulds is None:
        return {**table, "version": 1}
    if not isinstance(moulds, list) or len(moulds) != 1 or not isinstance(moulds[0], dict):
        count = len(moulds) if isinstance(moulds, list) else 1
        raise ProfileError(f"{source}: mould is given {count} times; give one [[mould]] a file")
    return {**moulds[0], "version": 1}


def _mould(name: str, table: Mapping[str, object], source: str) -> MouldProfile:
    area = optional_number(table, "wetted_area_mm2", source, wanted="mm2, 200 to 1e7", least=200.0, most=1e7)
    left = optional_number(table, "area_rel_sigma", source, wanted="a share, 0 to 1", least=0.0, most=1.0)
    if left is None:
        left = 0.01 if area is None else AREA_REL_SIGMA[Way.CUT_TEST]
    target = table.get("target_wall_mm")
    wall = numbers(table, "target_wall_mm", source, 2) if isinstance(target, list) else None
    one = (
        optional_number(table, "target_wall_mm", source, wanted="mm, 0.3 to 40", least=0.3, most=40.0)
        if wall is None
        else None
    )
    return checked_mould(
        name,
        rows(table, "bore", source),
        holes=_holes(table, source),
        target_wall_mm=wall if wall is not None else one,
        wetted_area_mm2=area,
        target_water_ml=optional_number(
            table, "target_water_ml", source, wanted="mL, 0.1 to 100000", least=0.1, most=1e5
        ),
        trim_line_mm=optional_number(
            table, "trim_line_mm", source, wanted="mm below the rim, 0 to 2000", least=0.0, most=2000.0
        ),
        area_rel_sigma=left,
        solid=yes_or_no(table, "solid", source),
    )


def _holes(table: Mapping[str, object], source: str) -> tuple[PourHole, ...]:
    given = table.get("holes", [])
    if not isinstance(given, list) or not all(isinstance(h, dict) for h in given):
        raise ProfileError(
            f"{source}: holes is {given!r}; give a list of {{centre_mm = [x, y], axes_mm = [..]}}"
        )
    holes = []
    for n, hole in enumerate(given, 1):
        where = f"{source}: holes[{n}]"
        centre = numbers(hole, "centre_mm", where, 2) if "centre_mm" in hole else (0.0, 0.0)
        bore = rows(hole, "bore", where) if "bore" in hole else ()
        axes = numbers(hole, "axes_mm", where, 2) if "axes_mm" in hole else None
        strange = sorted(set(hole) - set(_HOLE))
        if strange:
            raise ProfileError(f"{where}.{strange[0]} is not known; give centre_mm, bore or axes_mm")
        holes.append(
            PourHole(
                (centre[0], centre[1]),
                tuple((depth, wide) for depth, wide in bore),
                (axes[0], axes[1]) if axes is not None else None,
            )
        )
    return tuple(holes)


def _card(table: Mapping[str, object], source: str) -> ProfileCard:
    rim = numbers(table, "rim_centre_from_tag_mm", source, 3) if "rim_centre_from_tag_mm" in table else None
    place = numbers(table, "place_mm", source, 3) if "place_mm" in table else None
    return ProfileCard(
        tag_id=optional_whole(table, "tag_id", source),
        tag_size_mm=optional_number(
            table, "tag_size_mm", source, wanted="mm, 5 to 500", least=5.0, most=500.0
        ),
        rim_centre_from_tag_mm=(rim[0], rim[1], rim[2]) if rim is not None else None,
        place_mm=(place[0], place[1], place[2]) if place is not None else None,
    )


def _way(table: Mapping[str, object], source: str) -> Way:
    if "way" not in table:
        return Way.CUT_TEST if "wetted_area_mm2" in table else Way.BORE_TABLE
    given = table["way"]
    if given not in [w.value for w in Way]:
        raise ProfileError(f"{source}: way is {given!r}; give one of {', '.join(w.value for w in Way)}")
    return Way(str(given))


def _places(table: Mapping[str, object], source: str) -> tuple[PlaceRatio, ...]:
    wanted = 'rows of ["spare", "belly" or "foot", ratio to the mean wall, relative spread]'
    given = table.get("place_ratios", [])
    found = []
    for row in given if isinstance(given, list) else [given]:
        place, ratio, spread = row if isinstance(row, list) and len(row) == 3 else (None, 0.0, 0.0)
        if place not in ("spare", "belly", "foot"):
            raise ProfileError(f"{source}: place_ratios has {row!r}; give {wanted}")
        known = isinstance(ratio, int | float) and isinstance(spread, int | float)
        if not (known and 0.3 <= ratio <= 3.0 and 0.005 <= spread <= 1.0):
            raise ProfileError(f"{source}: place_ratios has {row!r}; give a ratio of 0.3 to 3, a spread to 1")
        found.append(PlaceRatio(Place(place), float(ratio), float(spread)))
    return tuple(found)


def _unknown(table: Mapping[str, object], source: str) -> tuple[str, ...]:
    strange = [key for key in table if key not in _KNOWN]
    if not strange:
        return ()
    said = []
    for key in strange:
        near = difflib.get_close_matches(key, _KNOWN, n=1, cutoff=0.75)
        said.append(f"{key} (did you mean {near[0]}?)" if near else key)
    return (f"{source}: passed over what is not known here: {', '.join(said)}",)


def _hole_table(hole: PourHole) -> dict[str, Value]:
    table: dict[str, Value] = {"centre_mm": hole.centre_mm}
    if hole.bore:
        table["bore"] = hole.bore
    if hole.axes_mm is not None:
        table["axes_mm"] = hole.axes_mm
    return table


def _toml(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(_escaped(c) for c in value) + '"'
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    return repr(value)


def _escaped(letter: str) -> str:
    if letter in '"\\':
        return "\\" + letter
    return f"\\u{ord(letter):04x}" if ord(letter) < 0x20 or ord(letter) == 0x7F else letter
