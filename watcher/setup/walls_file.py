"""The caster's own list of wanted walls, by what a piece is for."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path

from models.doors import BadValue, number
from models.target_list import STARTING_WALLS, WallForUse
from watcher.setup.toml_text import Table, toml_text

HEADING = (
    """Wet walls by what a piece is for, in mm. Starting values are common practice: change them to yours."""
)
MOST_WALLS = 60
MOST_LETTERS = 60
OWN = "your own"


def checked_wall(use: str, thin_mm: float, thick_mm: float, source: str = OWN) -> WallForUse:
    """Return one entry of the list, or raise BadValue with a sentence."""
    name = " ".join(use.split())
    if not name or len(name) > MOST_LETTERS:
        raise BadValue(f"give what the piece is for, in 1 to {MOST_LETTERS} letters")
    thin = number("thin end", thin_mm, wanted="the wet wall in mm, 0.3 to 40", least=0.3, most=40.0)
    thick = number("thick end", thick_mm, wanted=f"mm, {thin:g} to 60", least=thin, most=60.0)
    return WallForUse(name, thin, thick, source)


def read_walls(path: Path) -> tuple[WallForUse, ...]:
    """Read the list; the starting values where there is none yet.

    Raises
    ------
    BadValue
        The file is not as written; one sentence.
    """
    try:
        held = tomllib.loads(path.read_text(encoding="utf-8"))
        return tuple(
            checked_wall(str(one["use"]), one["thin_mm"], one["thick_mm"], str(one.get("source", OWN)))
            for one in held.get("wall", [])
        )
    except FileNotFoundError:
        return STARTING_WALLS
    except BadValue:
        raise
    except (ValueError, RecursionError, OSError, KeyError, TypeError) as fault:
        raise BadValue(
            f"{path.name} cannot be read ({fault}); mend it, or remove it to begin anew"
        ) from fault


def write_walls(path: Path, walls: Sequence[WallForUse]) -> None:
    """Write the list, whole or not at all."""
    tables: list[tuple[str, Table]] = [
        ("[[wall]]", {"use": one.use, "thin_mm": one.thin_mm, "thick_mm": one.thick_mm, "source": one.source})
        for one in walls
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.part")
    draft.write_text(toml_text(tables, HEADING), encoding="utf-8")
    draft.replace(path)


def with_wall(walls: Sequence[WallForUse], one: WallForUse) -> tuple[WallForUse, ...]:
    """Put an entry in, in the place of the one of that name, else at the end."""
    if all(other.use != one.use for other in walls):
        if len(walls) >= MOST_WALLS:
            raise BadValue(f"the list holds {MOST_WALLS} walls already; take one out first")
        return (*walls, one)
    return tuple(one if other.use == one.use else other for other in walls)
