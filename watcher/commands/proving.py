"""The commands that make the project's own figures and pictures, as they are typed."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Annotated

import typer


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]], sample: Path) -> None:
    """Add these commands; `one_sentence` ends them with a sentence where what was given cannot be used."""

    @app.command()
    def prove(
        out: Annotated[Path, typer.Option("--out", help="Folder that the report is written to.")],
        recordings: Annotated[
            list[Path] | None,
            typer.Option(
                "--recordings",
                metavar="<path>",
                help="A further recording with its truth, or a folder of some; may be given again.",
            ),
        ] = None,
        sample_too: Annotated[
            bool, typer.Option("--sample/--no-sample", help="Judge the sample session.")
        ] = True,
        drawn: Annotated[
            bool, typer.Option("--drawn/--no-drawn", help="Judge a bench of the simulator as well.")
        ] = True,
        casts: Annotated[
            int,
            typer.Option(
                "--casts", metavar="<number>", min=0, help="Drawn casts for each state of knowledge; 0: none."
            ),
        ] = 25,
        speed: Annotated[
            bool, typer.Option("--speed/--no-speed", help="Time looks, start and a long run.")
        ] = True,
        long_frames: Annotated[
            int,
            typer.Option(
                "--long-run", metavar="<number>", min=0, help="Frames of the long run; 5760: a whole day."
            ),
        ] = 400,
        soak: Annotated[
            int,
            typer.Option(
                "--soak", metavar="<number>", min=0, help="Simulated days through the service; 0: none."
            ),
        ] = 7,
        readme: Annotated[
            bool, typer.Option("--readme", help="Write the figures into README and deploy/.")
        ] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    ) -> None:
        """Measure every figure that Tipbell claims; write a report."""
        with one_sentence():
            from watcher.commands.prove import ProofAsked
            from watcher.commands.prove import prove as run
            from watcher.commands.refused import Refused

            folders = ((sample,) if sample_too else ()) + tuple(recordings or ())
            if not folders:
                raise Refused("there is nothing to judge; give --recordings, or leave the sample session in")
            run(ProofAsked(out, folders, drawn, casts, speed, long_frames, soak, readme, as_json))

    @app.command()
    def screens(
        out: Annotated[Path, typer.Option("--out", help="Folder that the pictures are written to.")],
        recording: Annotated[
            Path, typer.Option("--recording", help="Folder of a recording; else the sample session.")
        ] = sample,
        at_s: Annotated[float, typer.Option("--at", help="Second of the recording that is shown.")] = 905.0,
    ) -> None:
        """Take pictures of the page while a recording plays.

        Needs Chromium, and playwright from the packages of the tests.
        """
        with one_sentence():
            from watcher.commands.screens import screens as run

            run(recording, out, at_s=at_s)
