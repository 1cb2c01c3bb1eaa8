"""Choose the command. What a command needs is imported by that command, so that `--help` comes at once."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

import watcher
from watcher.commands.command_line import CommandLine
from watcher.commands.keeping import add_to as add_keeping
from watcher.commands.proving import add_to as add_proving
from watcher.commands.setting_up import add_to as add_setting_up
from watcher.commands.sharing import add_to as add_sharing
from watcher.commands.soak import add_to as add_soak
from watcher.commands.the_day import add_to as add_the_day

SAMPLE_SESSION = Path(watcher.__file__).resolve().parent.parent / "sample_frames" / "morning_bench"
BAD_INPUT = 2

app = typer.Typer(
    name="tipbell",
    cls=CommandLine,
    help="Watches a slip caster's bench and calls when each mould must be tipped.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

RecordingFolder = Annotated[Path, typer.Argument(metavar="RECORDING", help="Folder of the recording.")]


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"tipbell {watcher.__version__}")
        raise typer.Exit


@app.callback()
def _tipbell(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version and stop."),
    ] = False,
) -> None:
    """Watch a slip caster's bench and call when each mould must be tipped."""


@app.command()
def measure(
    recording: RecordingFolder,
    out: Annotated[Path, typer.Option("--out", help="Folder that the tables are written to.")],
    timings: Annotated[bool, typer.Option("--timings", help="Also write timings.json.")] = False,
    pictures: Annotated[
        Path | None,
        typer.Option(
            "--pictures", help="Also write each frame with what was found drawn in, to this folder."
        ),
    ] = None,
) -> None:
    """Measure a recording: levels, walls and ready times, as if live.

    Each line is worked out from what lies before it.
    """
    with _one_sentence():
        from watcher.commands.measure import measure as run

        run(recording, out, timings=timings, pictures=pictures)


@app.command()
def record(
    video: Annotated[Path, typer.Argument(metavar="VIDEO", help="The video file.")],
    bench: Annotated[Path, typer.Option("--bench", help="The bench's file, with the lens of this camera.")],
    out: Annotated[Path, typer.Option("--out", help="Folder of the recording: a new one.")],
    start: Annotated[
        datetime | None,
        typer.Option(
            "--start",
            formats=["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M:%SZ"],
            metavar="<moment>",
            help="When the video begins, in UTC; else by its file's own date.",
        ),
    ] = None,
    every: Annotated[
        float,
        typer.Option(
            "--every", metavar="<seconds>", min=0.2, max=600.0, help="Pictures nearer together are left out."
        ),
    ] = 10.0,
) -> None:
    """Make a recording out of a video of the bench."""
    with _one_sentence():
        from watcher.commands.record import record as run

        run(video, bench, out, start=start, every_s=every)


@app.command()
def demo(
    recording: Annotated[
        Path, typer.Option("--recording", help="Folder of a recording; else the sample session.")
    ] = SAMPLE_SESSION,
    port: Annotated[
        int, typer.Option("--port", metavar="<number>", min=0, max=65535, help="Port of the page; 0: any.")
    ] = 8417,
    speed: Annotated[
        float, typer.Option("--speed", metavar="<number>", min=0.1, max=1000.0, help="Times as fast as life.")
    ] = 20.0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open the page.")] = False,
    notify: Annotated[
        list[str] | None,
        typer.Option(
            "--notify",
            metavar="<address>",
            help="Address that alerts are sent to as well; may be given again.",
        ),
    ] = None,
) -> None:
    """Play a recording at speed and serve the page."""
    with _one_sentence():
        from watcher.commands.demo import demo as run

        run(recording, port=port, speed=speed, browser=not no_browser, notify=tuple(notify or ()))


@app.command()
def watch(
    settings: Annotated[Path, typer.Option("--settings", help="The settings file.")] = Path("tipbell.toml"),
    port: Annotated[
        int | None,
        typer.Option(
            "--port",
            metavar="<number>",
            min=0,
            max=65535,
            help="Port of the set-up page, before the first start.",
        ),
    ] = None,
) -> None:
    """Watch a bench until stopped; without settings, set it up.

    Camera, page and calls run in one process.
    """
    with _one_sentence():
        from watcher.commands.watch import watch as run

        run(settings, port=port)


@app.command()
def check(
    settings: Annotated[Path, typer.Option("--settings", help="The settings file.")] = Path("tipbell.toml"),
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    send: Annotated[bool, typer.Option("--send", help="Let every channel carry a trial message.")] = False,
) -> None:
    """Try everything in the settings; say: fine, or what to do."""
    with _one_sentence():
        from watcher.commands.check import check as run

        if not run(settings, as_json=as_json, send=send):
            raise typer.Exit(1)


@app.command()
def cards(
    out: Annotated[Path, typer.Option("--out", help="Folder that the pages are written to.")],
    paper: Annotated[str, typer.Option("--paper", help="a4, letter or both.")] = "both",
    mould: Annotated[
        list[str] | None,
        typer.Option("--mould", metavar="<name>", help="Name of a mould; may be given again."),
    ] = None,
    first_id: Annotated[
        int | None, typer.Option("--first-id", help="Number of the first mould's card.")
    ] = None,
    tag_mm: Annotated[
        float | None, typer.Option("--tag", help="Side of a card's black square in mm, as drawn.")
    ] = None,
    strip: Annotated[bool, typer.Option("--strip", help="Also tags for a wall or shelf.")] = False,
    ruler: Annotated[
        float | None, typer.Option("--ruler", help="The sheet's long line as measured, in mm.")
    ] = None,
    ruler_up: Annotated[
        float | None, typer.Option("--ruler-up", help="The line across it as measured, in mm.")
    ] = None,
) -> None:
    """Print the bench sheet, the mould cards and the lens board.

    Given the print as measured with a ruler, it takes in its true size.
    """
    with _one_sentence():
        from watcher.commands.cards import cards as run
        from watcher.setup.mould_card import FIRST_MOULD_ID, USUAL_TAG_MM

        run(
            out,
            paper=paper,
            moulds=tuple(mould or ()),
            first_id=FIRST_MOULD_ID if first_id is None else first_id,
            tag_mm=USUAL_TAG_MM if tag_mm is None else tag_mm,
            strip=strip,
            ruler_mm=ruler,
            ruler_up_mm=ruler_up,
        )


@contextmanager
def _one_sentence() -> Iterator[None]:
    """End with a sentence and status 2 where what was given cannot be used."""
    from watcher.camera.recording_fields import RecordingError
    from watcher.commands.refused import Refused
    from watcher.settings import SettingsError

    try:
        yield
    except (RecordingError, SettingsError, Refused) as fault:
        raise _ended(str(fault)) from None
    except OSError as fault:
        if fault.errno != errno.EADDRINUSE:
            raise
        raise _ended("that port is in use already; give another one with --port, or 0 for any") from None


def _ended(sentence: str) -> typer.Exit:
    typer.echo(f"tipbell: {sentence}", err=True)
    return typer.Exit(BAD_INPUT)


add_setting_up(app, _one_sentence)
add_keeping(app, _one_sentence)
add_sharing(app, _one_sentence)
add_the_day(app, _one_sentence)
add_soak(app, _one_sentence)
add_proving(app, _one_sentence, SAMPLE_SESSION)


def main() -> None:
    """Run the command line."""
    app(prog_name="tipbell")


if __name__ == "__main__":
    main()
