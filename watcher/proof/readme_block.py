"""The README's figures: a block between two marks that is written from the kept summary alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from watcher.proof.blocks import Paragraph, Table
from watcher.proof.report_files import as_markdown
from watcher.proof.summary import Entry

BEGIN = "<!-- figures: written by `tipbell prove --readme` -->"
END = "<!-- end of figures -->"


class NoMarks(Exception):
    """A text without the two marks; the text of the exception is one sentence."""


def readme_block(summary: Entry) -> str:
    """Write the block, marks included."""
    recordings = cast(Sequence[Entry], summary["recordings"])
    judged = [one for one in recordings if not one["drawn"]] or list(recordings)
    entries = cast(Sequence[Entry], summary["bars"])
    frames = sum(cast(int, one["frames"]) for one in judged)
    casts = sum(cast(int, one["casts"]) for one in judged)
    first = Paragraph(
        f"Measured on {frames} frames of {len(judged)} "
        f"{'recording' if len(judged) == 1 else 'recordings'} with "
        f"{casts} casts. Each figure is that of the worst recording; the ranges are pooled. What is "
        f"missed is "
        "said so; limits, plain rivals and every recording's own figures stand in "
        "[deploy/ACCURACY.md](deploy/ACCURACY.md)."
    )
    rows = (
        [(str(e["what"]), str(e["must"]), str(e["found_words"]), str(e["stands"])) for e in entries]
        + _soak_rows(summary)
        + _speed_rows(summary)
    )
    table = Table(("what", "must be", "found", ""), tuple(rows))
    return f"{BEGIN}\n\n{as_markdown((first, table))}\n{END}"


def with_block(text: str, block: str) -> str:
    """Put the block where the old one stands.

    Raises
    ------
    NoMarks
        The text has not exactly one pair of marks.
    """
    if text.count(BEGIN) != 1 or text.count(END) != 1 or text.index(END) < text.index(BEGIN):
        raise NoMarks(f"the README has not exactly one pair of the marks {BEGIN} and {END}")
    before, rest = text.split(BEGIN)
    return before + block + rest.split(END)[1]


def block_in(text: str) -> str:
    """Return the block that stands in a text, marks included.

    Raises
    ------
    NoMarks
        As for `with_block`.
    """
    with_block(text, "")
    before, after = text.split(BEGIN)[0], text.split(END)[1]
    return text[len(before) : len(text) - len(after)]


def _soak_rows(summary: Entry) -> list[tuple[str, str, str, str]]:
    soak = summary.get("soak")
    if not isinstance(soak, dict):
        return []
    grows = soak["memory_mb_per_day"]
    found = "–" if grows is None else f"{grows:.2f} ± {soak['memory_mb_per_day_sigma']:.2f} MB a day"
    return [
        (f"memory over {soak['days']} simulated days", "flat", found, str(soak["memory_stands"])),
        (f"casts lost of {soak['casts']}, the service started anew {soak['restarts']} times", "0",
         str(soak["casts_lost"]), str(soak["lost_stands"])),
    ]  # fmt: skip


def _speed_rows(summary: Entry) -> list[tuple[str, str, str, str]]:
    speed = summary["speed"]
    if not isinstance(speed, dict):
        return []
    rows = []
    if "look_over_decode" in speed:
        rows.append(
            ("full look at six moulds at rest, times decoding that JPEG", "at most 1.5",
             f"{speed['look_over_decode']:.1f}", str(speed["look_stands"]))
        )  # fmt: skip
    if "day_minutes" in speed:
        rows.append(
            ("a day of recording (5,760 frames, six moulds) on one core", "",
             f"{speed['day_minutes']:.0f} minutes", "")
        )  # fmt: skip
    if "starts_with_work_s" in speed:
        rows.append(
            ("`tipbell watch`: works until it answers, memory", "",
             f"{speed['starts_with_work_s']:.0f} s, {speed['memory_mb']:.0f} MB", "")
        )  # fmt: skip
    return rows
