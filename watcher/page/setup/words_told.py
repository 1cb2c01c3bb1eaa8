"""What the thinking of the set-up says in English, in the page's other language where it is shown first."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

_BOARD = "die Tafel in der Ecke {where} im Bild"

TOLD: Mapping[str, str] = MappingProxyType(
    {
        "the board in the upper left corner of the picture": _BOARD.format(where="oben links"),
        "the board in the upper right corner of the picture": _BOARD.format(where="oben rechts"),
        "the board in the lower left corner of the picture": _BOARD.format(where="unten links"),
        "the board in the lower right corner of the picture": _BOARD.format(where="unten rechts"),
        "the board with its right side tilted back": "die Tafel, rechte Seite nach hinten gekippt",
        "the board with its left side tilted back": "die Tafel, linke Seite nach hinten gekippt",
        "the board with its lower side tilted back": "die Tafel, untere Seite nach hinten gekippt",
        "the board with its upper side tilted back": "die Tafel, obere Seite nach hinten gekippt",
        "the board near, filling a third of the picture": "die Tafel nah, über ein Drittel des Bildes",
        "the board further away, filling a seventh of the picture": (
            "die Tafel weiter weg, über ein Siebtel des Bildes"
        ),
        "one more view": "noch eine Ansicht",
        "{n} more views": "noch {n} Ansichten",
        "hold the board still": "die Tafel stillhalten",
        "this view is there already; move or tilt the board": (
            "diese Ansicht gibt es schon; die Tafel bewegen oder kippen"
        ),
        "kept view {n}": "Ansicht {n} behalten",
        "thin porcelain": "dünnes Porzellan",
        "cups and tableware": "Tassen und Geschirr",
        "vases and general ware": "Vasen und Gefäße",
        "planters and sturdy pieces": "Übertöpfe und Kräftiges",
        "bakeware": "Backformen",
    }
)
"""English to German; `{n}` stands for the one number in it."""

_NUMBER = re.compile(r"\d+")


def told_in(language: str, said: str) -> str:
    """Return a sentence of the thinking in a language; as it came where it is not known."""
    if language != "de":
        return said
    found = _NUMBER.search(said)
    known = TOLD.get(_NUMBER.sub("{n}", said, count=1))
    return said if known is None else known.format(n=found.group() if found else "")
