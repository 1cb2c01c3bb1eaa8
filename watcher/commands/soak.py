"""`tipbell soak`: simulated bench days through the whole service on a told clock, and the figures of it."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Annotated

import typer

from watcher.commands.refused import Refused


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    """Add the command."""

    @app.command()
    def soak(
        days: Annotated[
            int, typer.Option("--days", metavar="<number>", min=1, max=1000, help="Bench days.")
        ] = 100,
        moulds: Annotated[
            int, typer.Option("--moulds", metavar="<number>", min=1, max=8, help="Moulds on the bench.")
        ] = 8,
        seed: Annotated[int, typer.Option("--seed", metavar="<number>", min=0, help="Draws other days.")] = 1,
        drawn: Annotated[
            int,
            typer.Option(
                "--drawn",
                metavar="<number>",
                min=0,
                help="So many of the days as pictures that are looked at.",
            ),
        ] = 2,
        as_json: Annotated[bool, typer.Option("--json", help="Print the figures as JSON.")] = False,
    ) -> None:
        """Let simulated days pass through the whole service.

        Says what was missed, false, early, late or repeated, and what leaked.
        """
        with one_sentence():
            _soak(days, moulds, seed, drawn, as_json=as_json)


def _soak(days: int, moulds: int, seed: int, drawn: int, *, as_json: bool) -> None:
    from watcher.commands.soak_run import Soak, soaked

    if drawn > days:
        raise Refused(f"--drawn is {drawn}, but there are only {days} days")
    with tempfile.TemporaryDirectory(prefix="tipbell-soak-") as folder:
        say = (lambda line: None) if as_json else (lambda line: print(line, flush=True))
        figures = soaked(Soak(days, moulds, seed, drawn), Path(folder), say)
    if as_json:
        print(json.dumps(figures, indent=2))
        return
    for name, value in figures.items():
        print(f"{name:>24}  {value:.3g}" if isinstance(value, float) else f"{name:>24}  {value}")
