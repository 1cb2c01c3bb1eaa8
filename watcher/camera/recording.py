"""A recording: a folder with what a camera saw (or levels that were read), replayed at its own moments."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path
from time import perf_counter

from models.doors import one_line
from models.slip import Slip
from watcher.camera.pictures import MOST_BYTES, BadPicture, picture_from_bytes
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import FILE_NAME, read_recording_file
from watcher.camera.recording_rows import LevelRow, PictureRow, read_level_rows, read_picture_rows
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.records.layout import BenchLayout
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting

GIVEN_SIGMA_MM = 0.25
"""Spread of a level read by hand or by another sensor (common practice, no source). [mm]"""
GIVEN_DRIFT_SIGMA_MM = 0.15
"""The part of it that changes from one reading to the next (common practice, no source): where the readings
scatter more or less than that, the fit goes by their scatter. [mm]"""

FIRST_LEVEL_WITHIN_S = 45.0
"""Whoever takes levels takes the first so soon after the pour (common practice, no source): a recording of
given levels opens with an empty bench that long before its first level. [s]"""


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording that was read and checked; its pictures are opened one by one while it plays.

    Attributes
    ----------
    folder : Path
    started_at : datetime
        The moment of second 0, aware, UTC.
    layout : BenchLayout
    slip : Slip
    pictures : tuple of PictureRow
        Empty when levels were given instead.
    levels : tuple of LevelRow
        Empty when pictures were taken.
    remarks : tuple of str
        One sentence for each file that holds keys or columns which were passed over.
    """

    folder: Path
    started_at: datetime
    layout: BenchLayout
    slip: Slip
    pictures: tuple[PictureRow, ...]
    levels: tuple[LevelRow, ...]
    remarks: tuple[str, ...] = ()

    @property
    def times_s(self) -> tuple[float, ...]:
        """The moments, growing, at which something was seen or read, in seconds."""
        return tuple(sorted({row.time_s for row in self.pictures or self.levels}))

    def at(self, time_s: float) -> datetime:
        """Turn seconds of the recording into a moment for people, aware, UTC."""
        return self.started_at + timedelta(seconds=time_s)

    def moments(
        self, decoded: Callable[[float], None] = lambda seconds: None
    ) -> Iterator[Frame | NoFrame | Sighting]:
        """Play the recording, one moment after the other, nothing kept.

        Parameters
        ----------
        decoded : callable
            Told how long each picture took to decode. [s]

        Yields
        ------
        Frame, NoFrame or Sighting
            A picture; or that this picture cannot be used, and why; or, in a recording of given levels, first
            an empty bench before `times_s`, then the sightings that they make.

        Raises
        ------
        RecordingError
            The first picture cannot be used: then the recording does not fit its own description.
        """
        if self.levels:
            yield from self._given()
        for row in self.pictures:
            data = self.encoded(row)
            began = perf_counter()
            frame = data if isinstance(data, NoFrame) else self.decoded(row, data)
            decoded(perf_counter() - began)
            if isinstance(frame, NoFrame) and row is self.pictures[0]:
                raise RecordingError(frame.detail)
            yield frame

    def encoded(self, row: PictureRow) -> bytes | NoFrame:
        """Return the bytes of one picture, or why there are none."""
        path = self.folder / row.file
        try:
            if path.exists() and not path.is_file():  # a device or a pipe never comes to its end
                return self._no_frame(row, BadPicture(Blind.UNREADABLE, "it is no file; give a picture"))
            with path.open("rb") as opened:
                return opened.read(MOST_BYTES + 1)
        except OSError as fault:
            why = fault.strerror or "it cannot be read"
            return self._no_frame(row, BadPicture(Blind.UNREADABLE, f"the file cannot be opened ({why})"))

    def decoded(self, row: PictureRow, data: bytes) -> Frame | NoFrame:
        """Make a frame of the bytes of one picture."""
        lens = self.layout.lens
        if lens is None:
            raise RecordingError(f"{FILE_NAME}: [camera] is missing; pictures cannot be read without it")
        image = picture_from_bytes(data, width_px=lens.width_px, height_px=lens.height_px)
        if isinstance(image, BadPicture):
            return self._no_frame(row, image)
        return Frame(self.layout.camera, image, row.time_s, self.at(row.time_s), row.file)

    def _no_frame(self, row: PictureRow, bad: BadPicture) -> NoFrame:
        detail = f"frames.csv line {row.line}: {row.file}: {bad.detail}"
        return NoFrame(self.layout.camera, row.time_s, self.at(row.time_s), bad.why, detail)

    def _given(self) -> Iterator[Sighting]:
        begun: set[str] = set()
        opens_s = self.levels[0].time_s - FIRST_LEVEL_WITHIN_S
        empty = tuple(_given_hole(mould.name, None, begun=False) for mould in self.layout.moulds)
        yield Sighting(self.layout.camera, opens_s, self.at(opens_s), empty)
        for time_s, rows in groupby(self.levels, key=lambda row: row.time_s):
            read = {row.mould: row.level_mm for row in rows}
            begun |= read.keys()
            holes = tuple(
                _given_hole(mould.name, read.get(mould.name), begun=mould.name in begun)
                for mould in self.layout.moulds
            )
            yield Sighting(self.layout.camera, time_s, self.at(time_s), holes)


def read_recording(folder: Path) -> Recording:
    """Read a recording's description and its table of moments, and check both.

    Parameters
    ----------
    folder : Path
        Holds ``recording.toml`` and either ``frames.csv`` with its pictures or ``levels.csv``. The truth that
        a recording may bring along is never opened.

    Returns
    -------
    Recording

    Raises
    ------
    RecordingError
        Something is missing or not as wanted: one sentence with the file, the line or field, what was found
        and what is wanted.
    """
    folder = Path(folder)
    if not folder.is_dir():
        found = "is a file" if folder.exists() else "does not exist"
        raise RecordingError(f"{folder} {found}; give the folder of a recording")
    with_pictures = (folder / "frames.csv").exists()
    if not with_pictures and (folder / FILE_NAME).exists() and not (folder / "levels.csv").exists():
        raise RecordingError(f"{folder} holds neither frames.csv nor levels.csv; give one of them")
    described = read_recording_file(folder / FILE_NAME, pictures=with_pictures)
    pictures: tuple[PictureRow, ...] = ()
    levels: tuple[LevelRow, ...] = ()
    if with_pictures:
        table = read_picture_rows(folder / "frames.csv")
        pictures, unknown = table.rows, table.unknown
    else:
        names = [mould.name for mould in described.layout.moulds]
        given = read_level_rows(folder / "levels.csv", names)
        levels, unknown = given.rows, given.unknown
    return Recording(
        folder=folder,
        started_at=described.started_at,
        layout=described.layout,
        slip=described.slip,
        pictures=pictures,
        levels=levels,
        remarks=_remarks(described.unknown, unknown),
    )


def _given_hole(mould: str, level_mm: float | None, *, begun: bool) -> HoleSighting:
    """Make a hole's sighting of a given level: whoever takes levels takes a mould's from its pour on."""
    if level_mm is None:
        return HoleSighting(mould, Missed.NOT_GIVEN, Contents.UNKNOWN if begun else Contents.EMPTY)
    reading = LevelReading(level_mm, GIVEN_SIGMA_MM, GIVEN_DRIFT_SIGMA_MM)
    return HoleSighting(mould, reading, Contents.SLIP)


def _remarks(*groups: tuple[str, ...]) -> tuple[str, ...]:
    remarks = (f"passed over what is not known here: {'; '.join(names)}" for names in groups if names)
    return tuple(map(one_line, remarks))
