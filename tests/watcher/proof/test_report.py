"""The report as it is printed: plots that can be read back, text that escapes, figures that stay in step."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from watcher.proof.bars import BARS, verdict
from watcher.proof.blocks import Drawing, Heading, Paragraph, Photograph, Table
from watcher.proof.readme_block import BEGIN, END, NoMarks, block_in, readme_block, with_block
from watcher.proof.report_files import as_html, as_markdown, write_report
from watcher.proof.svg_plot import Band, Curve, Plot, svg
from watcher.proof.words import allowed, figure, joined, median

ROOT = Path(__file__).resolve().parents[3]
SVG = "{http://www.w3.org/2000/svg}"


def test_a_plot_puts_points_where_its_axes_say():
    plot = Plot(
        "a & b",
        "x",
        "y",
        (Curve("one", ((0.0, 0.0), (2.0, 10.0)), marks=True),),
        x_range=(0, 2),
        y_range=(0, 10),
    )
    tree = ET.fromstring(svg(plot))
    dots = [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in tree.iter(f"{SVG}circle")][:2]
    lines = [
        {k: float(line.get(k, "")) for k in ("x1", "y1", "x2", "y2")} for line in tree.iter(f"{SVG}line")
    ]
    across = [line["x1"] for line in lines if line["x1"] == line["x2"]]
    up = [line["y1"] for line in lines if line["y1"] == line["y2"] and line["x2"] - line["x1"] > 100]
    assert dots == [(min(across), max(up)), (max(across), min(up))]
    words = [text.text for text in tree.iter(f"{SVG}text")]
    assert {"a & b", "x", "y", "one", "0", "2", "10"} <= set(words)


def test_a_plot_of_nothing_or_of_blanks_is_still_a_plot():
    ET.fromstring(svg(Plot("empty", "x", "y")))
    blank = Curve("blank", ((0.0, math.nan), (1.0, 2.0)))
    ET.fromstring(svg(Plot("blank", "x", "y", (blank,), (Band("b", ((0, 1),), ((0, 2),)),))))


def test_both_forms_hold_the_same_and_harm_nobody(tmp_path: Path):
    blocks = (
        Heading("Top", 1),
        Paragraph("five < six, say `code`"),
        Table(("a|b", "c"), (("1", "<script>"),)),
        Drawing("plot", Plot("p", "x", "y"), "a plot"),
        Photograph("cup", b"\xff\xd8\xff\xd9", "a cup"),
    )
    markdown, html = write_report(blocks, tmp_path)
    text = markdown.read_text(encoding="utf-8")
    assert (
        "| a\\|b | c |" in text
        and "![a plot](figures/plot.svg)" in text
        and "![a cup](figures/cup.jpg)" in text
    )
    assert (tmp_path / "figures" / "cup.jpg").read_bytes() == b"\xff\xd8\xff\xd9"
    ET.parse(tmp_path / "figures" / "plot.svg")
    page = html.read_text(encoding="utf-8")
    assert "<script>" not in page and "&lt;script&gt;" in page and "<code>code</code>" in page
    assert "five &lt; six" in page and "data:image/jpeg;base64,/9j/2Q==" in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")  # it needs nothing from elsewhere
    assert as_markdown(blocks) == text and as_html(blocks) == page


def test_a_bar_is_reached_kept_missed_or_not_judged():
    must, reach = (-math.inf, 0.5), (-math.inf, 0.25)
    found = [verdict(v, must, reach) for v in (0.25, 0.26, 0.5, 0.51, None, math.nan)]
    assert found == ["reached", "kept", "kept", "missed", "not judged", "not judged"]
    between = [verdict(v, (0.70, 0.92), (0.76, 0.86)) for v in (0.69, 0.72, 0.8, 0.9, 0.93)]
    assert between == ["missed", "kept", "reached", "kept", "missed"]


def test_the_bars_are_those_of_the_design():
    # must and reach for, as the project set them itself before it was built
    bars = {bar.name: (bar.must, bar.reach) for bar in BARS}
    inf = math.inf
    assert bars["level_rms_mm"] == ((-inf, 0.5), (-inf, 0.25))
    assert bars["drop_rms_mm"] == ((-inf, 0.25), (-inf, 0.12))
    assert bars["gross_share"] == ((-inf, 0.01), (-inf, 0.002))
    assert bars["read_share"] == ((0.95, inf), (0.99, inf))
    assert bars["wall_median_mm"] == ((-inf, 0.12), (-inf, 0.06))
    assert bars["wall_worst_mm"] == ((-inf, 0.25), (-inf, 0.15))
    assert bars["call_median"] == ((-inf, 0.05), (-inf, 0.025))
    assert bars["call_worst"] == ((-inf, 0.15), (-inf, 0.08))
    assert bars["half_median"] == ((-inf, 0.08), (-inf, 0.05))
    assert bars["half_worst"] == ((-inf, 0.25), (-inf, 0.12))
    assert all(bars[name] == ((-inf, 0), (-inf, 0)) for name in ("false_seen", "ready_missed", "ready_false"))


def test_figures_are_written_with_their_units():
    assert figure(0.123, "mm") == "0.12 mm" and figure(0.0042, "mm") == "0.004 mm"
    assert figure(0.1234, "%") == "12.3 %" and figure(133.0, "%") == "over 1,000 %"
    assert figure(2, "") == "2" and figure(None, "mm") == figure(math.inf, "mm") == "–"
    assert allowed((-math.inf, 0.5), "mm") == "at most 0.5 mm"
    assert allowed((0.95, math.inf), "%") == "at least 95 %"
    assert allowed((0.7, 0.92), "%") == "70 % to 92 %" and allowed((-math.inf, 0), "") == "0"
    assert joined(["a", "b", "c"]) == "a, b and c" and joined(["a"]) == "a"
    assert median([3.0, None, 1.0, math.inf]) == 2.0 and median([None]) is None


def test_the_block_takes_the_old_ones_place_and_nothing_else():
    text = f"before\n{BEGIN}\nold\n{END}\nafter\n"
    new = with_block(text, f"{BEGIN}\nnew\n{END}")
    assert new == f"before\n{BEGIN}\nnew\n{END}\nafter\n"
    assert block_in(new) == f"{BEGIN}\nnew\n{END}"
    for broken in ("no marks", text + text, f"{END} {BEGIN}"):
        with pytest.raises(NoMarks):
            with_block(broken, "")


def test_the_readmes_figures_are_those_that_were_measured_last():
    kept = json.loads((ROOT / "deploy" / "accuracy.json").read_text(encoding="utf-8"))
    assert block_in((ROOT / "README.md").read_text(encoding="utf-8")) == readme_block(kept)


def test_the_tables_kept_beside_the_readme_are_of_the_same_run():
    kept = json.loads((ROOT / "deploy" / "accuracy.json").read_text(encoding="utf-8"))
    tables = (ROOT / "deploy" / "ACCURACY.md").read_text(encoding="utf-8")
    for bar in kept["bars"]:
        assert (
            f"| {bar['what']} | {bar['must']} | {bar['reach']} | {bar['found_words']} | {bar['stands']} |"
            in tables
        )


def test_a_bar_that_is_kept_in_the_summary_is_kept_by_its_own_figure():
    kept = json.loads((ROOT / "deploy" / "accuracy.json").read_text(encoding="utf-8"))
    found = {bar["name"]: bar for bar in kept["bars"]}
    for bar in BARS:
        assert found[bar.name]["stands"] == verdict(found[bar.name]["found"], bar.must, bar.reach)
