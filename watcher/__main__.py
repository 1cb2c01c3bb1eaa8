"""Choose the command. What a command needs is imported by that command, so that `--help` comes at once."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

import watcher

SAMPLE_SESSION = Path(watcher.__file__).resolve().parent.parent / "sample_frames"
BAD_INPUT = 2

app = typer.Typer(
    name="tipbell",
    help="Watches a slip caster's bench and calls when each mould must be tipped.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

RecordingFolder = Annotated[Path, typer.Argument(help="Folder of the recording.")]


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
    """Measure levels, walls and ready times in a recording, each line from what lies before it."""
    with _one_sentence():
        from watcher.commands.measure import measure as run

        run(recording, out, timings=timings, pictures=pictures)


@app.command()
def demo(
    recording: Annotated[
        Path, typer.Option("--recording", help="Folder of a recording; else the sample session.")
    ] = SAMPLE_SESSION,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="Port of the page; 0: any.")] = 8417,
    speed: Annotated[
        float, typer.Option("--speed", min=0.1, max=1000.0, help="Times as fast as life.")
    ] = 20.0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open the page.")] = False,
    notify: Annotated[
        list[str] | None,
        typer.Option("--notify", help="Address that alerts are sent to as well; may be given again."),
    ] = None,
) -> None:
    """Play a recording at speed and serve the page."""
    with _one_sentence():
        from watcher.commands.demo import demo as run

        run(recording, port=port, speed=speed, browser=not no_browser, notify=tuple(notify or ()))


@contextmanager
def _one_sentence() -> Iterator[None]:
    """End with a sentence and status 2 where what was given cannot be used."""
    from watcher.camera.recording_fields import RecordingError
    from watcher.commands.refused import Refused

    try:
        yield
    except (RecordingError, Refused) as fault:
        raise _ended(str(fault)) from None
    except OSError as fault:
        if fault.errno != errno.EADDRINUSE:
            raise
        raise _ended("that port is in use already; give another one with --port, or 0 for any") from None


def _ended(sentence: str) -> typer.Exit:
    typer.echo(f"tipbell: {sentence}", err=True)
    return typer.Exit(BAD_INPUT)


def main() -> None:
    """Run the command line."""
    app(prog_name="tipbell")


if __name__ == "__main__":
    main()
