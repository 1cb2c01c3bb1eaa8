"""The file about what was printed: the bench sheet's tags at their true size, and the print's scale."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence

from models.doors import BadValue, number
from watcher.records.layout import SheetTag
from watcher.setup.mould_card import MouldCard
from watcher.setup.ruler import PrintScale
from watcher.setup.tag_print import DICTIONARY
from watcher.setup.toml_text import Table, toml_text

HEADING = """What was printed, at its true size.
The bench frame: x right, y away from the camera, z up; millimetres from the sheet's centre."""


def sheet_table(tag: SheetTag, dictionary: str = DICTIONARY) -> Table:
    """Return one tag as the `[[sheet]]` table of a settings file or recording."""
    table: dict[str, str | int | float | Sequence[float]] = {
        "dictionary": dictionary,
        "id": tag.tag_id,
        "size_mm": round(tag.size_mm, 4),
        "centre_mm": [round(value, 4) for value in tag.centre_mm],
    }
    if tag.rotation_deg is None:
        table["yaw_deg"] = round(tag.yaw_deg, 4)
    else:
        table["rotation_deg"] = [round(value, 4) for value in tag.rotation_deg]
    return table


def sheet_text(tags: Sequence[SheetTag], scale: PrintScale | None, cards: Sequence[MouldCard] = ()) -> str:
    """Write the printed tags as TOML.

    Parameters
    ----------
    tags : sequence of SheetTag
        At their true size, the scale already reckoned in.
    scale : PrintScale or None
        What the measured ruler lines said; None: not measured yet.
    cards : sequence of MouldCard
        At their drawn size; written at their true size.
    """
    factor = 1.0 if scale is None else scale.factor
    # printers are true to about half a percent (common practice, no source)
    printed: Table = {
        "scale": round(factor, 5),
        "scale_sigma": round(0.005 if scale is None else scale.sigma, 5),
        "measured": scale is not None,
    }
    tables: list[tuple[str, Table]] = [("print", printed)]
    tables += [("[[sheet]]", sheet_table(tag)) for tag in tags]
    tables += [
        (
            "[[card]]",
            {"name": card.name, "tag_id": card.tag_id, "tag_size_mm": round(card.size_mm * factor, 4)},
        )
        for card in cards
    ]
    return toml_text(tables, HEADING)


def printed_cards(text: str) -> tuple[MouldCard, ...]:
    """Read back the mould cards of a file written by `sheet_text`, at their drawn size.

    Raises
    ------
    BadValue
        The file is not TOML, or a card's entry is not as written.
    """
    try:
        held = tomllib.loads(text)
        scale = number("[print] scale", held["print"]["scale"], wanted="the print's scale", above=0.0)
        return tuple(
            MouldCard(
                int(card["tag_id"]),
                str(card["name"]),
                number("tag_size_mm", card["tag_size_mm"], wanted="its side in mm", above=0.0) / scale,
            )
            for card in held.get("card", [])
        )
    except (ValueError, RecursionError, OverflowError, KeyError, TypeError) as fault:
        raise BadValue(
            f"the file of printed cards cannot be read back ({fault}); print the cards anew"
        ) from fault
