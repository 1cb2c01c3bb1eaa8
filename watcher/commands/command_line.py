"""How the command line refuses: one sentence where what was typed cannot be used."""

from __future__ import annotations

from typing import Any

import typer
from typer.core import TyperGroup


class CommandLine(TyperGroup):
    """The commands of `tipbell`, each said in the same way.

    A wrong option, value or command ends with one sentence on the error output and status 2, as wrong
    files and settings do.
    """

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was typed.

        Raises
        ------
        typer.Exit
            Status 2: something typed cannot be used; one sentence says what.
        """
        try:
            return super().invoke(ctx)
        except typer.TyperException as fault:
            where = getattr(fault, "ctx", None) or ctx
            typer.echo(f"tipbell: {_sentence(fault)}; see `{where.command_path} --help`", err=True)
            raise typer.Exit(fault.exit_code) from None


def _sentence(fault: typer.TyperException) -> str:
    said = fault.format_message().rstrip(".").replace("Input should", "it should")
    return said[:1].lower() + said[1:]
