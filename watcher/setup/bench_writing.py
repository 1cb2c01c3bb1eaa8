"""Put a bench's file together from its parts, and never leave one behind that cannot be read."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from models.doors import BadValue
from models.profile_text import ProfileFile
from models.slip import Slip
from models.target_check import FILLED_TO_MM, check_target
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.records.layout import Lens
from watcher.setup.bench_file import BenchFile
from watcher.setup.bench_text import bench_text


def write_bench(
    out: Path,
    lens: Lens,
    sheet: BenchFile,
    slip: Slip,
    profiles: Sequence[ProfileFile],
    *,
    keep_before: bool = False,
) -> None:
    """Write the file that a bench is watched by, after trying that it can be read.

    Parameters
    ----------
    out : Path
    lens : Lens
    sheet : BenchFile
    slip : Slip
    profiles : sequence of ProfileFile
    keep_before : bool
        Keep what stood there as `NAME.before`.

    Raises
    ------
    BadValue
        A mould has neither card nor place, or the whole cannot be read back; then nothing is written.
    """
    for profile in profiles:
        if profile.card.tag_id is None and profile.card.place_mm is None:
            raise BadValue(
                f"'{profile.mould.name}' has neither a card nor a place; take it in with `tipbell mould`"
            )
    out.parent.mkdir(parents=True, exist_ok=True)
    draft = out.with_name(f".{out.name}.part")
    try:
        with draft.open("w", encoding="utf-8") as file:
            file.write(bench_text(lens, sheet, slip, profiles))
            file.flush()
            os.fsync(file.fileno())
        read_bench_file(draft)
        if keep_before and out.exists():
            out.with_name(f"{out.name}.before").write_bytes(out.read_bytes())
        draft.replace(out)
    except RecordingError as fault:
        raise BadValue(str(fault).replace(draft.name, out.name)) from fault
    finally:
        draft.unlink(missing_ok=True)


def what_it_asks(profile: ProfileFile, slip: Slip) -> tuple[str, ...]:
    """Say what a mould's wanted wall asks of it: top-ups, a hole that freezes shut."""
    mould = profile.mould
    if mould.target_wall_mm is None:
        return ()
    try:
        full_mm = min(FILLED_TO_MM, mould.neck_mm)  # a bore of two rows has its neck at the rim
        checked = check_target(mould, slip, mould.target_wall_mm[0], filled_to_mm=full_mm)
    except BadValue as fault:
        return (str(fault),)
    return tuple(line if mould.name in line else f"{mould.name}: {line}" for line in checked.warnings)
