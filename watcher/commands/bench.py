"""`tipbell bench`: put lens, sheet, slip and moulds together into the file that a bench is watched by."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from models.doors import BadValue
from models.profile_files import read_profile
from models.slip import checked_slip
from watcher.commands.refused import Refused
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_writing import what_it_asks, write_bench
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
        write_bench(out, lens, sheet, slip, profiles)
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    print(f"wrote {out}: {len(profiles)} moulds, {len(sheet.tags)} tags")
    for profile in profiles:
        for warning in what_it_asks(profile, slip):
            print(f"note: {warning}")


def _profile_files(given: tuple[Path, ...]) -> list[Path]:
    files: list[Path] = []
    for path in given:
        files += sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files:
        raise Refused("no mould was given; give their profiles or a folder of them with --moulds")
    return files
