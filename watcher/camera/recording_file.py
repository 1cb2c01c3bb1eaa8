"""Read `recording.toml`: when the recording began, what stood on the bench, which slip was poured."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import cv2

from models.doors import BadValue
from models.slip import Slip, checked_slip
from watcher.camera.recording_fields import Fields, RecordingError
from watcher.camera.recording_moulds import read_mould
from watcher.records.layout import BenchLayout, Lens, PlacedMould, Point3, SheetTag

CAMERA_NAME = "bench"
FILE_NAME = "recording.toml"
_DICTIONARY = "DICT_APRILTAG_36h11"
_TAG_ID = "give the number printed on the tag, 0 or more"
_SIZE = "give the side of the black square in mm, above 0"


@dataclass(frozen=True, slots=True)
class RecordingFile:
    """What `recording.toml` says. `unknown` names the keys that were passed over."""

    started_at: datetime
    layout: BenchLayout
    slip: Slip
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchFile:
    """What a bench file says. `unknown` names the keys that nobody knows."""

    layout: BenchLayout
    slip: Slip
    unknown: tuple[str, ...]


def read_recording_file(path: Path, *, pictures: bool) -> RecordingFile:
    """Read and check a recording's TOML file.

    Parameters
    ----------
    path : Path
        The file.
    pictures : bool
        Whether levels are to be read from pictures: lens, bench sheet and a card or place for every mould
        are then needed, else optional.

    Raises
    ------
    RecordingError
        The file is missing, is not TOML, or a value is not as wanted.
    """
    top = Fields(f"{path.name}:", _toml(path))
    clock = _section(top, "clock", path)
    started_at = _start(clock)
    layout, slip, read = _bench(top, path, pictures=pictures)
    return RecordingFile(started_at, layout, slip, _unknown(top, clock, *read))


def read_bench_file(path: Path) -> BenchFile:
    """Read the file of a bench that is watched live: a recording's file without a clock.

    Parameters
    ----------
    path : Path
        The file, with the sections that a recording of pictures has.

    Raises
    ------
    RecordingError
        The file is missing, is not TOML, or a value is not as wanted.
    """
    top = Fields(f"{path.name}:", _toml(path))
    layout, slip, read = _bench(top, path, pictures=True)
    return BenchFile(layout, slip, _unknown(top, *read))


def _bench(top: Fields, path: Path, *, pictures: bool) -> tuple[BenchLayout, Slip, list[Fields]]:
    slip_fields = _section(top, "slip", path)
    slip = _slip(slip_fields)
    lens, lens_fields = _lens(top, path, needed=pictures)
    sheet, dictionary, sheet_fields = _sheet(top, path, needed=pictures)
    up, bench_fields = _up(top, path)
    moulds, mould_fields = _moulds(top, path, pictures=pictures)
    _refuse_twice(sheet, moulds, path)
    layout = BenchLayout(
        camera=CAMERA_NAME, lens=lens, sheet=sheet, moulds=moulds, dictionary=dictionary, up=up
    )
    return layout, slip, [slip_fields, *lens_fields, *sheet_fields, *bench_fields, *mould_fields]


def _unknown(*read: Fields) -> tuple[str, ...]:
    return tuple(name for fields in read for name in fields.unknown())


def _toml(path: Path) -> dict[str, object]:
    try:
        with path.open("rb") as file:
            return tomllib.load(file)
    except FileNotFoundError:
        raise RecordingError(f"{path.name} is not in {path.parent}; a recording begins with it") from None
    except (ValueError, RecursionError) as fault:
        raise RecordingError(f"{path.name} is not a TOML file: {fault}") from fault
    except OSError as fault:
        raise RecordingError(f"{path.name} cannot be read: {fault.strerror}") from fault


def _section(top: Fields, name: str, path: Path) -> Fields:
    if not top.has(name):
        raise RecordingError(f"{path.name}: [{name}] is missing; give that section")
    return Fields(f"{path.name}: [{name}]", top.table(name, f"give a section [{name}]"))


def _start(clock: Fields) -> datetime:
    wanted = 'give a moment in UTC, for instance "2026-03-03T08:10:00Z"'
    found = clock.value("start")
    if isinstance(found, str):
        try:
            found = datetime.fromisoformat(found)
        except ValueError:
            raise clock.fault("start", wanted) from None
    if not isinstance(found, datetime) or found.tzinfo is None or not 1970 < found.year < 2200:
        raise clock.fault("start", wanted)
    return found.astimezone(UTC)


def _slip(fields: Fields) -> Slip:
    gravity = fields.number("specific_gravity", "give the slip's density over that of water (1.75 is common)")
    solids = fields.number(
        "cake_solids_fraction", "give the share of solids in the wall's volume, between 0 and 1"
    )
    try:
        return checked_slip(specific_gravity=gravity, cake_solids_fraction=solids)
    except BadValue as fault:
        raise RecordingError(f"{fields.where} {fault}") from fault


def _lens(top: Fields, path: Path, *, needed: bool) -> tuple[Lens | None, list[Fields]]:
    if not needed and not top.has("camera"):
        return None, []
    fields = _section(top, "camera", path)
    pixels = "give the picture's size in pixels, a whole number"
    number = "give a number of pixels from the lens calibration"
    distortion = (0.0, 0.0, 0.0, 0.0, 0.0)
    if fields.has("distortion"):
        k1, k2, p1, p2, k3 = fields.numbers("distortion", 5, "give five numbers [k1, k2, p1, p2, k3]")
        distortion = (k1, k2, p1, p2, k3)
    lens = Lens(
        width_px=fields.whole("width", pixels, least=16),
        height_px=fields.whole("height", pixels, least=16),
        fx_px=fields.number("fx", number, above=0.0),
        fy_px=fields.number("fy", number, above=0.0),
        cx_px=fields.number("cx", number),
        cy_px=fields.number("cy", number),
        distortion=distortion,
    )
    return lens, [fields]


def _sheet(top: Fields, path: Path, *, needed: bool) -> tuple[tuple[SheetTag, ...], str, list[Fields]]:
    tables = top.tables("sheet", "give one [[sheet]] for each tag of the bench sheet")
    if needed and not tables:
        raise RecordingError(f"{path.name}: [[sheet]] is missing; give one for each tag of the bench sheet")
    all_fields = [Fields(f"{path.name}: [[sheet]] {n}:", table) for n, table in enumerate(tables, start=1)]
    names = [_dictionary(fields) for fields in all_fields]
    for fields, name in zip(all_fields, names, strict=True):
        if name != names[0]:
            raise fields.fault("dictionary", f"all tags must be of one family, and the first is {names[0]}")
    return tuple(map(_sheet_tag, all_fields)), names[0] if names else _DICTIONARY, all_fields


def _dictionary(fields: Fields) -> str:
    if not fields.has("dictionary"):
        return _DICTIONARY
    name = fields.text("dictionary", f'give the family of tags, "{_DICTIONARY}"')
    if not name.startswith("DICT_") or not hasattr(cv2.aruco, name):
        raise fields.fault("dictionary", f'give the family of tags, "{_DICTIONARY}"')
    return name


def _sheet_tag(fields: Fields) -> SheetTag:
    return SheetTag(
        tag_id=fields.whole("id", _TAG_ID),
        size_mm=fields.number("size_mm", _SIZE, above=0.0),
        centre_mm=fields.point("centre_mm"),
        yaw_deg=fields.number("yaw_deg", "give the turn in degrees") if fields.has("yaw_deg") else 0.0,
        rotation_deg=fields.point("rotation_deg") if fields.has("rotation_deg") else None,
    )


def _up(top: Fields, path: Path) -> tuple[Point3, list[Fields]]:
    straight = (0.0, 0.0, 1.0)
    if not top.has("bench"):
        return straight, []
    fields = _section(top, "bench", path)
    up = fields.point("up") if fields.has("up") else straight
    length = sum(one * one for one in up) ** 0.5
    if length < 1e-6:
        raise fields.fault("up", "give the direction against gravity, three numbers that are not all 0")
    return (up[0] / length, up[1] / length, up[2] / length), [fields]


def _moulds(top: Fields, path: Path, *, pictures: bool) -> tuple[tuple[PlacedMould, ...], list[Fields]]:
    tables = top.tables("mould", "give one [[mould]] for each mould on the bench")
    if not tables:
        raise RecordingError(f"{path.name}: [[mould]] is missing; give one for each mould on the bench")
    moulds: list[PlacedMould] = []
    all_fields: list[Fields] = []
    for number, table in enumerate(tables, start=1):
        name = " ".join(str(table.get("name", number)).split())
        fields = Fields(f"{path.name}: [[mould]] {name}:", table)
        mould, read = read_mould(fields, placed=pictures)
        moulds.append(mould)
        all_fields += read
    return tuple(moulds), all_fields


def _refuse_twice(sheet: tuple[SheetTag, ...], moulds: tuple[PlacedMould, ...], path: Path) -> None:
    names: set[str] = set()
    for mould in moulds:
        if mould.name in names:
            raise RecordingError(f"{path.name}: two moulds have the name '{mould.name}'; give each its own")
        names.add(mould.name)
    owner: dict[int, str] = {}
    tags = [(tag.tag_id, "the bench sheet") for tag in sheet]
    tags += [(mould.card.tag_id, f"mould '{mould.name}'") for mould in moulds if mould.card]
    for tag_id, whose in tags:
        if tag_id in owner:
            raise RecordingError(
                f"{path.name}: tag {tag_id} is used twice, by {owner[tag_id]} and by {whose}; "
                "every tag must have its own number"
            )
        owner[tag_id] = whose
