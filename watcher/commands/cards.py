"""`tipbell cards`: print the bench sheet, the mould cards and the lens board; take in the print's scale."""

from __future__ import annotations

from pathlib import Path

from models.doors import BadValue
from watcher.commands.refused import Refused
from watcher.setup.bench_sheet import RULER_ACROSS_MM, RULER_MM, bench_page, bench_sheet, scaled
from watcher.setup.drawing import Page, Paper
from watcher.setup.lens_board import board_page
from watcher.setup.mould_card import (
    FIRST_MOULD_ID,
    USUAL_TAG_MM,
    MouldCard,
    card_pages,
    mould_cards,
    strip_cards,
)
from watcher.setup.pdf import pdf_bytes
from watcher.setup.ruler import PrintScale, WrongScale, print_scale
from watcher.setup.sheet_file import printed_cards, sheet_text

SHEET_FILE = "sheet.toml"
PAPERS = {"a4": (Paper.A4,), "letter": (Paper.LETTER,), "both": (Paper.A4, Paper.LETTER)}


def cards(
    out: Path,
    *,
    paper: str = "both",
    moulds: tuple[str, ...] = (),
    first_id: int = FIRST_MOULD_ID,
    tag_mm: float = USUAL_TAG_MM,
    strip: bool = False,
    ruler_mm: float | None = None,
    ruler_up_mm: float | None = None,
) -> None:
    """Write the pages as PDF, or, where a measured ruler line is given, the true sizes alone.

    Parameters
    ----------
    out : Path
        Folder to write to; made where it is missing.
    paper : str
        "a4", "letter" or "both".
    moulds : tuple of str
        Names of the moulds that get a card, numbered upwards from `first_id`.
    first_id : int
        Number of the first mould's card.
    tag_mm : float
        Side of the mould cards' black square as drawn. [mm]
    strip : bool
        Also print tags for a wall or shelf.
    ruler_mm, ruler_up_mm : float or None
        Measured length of the bench sheet's long line, and of the one across it. [mm]

    Raises
    ------
    Refused
        Something given cannot be used; one sentence.
    """
    if paper not in PAPERS:
        raise Refused(f"--paper is '{paper}'; give a4, letter or both")
    if ruler_up_mm is not None and ruler_mm is None:
        raise Refused("--ruler-up is given without --ruler; measure the sheet's long line as well")
    try:
        scale = None if ruler_mm is None else _scale(ruler_mm, ruler_up_mm)
        made = _printed(out) if scale and not moulds else mould_cards(moulds, first_id, tag_mm)
        files = {} if scale else {one: _pdf(one, made, strip) for one in PAPERS[paper]}
    except BadValue as fault:
        raise Refused(str(fault)) from fault
    out.mkdir(parents=True, exist_ok=True)
    for one, data in files.items():
        path = out / f"cards-{one.name.lower()}.pdf"
        path.write_bytes(data)
        print(f"wrote {path}")
    tags = scaled(bench_sheet(), 1.0 if scale is None else scale.factor)
    (out / SHEET_FILE).write_text(sheet_text(tags, scale, made), encoding="utf-8")
    print(f"wrote {out / SHEET_FILE}")
    print(scale.sentence() if scale else _next_step())


def _scale(ruler_mm: float, ruler_up_mm: float | None) -> PrintScale:
    found = print_scale(RULER_MM, ruler_mm, ruler_up_mm, RULER_ACROSS_MM)
    if isinstance(found, WrongScale):
        raise BadValue(found.why)
    return found


def _printed(out: Path) -> tuple[MouldCard, ...]:
    path = out / SHEET_FILE
    return printed_cards(path.read_text(encoding="utf-8")) if path.exists() else ()


def _pdf(paper: Paper, made: tuple[MouldCard, ...], strip: bool) -> bytes:
    pages: list[Page] = [bench_page(paper), *card_pages(made, paper)]
    if strip:
        pages += card_pages(strip_cards(), paper, "Tipbell tags for a wall or shelf")
    return pdf_bytes([*pages, board_page(paper)], "Tipbell cards")


def _next_step() -> str:
    return (
        f"Print at 100 % (not 'fit to page'), measure the {RULER_MM:g} mm and the {RULER_ACROSS_MM:g} mm "
        "line of the bench sheet, and say `tipbell cards --ruler MM --ruler-up MM` with the same folder."
    )
