"""A report's blocks as one Markdown file with its pictures beside it, and as one HTML file that holds all."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from html import escape
from pathlib import Path

from watcher.proof.blocks import Block, Drawing, Heading, Paragraph, Photograph, Table
from watcher.proof.svg_plot import svg

FIGURES = "figures"
STYLE = (
    "body{font:16px/1.5 sans-serif;color:#222;background:#fff;max-width:70rem;margin:2rem auto}"
    "body{padding:0 1rem}"
    "table{border-collapse:collapse;display:block;overflow-x:auto;margin:1rem 0}"
    "th,td{border:1px solid #bbb;padding:.25rem .6rem;text-align:left;vertical-align:top}th{background:#eee}"
    "figure{display:inline-block;margin:.5rem 1rem .5rem 0;width:33rem;max-width:100%;vertical-align:top}"
    "figure svg,figure img{width:100%;height:auto}code{background:#f2f2f2}"
)


def write_report(blocks: Sequence[Block], folder: Path, name: str = "report") -> tuple[Path, Path]:
    """Write both forms.

    Parameters
    ----------
    blocks : sequence of Block
    folder : Path
        There already; pictures of the Markdown form go to `figures` in it.
    name : str
        Of both files, without the ending.

    Returns
    -------
    tuple of Path
        The Markdown and the HTML file.
    """
    figures = folder / FIGURES
    figures.mkdir(exist_ok=True)
    for block in blocks:
        if isinstance(block, Drawing):
            (figures / f"{block.name}.svg").write_text(svg(block.plot) + "\n", encoding="utf-8")
        elif isinstance(block, Photograph):
            (figures / f"{block.name}.jpg").write_bytes(block.jpeg)
    paths = folder / f"{name}.md", folder / f"{name}.html"
    paths[0].write_text(as_markdown(blocks), encoding="utf-8")
    paths[1].write_text(as_html(blocks), encoding="utf-8")
    return paths


def as_markdown(blocks: Sequence[Block]) -> str:
    """Write blocks as Markdown; pictures are looked for in `figures`."""
    return "\n\n".join(_markdown(block) for block in blocks) + "\n"


def as_html(blocks: Sequence[Block]) -> str:
    """Write blocks as one HTML page that needs no other file."""
    title = next((block.text for block in blocks if isinstance(block, Heading)), "Report")
    body = "\n".join(_html(block) for block in blocks)
    return (
        f'<!doctype html>\n<html lang="en-GB">\n<head><meta charset="utf-8"><title>{escape(title)}</title>\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<style>{STYLE}</style></head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def _markdown(block: Block) -> str:
    match block:
        case Heading(text, level):
            return f"{'#' * level} {text}"
        case Paragraph(text):
            return text
        case Table(head, rows):
            lines = [head, ("---",) * len(head), *rows]
            return "\n".join("| " + " | ".join(_cell(cell) for cell in line) + " |" for line in lines)
        case Drawing(name, _, words):
            return f"![{words}]({FIGURES}/{name}.svg)"
        case Photograph(name, _, words):
            return f"![{words}]({FIGURES}/{name}.jpg)\n{words}"


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _html(block: Block) -> str:
    match block:
        case Heading(text, level):
            return f"<h{level}>{_words(text)}</h{level}>"
        case Paragraph(text):
            return f"<p>{_words(text)}</p>"
        case Table(head, rows):
            first = "".join(f"<th>{_words(cell)}</th>" for cell in head)
            rest = "".join(
                "<tr>" + "".join(f"<td>{_words(cell)}</td>" for cell in row) + "</tr>\n" for row in rows
            )
            return f"<table><thead><tr>{first}</tr></thead><tbody>\n{rest}</tbody></table>"
        case Drawing(_, plot, words):
            return f"<figure>{svg(plot)}<figcaption>{_words(words)}</figcaption></figure>"
        case Photograph(_, jpeg, words):
            data = base64.b64encode(jpeg).decode("ascii")
            return (
                f'<figure><img alt="{escape(words)}" src="data:image/jpeg;base64,{data}">'
                f"<figcaption>{_words(words)}</figcaption></figure>"
            )


def _words(text: str) -> str:
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text))
