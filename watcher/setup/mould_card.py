"""The card of one mould: its tag, its name, a ruler line, and a notch that points to the pour hole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from models.doors import BadValue, number
from watcher.setup.bench_sheet import bench_sheet
from watcher.setup.drawing import Page, Paper, Shape, Stroke, Words
from watcher.setup.ruler import ruler_line
from watcher.setup.tag_print import QUIET_CELLS, tag_cells, tag_patch

FIRST_MOULD_ID = 10
"""Below lie the bench sheet's own tags (0 to 3) and those of a strip on the wall (4 to 9)."""
STRIP_IDS = (4, 5, 6, 7, 8, 9)
USUAL_TAG_MM = 30.0
STRIP_TAG_MM = 60.0
LEAST_TAG_MM, MOST_TAG_MM = 14.0, 80.0
NOTCH_MM = 5.0
FOOT_MM = 22.0
MARGIN_MM = 10.0
PAGE_RULER_MM = 150.0


@dataclass(frozen=True, slots=True)
class MouldCard:
    """What is printed for one mould.

    `tag_id` is the card's number, `size_mm` the side of its black square, `notch_to` where the notch points.
    """

    tag_id: int
    name: str
    size_mm: float = USUAL_TAG_MM
    notch_to: str = "to the pour hole"

    @property
    def width_mm(self) -> float:
        """Width of the card cut out, in mm."""
        return self.size_mm + 2.0 * QUIET_CELLS * self.size_mm / 8.0

    @property
    def height_mm(self) -> float:
        """Height of the card cut out, notch to foot, in mm."""
        return NOTCH_MM + self.width_mm + FOOT_MM


def mould_cards(
    names: Sequence[str], first_id: int = FIRST_MOULD_ID, size_mm: float = USUAL_TAG_MM
) -> tuple[MouldCard, ...]:
    """Give each name a card with a number of its own.

    Raises
    ------
    BadValue
        Two moulds have one name, a number is taken or unknown, or the size is out of range.
    """
    number(
        "the card's tag", size_mm, wanted=f"its side in mm, {LEAST_TAG_MM:g} to {MOST_TAG_MM:g}",
        least=LEAST_TAG_MM, most=MOST_TAG_MM,
    )  # fmt: skip
    for name in names:
        if not name.strip():
            raise BadValue("a mould's name is blank; give what you call the mould")
        if names.count(name) > 1:
            raise BadValue(f"two moulds have the name '{name}'; give each its own")
    taken = {tag.tag_id for tag in bench_sheet()}
    if first_id in taken:
        raise BadValue(f"number {first_id} belongs to the bench sheet; begin at {FIRST_MOULD_ID} or above")
    for tag_id in range(first_id, first_id + len(names)):
        tag_cells(tag_id)
    return tuple(MouldCard(first_id + n, name, size_mm) for n, name in enumerate(names))


def strip_cards() -> tuple[MouldCard, ...]:
    """Return the tags of a strip for a wall or shelf, where moulds crowd the bench."""
    return tuple(MouldCard(tag_id, "wall or shelf", STRIP_TAG_MM, "upwards") for tag_id in STRIP_IDS)


def card_pages(cards: Sequence[MouldCard], paper: Paper, title: str = "Tipbell cards") -> list[Page]:
    """Lay the cards on as many pages as they need; all cards must be of one size."""
    if not cards:
        return []
    width, height = paper.portrait_mm
    one = cards[0]
    top_mm = height - MARGIN_MM - 22.0
    columns = int((width - 2.0 * MARGIN_MM + 4.0) // (one.width_mm + 4.0))
    rows = int((top_mm - MARGIN_MM + 4.0) // (one.height_mm + 4.0))
    pages: list[Page] = []
    for start in range(0, len(cards), columns * rows):
        shapes: list[Shape] = _head(width, height, title, one.notch_to)
        for place, card in enumerate(cards[start : start + columns * rows]):
            row, column = divmod(place, columns)
            left = MARGIN_MM + column * (card.width_mm + 4.0)
            shapes += _card(card, left, top_mm - row * (card.height_mm + 4.0))
        pages.append(Page(width, height, tuple(shapes)))
    return pages


def _head(width: float, height: float, title: str, notch_to: str) -> list[Shape]:
    text = (
        f"Print at 100 % on matt paper, cut along the dashed lines, notch too. The notch points {notch_to}."
    )
    return [
        Words(MARGIN_MM, height - MARGIN_MM - 2.0, title, 4.5),
        Words(MARGIN_MM, height - MARGIN_MM - 7.0, text, 3.0, within_mm=width - 2.0 * MARGIN_MM),
        *ruler_line((0.5 * (width - PAGE_RULER_MM), height - MARGIN_MM - 17.0), PAGE_RULER_MM),
    ]


def _card(card: MouldCard, left: float, top: float) -> list[Shape]:
    """Draw one card below `top`, right of `left`."""
    right, middle = left + card.width_mm, left + 0.5 * card.width_mm
    bottom = top - card.height_mm
    outline = ((left, bottom), (right, bottom), (right, top), (left, top))
    notch = ((middle - NOTCH_MM, top), (middle, top - 0.9 * NOTCH_MM), (middle + NOTCH_MM, top))
    foot = top - NOTCH_MM - card.width_mm
    ruler_mm = 10.0 * ((card.width_mm - 2.0) // 10.0)

    def line(below: float, text: str, height_mm: float) -> Words:
        return Words(middle, foot - below, text, height_mm, "middle", within_mm=card.width_mm - 3.0)

    return [
        Stroke(outline, 0.15, 0.55, dashed=True, closed=True),
        Stroke(notch, 0.15, 0.75, closed=True, filled=True),
        tag_patch(card.tag_id, card.size_mm, (middle, foot + 0.5 * card.width_mm)),
        line(3.2, card.name, 4.2),
        line(8.0, f"card {card.tag_id}, square {card.size_mm:g} mm", 2.6),
        *ruler_line((middle - 0.5 * ruler_mm, foot - 13.0), ruler_mm, label_at=None),
        line(18.5, f"line {ruler_mm:g} mm; notch {card.notch_to}", 2.3),
    ]
