"""`tipbell mould`: a new mould from its card, a few taps on its rim and its diameters; or its card anew."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from models.doors import BadValue
from models.profile_files import read_profile, write_profile
from models.profile_text import ProfileFile
from watcher.commands.picture_files import read_picture, write_picture
from watcher.commands.refused import Refused
from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.setup.bench_file import BenchFile, read_bench
from watcher.setup.bench_sight import BenchSight, NoBench, bench_sight
from watcher.setup.drawn_profile import drawn_profile
from watcher.setup.first_profile import Measured, first_profile, odd_bore, with_place
from watcher.setup.found_words import of_mould
from watcher.setup.lens_file import read_lens
from watcher.setup.mould_picture import mould_picture
from watcher.setup.mould_place import MouldAsked, MouldPlaced, place_mould
from watcher.setup.rim_fit import NoRim
from watcher.vision.lens import usable_lens


@dataclass(frozen=True, slots=True)
class MouldWords:
    """What was typed for a mould.

    `taps` are "x,y" in pixels, `bore` rows "depth:diameter" in mm, `target` the wanted wall in mm. `depth_mm`
    is the cavity's depth; `whole_bore`: the rows reach down to the floor. `oval` is "longxshort" in mm;
    `second_taps` and `second_mm` are a second hole's points and diameter. `stl` is a drawing of the cavity
    (or of the piece, with its linear shrinkage as a share) in `stl_unit`.
    """

    name: str
    taps: tuple[str, ...]
    bore: tuple[str, ...]
    card_id: int | None = None
    card_mm: float | None = None
    rim_above_card_mm: float = -0.3
    deepest_mm: float = 20.0
    target: float | None = None
    depth_mm: float | None = None
    whole_bore: bool = False
    rim_height_mm: float | None = None
    oval: str | None = None
    second_taps: tuple[str, ...] = ()
    second_mm: float | None = None
    stl: Path | None = None
    stl_unit: str = "mm"
    stl_shrinkage: float = 0.0


def mould(
    picture: Path,
    sheet: Path,
    out: Path,
    asked: MouldWords,
    *,
    lens: Path | None = None,
    drawing: Path | None = None,
) -> None:
    """Find where a mould's rim lies from its card, say how well it will be read, and write its profile.

    Parameters
    ----------
    picture : Path
        A picture of the empty mould with its card and the bench sheet in view.
    sheet : Path
        The file of the bench sheet.
    out : Path
        The profile to write. If it is there already, only its card's place is renewed.
    asked : MouldWords
    lens : Path, optional
        The lens file; without it an ordinary webcam's lens is taken.
    drawing : Path, optional
        Where a picture of what was found goes.

    Raises
    ------
    Refused
        With one sentence.
    """
    image = read_picture(picture)
    try:
        bench = read_bench(sheet)
        used = usable_lens(None if lens is None else read_lens(lens), *image.shape[:2])
        before = read_profile(out) if out.exists() else None
        wanted = _asked(asked, bench, before)
        profile = before or _profile(asked, wanted)
    except (BadValue, ValueError) as fault:
        raise Refused(str(fault)) from fault
    if lens is None:
        print("no lens file was given: an ordinary webcam's is taken; see `tipbell lens` for what it costs")
    sight = bench_sight(image, used, bench)
    if isinstance(sight, NoBench):
        raise Refused(sight.why)
    placed = place_mould(image, sight, wanted, used, bench.up)
    if isinstance(placed, NoRim):
        raise Refused(placed.why)
    odd = odd_bore(wanted.bore)
    for line in (*of_mould(sight, placed), *(() if odd is None else (f"note: {odd}",))):
        print(line)
    _write(out, with_place(profile, placed, new=before is None), again=before is not None)
    if drawing:
        _draw(drawing, image, sight, placed, wanted, used, bench)


def _asked(asked: MouldWords, bench: BenchFile, before: ProfileFile | None) -> MouldAsked:
    bore = _pairs(asked.bore, ":", "--bore", "depth:diameter in mm, such as 0:62")
    if not bore and before is None:
        raise Refused("no diameter was given; measure the pour hole and say --bore 0:DIAMETER")
    card_mm = asked.card_mm
    if asked.card_id is not None and card_mm is None:
        if asked.card_id not in bench.card_sizes_mm:
            raise Refused(
                f"card {asked.card_id} is not among the printed ones; give its square's side, --card-mm"
            )
        card_mm = bench.card_sizes_mm[asked.card_id]
    return MouldAsked(
        asked.name,
        _pairs(asked.taps, ",", "--tap", "x,y in pixels, such as 512,304"),
        bore if before is None else before.mould.bore,
        asked.card_id,
        card_mm or 0.0,
        asked.rim_above_card_mm,
        asked.deepest_mm,
        asked.rim_height_mm,
        None if asked.oval is None else _oval(asked.oval),
        _pairs(asked.second_taps, ",", "--second-tap", "x,y in pixels, such as 512,304"),
        asked.second_mm,
    )


def _oval(given: str) -> tuple[float, float]:
    ((first, second),) = _pairs((given.lower(),), "x", "--oval", "long x short axis in mm, such as 70x44")
    return max(first, second), min(first, second)


def _pairs(given: tuple[str, ...], mark: str, option: str, wanted: str) -> tuple[tuple[float, float], ...]:
    pairs = []
    for one in given:
        try:
            first, second = (float(part) for part in one.split(mark))
        except ValueError:
            raise Refused(f"{option} is '{one}'; give {wanted}") from None
        pairs.append((first, second))
    return tuple(pairs)


def _profile(asked: MouldWords, wanted: MouldAsked) -> ProfileFile:
    """Make a first profile of what was measured; what it leaves open is in its way and spread."""
    if asked.stl is not None:
        return drawn_profile(asked.name, _stl(asked.stl), asked.target, asked.stl_unit, asked.stl_shrinkage)
    return first_profile(
        Measured(asked.name, wanted.bore, asked.target, asked.depth_mm, asked.whole_bore, wanted.deepest_mm)
    )


def _stl(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as fault:
        raise Refused(f"{path} cannot be read: {fault.strerror}") from fault


def _write(out: Path, profile: ProfileFile, *, again: bool) -> None:
    out.parent.mkdir(parents=True, exist_ok=True)
    try:
        write_profile(out, profile, replace=again)
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    print(f"{'renewed the card in' if again else 'wrote'} {out}")


def _draw(
    drawing: Path,
    image: Image,
    sight: BenchSight,
    placed: MouldPlaced,
    wanted: MouldAsked,
    lens: Lens,
    bench: BenchFile,
) -> None:
    words = (f"{wanted.name}: read {placed.reading.how_well.value}", *placed.reading.advice)
    taps = (*wanted.taps_px, *wanted.second_taps_px)
    drawn = mould_picture(image, sight, placed, lens, taps_px=taps, up=bench.up, words=words)
    write_picture(drawing, drawn)
    print(f"wrote {drawing}")
