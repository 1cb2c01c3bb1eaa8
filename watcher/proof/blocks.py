"""A report as a row of blocks, so that it is written once and printed two ways."""

from __future__ import annotations

from dataclasses import dataclass

from watcher.proof.svg_plot import Plot


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is the report's own."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Plain text; words between backticks are code."""

    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table; every cell is text already."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A plot, and the name of the file that it becomes beside a Markdown report (without its ending)."""

    name: str
    plot: Plot
    words: str


@dataclass(frozen=True, slots=True)
class Photograph:
    """A JPEG, the name of its file (without its ending), and what is to be seen on it."""

    name: str
    jpeg: bytes
    words: str


Block = Heading | Paragraph | Table | Drawing | Photograph
