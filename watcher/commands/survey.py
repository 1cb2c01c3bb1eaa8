"""`tipbell survey`: find the tags of a strip on a wall or shelf from a few pictures."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from watcher.commands.picture_files import pictures_in, read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.records.layout import Lens, SheetTag
from watcher.setup.bench_file import BenchFile, read_bench
from watcher.setup.lens_file import read_lens
from watcher.setup.mould_card import STRIP_TAG_MM
from watcher.setup.mould_picture import tags_picture
from watcher.setup.strip import strip_text, strip_words, survey_strip, tags_in
from watcher.setup.survey import NoSurvey, Sighted, Surveyed
from watcher.vision.lens import usable_lens


def survey_tags(
    folder: Path,
    sheet: Path,
    lens: Path,
    out: Path,
    *,
    tag_mm: float | None = None,
    upright: int | None = None,
    drawing: Path | None = None,
) -> None:
    """Survey all tags 4 to 9 that the pictures show, and write them beside the bench sheet's.

    Parameters
    ----------
    folder : Path
        Three or more pictures, each with the sheet and some of the strip's tags, from different sides.
    sheet : Path
        The file of the bench sheet.
    lens : Path
        The lens file: a survey with a guessed lens would keep the guess's error for ever.
    out : Path
        The file to write: `[[sheet]]` tables of all.
    tag_mm : float, optional
        Side of the strip's tags as printed. [mm]
    upright : int, optional
        Survey without a bench sheet: this tag stands upright on a wall and makes the frame.
    drawing : Path, optional
        Where the last picture goes with all tags drawn in.

    Raises
    ------
    Refused
        With one sentence.
    """
    try:
        bench, constants = read_bench(sheet), read_lens(lens)
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    pictures, names = _sighted(folder, constants, bench, drawing)
    known = bench.tags
    size_mm = tag_mm or STRIP_TAG_MM
    if upright is not None:
        known = (SheetTag(upright, size_mm, (0.0, 0.0, 0.0), rotation_deg=(90.0, 0.0, 0.0)),)
    try:
        found = survey_strip(pictures, known, size_mm, constants.fx_px)
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    if isinstance(found, NoSurvey):
        listed = ", ".join(f"{n} is {name}" for n, name in enumerate(names, start=1))
        raise Refused(f"{found.why} (picture {listed})" if "picture " in found.why else found.why)
    _write(out, known, found, bench)


def _sighted(
    folder: Path, lens: Lens, bench: BenchFile, drawing: Path | None
) -> tuple[list[Sighted], list[str]]:
    pictures: list[Sighted] = []
    names = []
    for path in pictures_in(folder):
        image = read_picture(path)
        try:
            used = usable_lens(lens, *image.shape[:2])
        except ValueError as fault:
            raise Refused(f"{path.name}: {fault}") from fault
        try:
            found, seen = tags_in(image, used, bench.dictionary)
        except BadValue as fault:
            raise Refused(f"{path.name}: {fault}") from fault
        print(f"{path.name}: tags {', '.join(str(tag) for tag in sorted(seen)) or 'none'}")
        pictures.append(seen)
        names.append(path.name)
        if drawing:
            write_picture(drawing, tags_picture(image, found))
    return pictures, names


def _write(out: Path, known: tuple[SheetTag, ...], found: Surveyed, bench: BenchFile) -> None:
    for line in strip_words(found):
        print(line)
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(strip_text(known, found, bench), encoding="utf-8")
    print(f"wrote {out}, from {found.pictures} pictures, corners within {found.fit_px:.2f} px")
