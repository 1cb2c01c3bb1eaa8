"""Tables for a spreadsheet, in which nothing that somebody typed is taken for a formula."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence

Cell = str | int | float | None

_BEGINS_FORMULA = frozenset("=+-@")
"""Signs at a cell's beginning that spreadsheet programs take for a formula (OWASP, "CSV Injection")."""

_SPLITS = frozenset("\t\r\n")
"""Signs by which a program that splits by other rules begins a new cell."""


def plain_cell(cell: Cell) -> Cell:
    """Return what is written for a cell.

    Parameters
    ----------
    cell : str, int, float or None
        A number stays a number, also a negative one; None becomes an empty cell.

    Returns
    -------
    str, int, float or None
        A text that a spreadsheet could run gets an apostrophe in front, which spreadsheets take for "this is
        text"; every other text stays as it is.
    """
    if not isinstance(cell, str):
        return cell
    # full-width signs are read as their plain twins by some programs; so is what follows blanks
    visible = "".join(sign for sign in unicodedata.normalize("NFKC", cell) if sign.isprintable()).lstrip()
    if cell[:1] in _SPLITS or visible[:1] in _BEGINS_FORMULA:
        return "'" + cell
    return cell


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a whole table as CSV (RFC 4180) that a spreadsheet opens without running any of it.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : iterable of sequence
        As many cells in each as there are columns.
    """
    written = io.StringIO(newline="")
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow([plain_cell(name) for name in header])
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"a row has {len(row)} cells; give {len(header)}")
        writer.writerow([plain_cell(cell) for cell in row])
    return written.getvalue()
