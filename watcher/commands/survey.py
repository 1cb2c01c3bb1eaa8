"""`tipbell survey`: find the tags of a strip on a wall or shelf from a few pictures."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from watcher.commands.picture_files import pictures_in, read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.records.layout import Lens, SheetTag
from watcher.setup.bench_file import BenchFile, read_bench
from watcher.setup.lens_file import read_lens
from watcher.setup.mould_card import STRIP_IDS, STRIP_TAG_MM
from watcher.setup.mould_picture import tags_picture
from watcher.setup.sheet_file import sheet_table
from watcher.setup.survey import NoSurvey, Sighted, Surveyed, survey
from watcher.setup.tag_sightings import every_tag, measured, twins
from watcher.setup.toml_text import toml_text
from watcher.vision.lens import usable_lens

HEADING = """The bench sheet and the surveyed tags of a strip.
The bench frame: x right, y away from the camera, z up; millimetres from the sheet's centre."""


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
    given = {tag.tag_id for tag in known}
    shown = {tag for one in pictures for tag in one}
    wanted = {tag: size_mm for tag in STRIP_IDS if tag in shown - given}
    if not wanted:
        raise Refused(f"no picture shows a tag of the strip (numbers {STRIP_IDS[0]} to {STRIP_IDS[-1]})")
    found = survey(pictures, known, wanted, constants.fx_px)
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
        found = every_tag(image, bench.dictionary)
        doubled = twins(found)
        if doubled:
            raise Refused(f"{path.name}: {doubled[0]}")
        seen = measured(image, found, used)
        print(f"{path.name}: tags {', '.join(str(tag) for tag in sorted(seen)) or 'none'}")
        pictures.append({tag: one.corners for tag, one in seen.items()})
        names.append(path.name)
        if drawing:
            write_picture(drawing, tags_picture(image, found))
    return pictures, names


def _write(out: Path, known: tuple[SheetTag, ...], found: Surveyed, bench: BenchFile) -> None:
    for one in found.tags:
        x, y, z = one.tag.centre_mm
        print(
            f"tag {one.tag.tag_id} at {x:.1f}, {y:.1f}, {z:.1f} mm, to {one.sigma_mm:.1f} mm "
            f"and {one.sigma_deg:.1f} degrees"
        )
    tables = [
        ("[[sheet]]", sheet_table(tag, bench.dictionary))
        for tag in (*known, *(one.tag for one in found.tags))
    ]
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(toml_text(tables, HEADING), encoding="utf-8")
    print(f"wrote {out}, from {found.pictures} pictures, corners within {found.fit_px:.2f} px")
