"""`tipbell walls`: the caster's own list of wanted walls, by what a piece is for."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from watcher.commands.refused import Refused
from watcher.setup.folder import SetupFolder
from watcher.setup.walls_file import checked_wall, read_walls, with_wall, write_walls


def walls(path: Path, *, put: tuple[str, ...] = (), out: tuple[str, ...] = ()) -> None:
    """Print the list, after putting entries in and taking others out.

    Parameters
    ----------
    path : Path
        The settings file; the list lies below its folder.
    put : tuple of str
        Entries as "use:thin:thick", in mm.
    out : tuple of str
        Entries to be taken out, by their use.

    Raises
    ------
    Refused
        With one sentence.
    """
    file = SetupFolder(path.resolve().parent).walls
    try:
        held = read_walls(file)
        for text in put:
            held = with_wall(held, checked_wall(*_parts(text)))
        for use in out:
            if all(one.use != use for one in held):
                raise Refused(f"'{use}' is not in the list")
            held = tuple(one for one in held if one.use != use)
        if put or out:
            write_walls(file, held)
    except BadValue as fault:
        raise Refused(str(fault)) from None
    for one in held:
        print(f"{one.use:28s} {one.thin_mm:5.1f} to {one.thick_mm:4.1f} mm   {one.source}")


def _parts(text: str) -> tuple[str, float, float]:
    use, *numbers = text.rsplit(":", 2)
    try:
        thin, thick = (float(one) for one in numbers)
    except ValueError:
        raise Refused(f"--put is '{text}'; give use:thin:thick in mm, such as cups:3:4") from None
    return use, thin, thick
