"""The commands that set a bench up, as they are typed; what each needs is imported when it runs."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import wraps
from pathlib import Path
from typing import Annotated

import typer

Out = Annotated[Path, typer.Option("--out", help="The file to write.")]
Ruler = Annotated[float | None, typer.Option("--ruler", help="The board's 200 mm line as measured, in mm.")]
Drawing = Annotated[Path | None, typer.Option("--picture", help="Also draw what was found, to this file.")]
Sheet = Annotated[Path, typer.Option("--sheet", help="The bench sheet's file, as `tipbell cards` wrote it.")]
Settings = Annotated[Path, typer.Option("--settings", help="The settings file.")]
LensFile = Annotated[Path | None, typer.Option("--lens", help="The lens file, as `tipbell lens` wrote it.")]


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    """Add these commands; `one_sentence` ends them with a sentence where what was given cannot be used."""
    for command in (shot, lens, survey, mould, bench, sight, cut, walls):
        app.command()(_ending_in(command, one_sentence))


def _ending_in(
    command: Callable[..., None], one_sentence: Callable[[], AbstractContextManager[None]]
) -> Callable[..., None]:
    @wraps(command)
    def run(*asked: object, **how: object) -> None:
        with one_sentence():
            command(*asked, **how)

    return run


def shot(
    camera: Annotated[str, typer.Option("--camera", help="The camera: a device, an address or a folder.")],
    out: Annotated[Path, typer.Option("--out", help="The picture to write, .png or .jpg.")],
    size: Annotated[
        str, typer.Option("--size", metavar="<WxH>", help="The picture's size, such as 1280x720.")
    ] = "1280x720",
) -> None:
    """Take one picture with the camera, for `mould` and `sight`."""
    from watcher.commands.shot import shot as run

    run(camera, _size(size), out)


def lens(
    out: Out,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="Folder of pictures of the board.")
    ] = None,
    camera: Annotated[
        str | None, typer.Option("--camera", help="A running camera: it takes the pictures by itself.")
    ] = None,
    keep: Annotated[
        Path, typer.Option("--keep", help="Where a running camera's pictures are kept, to go on later.")
    ] = Path("lens-pictures"),
    size: Annotated[
        str, typer.Option("--size", metavar="<WxH>", help="The picture's size, such as 1280x720.")
    ] = "1280x720",
    view: Annotated[
        float | None,
        typer.Option("--view", help="No board: field of view in degrees, from the camera's box."),
    ] = None,
    diagonal: Annotated[
        bool, typer.Option("--diagonal", help="The field of view is from corner to corner.")
    ] = False,
    ruler: Ruler = None,
    picture: Drawing = None,
) -> None:
    """Measure the camera's lens with the printed board, or guess it.

    A guess needs its field of view, or takes that of an ordinary webcam.
    """
    from watcher.commands.lens import Camera, lens_from_camera, lens_from_pictures, lens_from_view

    if pictures is not None:
        lens_from_pictures(pictures, out, ruler_mm=ruler, picture=picture)
    elif camera is not None:
        lens_from_camera(Camera(camera, _size(size), keep), out, ruler_mm=ruler, picture=picture)
    else:
        lens_from_view(out, _size(size), view, diagonal=diagonal)


def survey(
    pictures: Annotated[Path, typer.Option("--pictures", help="Folder of three or more pictures.")],
    sheet: Sheet,
    lens: Annotated[Path, typer.Option("--lens", help="The lens file, as `tipbell lens` wrote it.")],
    out: Out,
    tag_mm: Annotated[
        float | None, typer.Option("--tag", help="Side of the strip's squares in mm, as printed.")
    ] = None,
    upright: Annotated[
        int | None, typer.Option("--upright", help="No sheet: this tag stands upright and makes the frame.")
    ] = None,
    picture: Drawing = None,
) -> None:
    """Find tags on a wall or shelf, where moulds crowd the sheet."""
    from watcher.commands.survey import survey_tags

    survey_tags(pictures, sheet, lens, out, tag_mm=tag_mm, upright=upright, drawing=picture)


def mould(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What you call the mould.")],
    shot: Annotated[
        Path, typer.Option("--shot", help="A picture of the empty mould, its card and the sheet.")
    ],
    sheet: Sheet,
    out: Out,
    tap: Annotated[
        list[str] | None,
        typer.Option("--tap", metavar="<x,y>", help="A point x,y of the rim in the picture; three or more."),
    ] = None,
    bore: Annotated[
        list[str] | None,
        typer.Option(
            "--bore", metavar="<depth:diameter>", help="Depth:diameter in mm, the rim's first: 0:62."
        ),
    ] = None,
    card: Annotated[
        int | None,
        typer.Option("--card", help="Number of its card; without one it has a place on the bench."),
    ] = None,
    card_mm: Annotated[
        float | None, typer.Option("--card-mm", help="Side of the card's square in mm, as printed.")
    ] = None,
    rim_above: Annotated[
        float, typer.Option("--rim-above", help="How far the rim lies above the card's face, in mm.")
    ] = -0.3,
    deepest: Annotated[float, typer.Option("--deepest", help="How far the slip will sink, in mm.")] = 20.0,
    wall: Annotated[float | None, typer.Option("--wall", help="The wall that is wanted, in mm.")] = None,
    depth: Annotated[float | None, typer.Option("--depth", help="Depth of the cavity, in mm.")] = None,
    whole_bore: Annotated[
        bool, typer.Option("--whole-bore", help="The diameters reach from the rim down to the floor.")
    ] = False,
    oval: Annotated[
        str | None,
        typer.Option("--oval", metavar="<AxB>", help="An oval hole's long and short axis in mm: 70x44."),
    ] = None,
    second_tap: Annotated[
        list[str] | None,
        typer.Option("--second-tap", metavar="<x,y>", help="A point of a second hole's rim; three or more."),
    ] = None,
    second: Annotated[
        float | None, typer.Option("--second", help="Diameter of the second hole, in mm.")
    ] = None,
    rim_height: Annotated[
        float | None, typer.Option("--rim-height", help="No card: height of the rim above the bench, in mm.")
    ] = None,
    stl: Annotated[
        Path | None, typer.Option("--stl", help="A drawing of the cavity or of the piece, standing along z.")
    ] = None,
    stl_unit: Annotated[str, typer.Option("--stl-unit", help="Its unit: mm, cm, inch or m.")] = "mm",
    stl_shrinkage: Annotated[
        float, typer.Option("--stl-shrinkage", help="Of a drawn piece: its linear shrinkage, 12 % is 0.12.")
    ] = 0.0,
    lens: LensFile = None,
    picture: Drawing = None,
) -> None:
    """Take in a new mould, or renew the place of its card.

    Needs its card, a few taps on its rim, and its diameters.
    """
    from watcher.commands.mould import MouldWords
    from watcher.commands.mould import mould as run

    words = MouldWords(
        name,
        tuple(tap or ()),
        tuple(bore or ()),
        card,
        card_mm,
        rim_above_card_mm=rim_above,
        deepest_mm=deepest,
        target=wall,
        depth_mm=depth,
        whole_bore=whole_bore,
        rim_height_mm=rim_height,
        oval=oval,
        second_taps=tuple(second_tap or ()),
        second_mm=second,
        stl=stl,
        stl_unit=stl_unit,
        stl_shrinkage=stl_shrinkage,
    )
    run(shot, sheet, out, words, lens=lens, drawing=picture)


def _size(text: str) -> tuple[int, int]:
    from watcher.commands.refused import Refused

    across, _, down = text.lower().partition("x")
    if not (
        across.isdecimal() and down.isdecimal() and 64 <= int(across) <= 8000 and 64 <= int(down) <= 8000
    ):
        raise Refused(f"--size is '{text}'; give width and height in pixels, such as 1280x720")
    return int(across), int(down)


def bench(
    lens: Annotated[Path, typer.Option("--lens", help="The lens file, as `tipbell lens` wrote it.")],
    sheet: Sheet,
    moulds: Annotated[
        list[Path],
        typer.Option(
            "--moulds", metavar="<path>", help="A mould's profile or a folder of them; may be given again."
        ),
    ],
    out: Out,
    gravity: Annotated[float, typer.Option("--gravity", help="Specific gravity of the slip.")] = 1.75,
    cake: Annotated[
        float, typer.Option("--cake", help="Share of solids in the fresh wall's volume, 0 to 1.")
    ] = 0.62,
) -> None:
    """Put lens, sheet, slip and moulds together into the bench's file."""
    from watcher.commands.bench import BenchParts
    from watcher.commands.bench import bench as run

    run(BenchParts(lens, sheet, tuple(moulds), gravity, cake), out)


def sight(
    shot: Annotated[Path, typer.Option("--shot", help="A picture of the bench.")],
    bench: Annotated[Path, typer.Option("--bench", help="The bench's file, as `tipbell bench` wrote it.")],
    picture: Drawing = None,
) -> None:
    """Say how well every hole will be read from where the camera is.

    Says too where the camera stands and how the sheet lies.
    """
    from watcher.commands.sight import sight as run

    run(shot, bench, drawing=picture)


def cut(
    mould: Annotated[str, typer.Argument(metavar="MOULD", help="The mould whose wall was measured.")],
    wall: Annotated[float, typer.Option("--wall", help="The wall as it measures, in mm.")],
    place: Annotated[str, typer.Option("--place", help="Where: spare, belly, foot or mean.")] = "belly",
    state: Annotated[
        str, typer.Option("--state", help="The clay's state: wet, leather_hard, dry or fired.")
    ] = "wet",
    back: Annotated[int, typer.Option("--back", help="Which cast: 0 is the last one tipped.")] = 0,
    depth: Annotated[
        float | None, typer.Option("--depth", help="How far below the rim it was measured, in mm.")
    ] = None,
    sure: Annotated[
        bool, typer.Option("--sure", help="You looked again: use a wall that does not fit.")
    ] = False,
    settings: Settings = Path("tipbell.toml"),
) -> None:
    """Sharpen a mould's profile by a wall that was measured.

    The wall is held against its cast; stop the watching first.
    """
    from watcher.commands.cut import CutWords
    from watcher.commands.cut import cut as run

    run(settings, CutWords(mould, wall, place, state, back, depth, sure))


def walls(
    put: Annotated[
        list[str] | None,
        typer.Option(
            "--put", metavar="<use:thin:thick>", help="An entry use:thin:thick in mm; may be given again."
        ),
    ] = None,
    out: Annotated[
        list[str] | None, typer.Option("--out", metavar="<use>", help="An entry to take out, by its use.")
    ] = None,
    settings: Settings = Path("tipbell.toml"),
) -> None:
    """Show your list of wanted walls, and change it.

    The list goes by what a piece is for.
    """
    from watcher.commands.walls import walls as run

    run(settings, put=tuple(put or ()), out=tuple(out or ()))
