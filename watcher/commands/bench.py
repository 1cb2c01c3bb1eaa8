"""`tipbell bench`: put lens, sheet, slip and moulds together into the file that a bench is watched by."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from models.doors import BadValue
from models.profile_files import read_profile
from models.profile_text import ProfileFile
from models.slip import Slip, checked_slip
from models.target_check import check_target
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.commands.refused import Refused
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_text import bench_text
from watcher.setup.lens_file import read_lens


@dataclass(frozen=True, slots=True)
class BenchParts:
    """The files that a bench is put together from, and the slip in figures."""

    lens: Path
    sheet: Path
    moulds: tuple[Path, ...]
    specific_gravity: float
    cake_solids_fraction: float


def bench(parts: BenchParts, out: Path) -> None:
    """Write the bench's file, after trying that it can be read, and say what each mould's wall asks of it.

    Raises
    ------
    Refused
        With one sentence; then nothing is written.
    """
    try:
        lens, sheet = read_lens(parts.lens), read_bench(parts.sheet)
        slip = checked_slip(
            specific_gravity=parts.specific_gravity, cake_solids_fraction=parts.cake_solids_fraction
        )
        profiles = tuple(read_profile(path) for path in _profile_files(parts.moulds))
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    for profile in profiles:
        if profile.card.tag_id is None and profile.card.place_mm is None:
            raise Refused(
                f"'{profile.mould.name}' has neither a card nor a place; take it in with `tipbell mould`"
            )
    _write_tried(out, bench_text(lens, sheet, slip, profiles))
    print(f"wrote {out}: {len(profiles)} moulds, {len(sheet.tags)} tags")
    for profile in profiles:
        for warning in _asks(profile, slip):
            print(f"note: {warning}")


def _profile_files(given: tuple[Path, ...]) -> list[Path]:
    files: list[Path] = []
    for path in given:
        files += sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files:
        raise Refused("no mould was given; give their profiles or a folder of them with --moulds")
    return files


def _write_tried(out: Path, text: str) -> None:
    """Write beside the file, read it back as the watching bench does, and only then put it in place."""
    out.parent.mkdir(parents=True, exist_ok=True)
    draft = out.with_name(f".{out.name}.part")
    try:
        draft.write_text(text, encoding="utf-8")
        read_bench_file(draft)
        draft.replace(out)
    except RecordingError as fault:
        raise Refused(str(fault).replace(draft.name, out.name)) from fault
    finally:
        draft.unlink(missing_ok=True)


def _asks(profile: ProfileFile, slip: Slip) -> tuple[str, ...]:
    mould = profile.mould
    if mould.target_wall_mm is None:
        return ()
    try:
        checked = check_target(mould, slip, mould.target_wall_mm[0])
    except BadValue as fault:
        return (str(fault),)
    return tuple(line if mould.name in line else f"{mould.name}: {line}" for line in checked.warnings)
