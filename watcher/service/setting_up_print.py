"""The printing step: cards with their numbers, the pages as PDF, and the print's true size."""

from __future__ import annotations

import tomllib
from threading import Lock

from models.doors import BadValue
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import CardShown, CardsShown, Told
from watcher.setup.bench_sheet import RULER_ACROSS_MM, RULER_MM, bench_page, bench_sheet, scaled
from watcher.setup.drawing import Page, Paper
from watcher.setup.folder import SetupFolder
from watcher.setup.lens_board import board_page
from watcher.setup.mould_card import FIRST_MOULD_ID, MouldCard, card_pages, mould_cards
from watcher.setup.pdf import pdf_bytes
from watcher.setup.ruler import PrintScale, WrongScale, print_scale
from watcher.setup.sheet_file import printed_cards, sheet_text

PAPERS = {"a4": Paper.A4, "letter": Paper.LETTER}


class SetupCards:
    """What is printed. The file `setup/sheet.toml` is the same as `tipbell cards` writes."""

    def __init__(self, folder: SetupFolder) -> None:
        self._folder = folder
        self._path = folder.own / "sheet.toml"
        self._lock = Lock()

    def shown(self) -> CardsShown:
        """Return which moulds have a card, and whether the print was measured."""
        scale, measured = self._scale()
        cards = tuple(CardShown(card.name, card.tag_id) for card in self._cards())
        return CardsShown(cards, RULER_MM, RULER_ACROSS_MM, self._path.exists(), measured is not None, scale)

    def name(self, names: tuple[str, ...]) -> Told:
        """Give each name a card; numbers that were given stay."""
        with self._lock:
            before = self._cards()
            known = {card.name for card in before}
            fresh = [name for name in dict.fromkeys(names) if name not in known]
            first = max((card.tag_id for card in before), default=FIRST_MOULD_ID - 1) + 1
            try:
                made = (*before, *mould_cards(fresh, first))
                pdf_bytes(card_pages(made, PAPERS["a4"]), "")  # a name that cannot be printed is said at once
            except BadValue as fault:
                raise Unfit(str(fault), "names") from None
            self._write(made, self._scale()[1])
        said = [f"{card.name} has card {card.tag_id}" for card in made[len(before) :]]
        said += [f"{name} has a card already" for name in dict.fromkeys(names) if name in known]
        return Told(tuple(said) or ("no name was given",))

    def pdf(self, paper: str) -> bytes:
        """Return all pages as one PDF."""
        one = PAPERS[paper]
        if not self._path.exists():
            with self._lock:
                self._write((), None)
        pages: list[Page] = [bench_page(one), *card_pages(self._cards(), one), board_page(one)]
        try:
            return pdf_bytes(pages, "Tipbell cards")
        except BadValue as fault:
            raise Unfit(str(fault)) from None

    def measured(self, ruler_mm: float, ruler_up_mm: float) -> Told:
        """Take in the printed lines' true lengths."""
        found = print_scale(RULER_MM, ruler_mm, ruler_up_mm, RULER_ACROSS_MM)
        if isinstance(found, WrongScale):
            raise Unfit(found.why, "ruler_mm")
        with self._lock:
            self._write(self._cards(), found)
        return Told((found.sentence(),))

    def _write(self, cards: tuple[MouldCard, ...], scale: PrintScale | None) -> None:
        tags = scaled(bench_sheet(), 1.0 if scale is None else scale.factor)
        self._path.parent.mkdir(parents=True, exist_ok=True)
        draft = self._path.with_name(f".{self._path.name}.part")
        draft.write_text(sheet_text(tags, scale, cards), encoding="utf-8")
        draft.replace(self._path)

    def _cards(self) -> tuple[MouldCard, ...]:
        if not self._path.exists():
            return ()
        try:
            return printed_cards(self._path.read_text(encoding="utf-8"))
        except (BadValue, UnicodeDecodeError) as fault:
            raise Unfit(str(fault)) from None

    def _scale(self) -> tuple[float, PrintScale | None]:
        """Return the print's scale, and where it comes from: None while it was not measured."""
        try:
            held = tomllib.loads(self._path.read_text(encoding="utf-8"))["print"]
            factor, sigma = float(held["scale"]), float(held["scale_sigma"])
            return factor, PrintScale(factor, sigma) if held["measured"] is True else None
        except (OSError, ValueError, RecursionError, KeyError, TypeError):
            return 1.0, None
