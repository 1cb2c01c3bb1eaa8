"""Pages as a vector PDF."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from models.doors import BadValue
from watcher.setup.drawing import Page, Patch, Shape, Stroke, Words

POINT_MM = 25.4 / 72.0
FONT = "Helvetica"
CAP_HEIGHT = 0.72
"""Height of capital letters over the size of the lettering (Helvetica, about)."""


def pdf_bytes(pages: Sequence[Page], title: str) -> bytes:
    """Write pages as a PDF; the same pages give the same bytes.

    Raises
    ------
    BadValue
        A text holds letters that the built-in lettering lacks.
    """
    held = io.BytesIO()
    canvas = Canvas(held, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("Tipbell")
    canvas.setViewerPreference("PrintScaling", "None")  # else many viewers shrink a page to its margins
    for page in pages:
        canvas.setPageSize((page.width_mm / POINT_MM, page.height_mm / POINT_MM))
        for shape in page.shapes:
            _draw(canvas, shape)
        canvas.showPage()
    canvas.save()
    return held.getvalue()


def _draw(canvas: Canvas, shape: Shape) -> None:
    match shape:
        case Patch():
            _patch(canvas, shape)
        case Stroke():
            _stroke(canvas, shape)
        case Words():
            _words(canvas, shape)


def _patch(canvas: Canvas, patch: Patch) -> None:
    path = canvas.beginPath()
    for box in patch.boxes:
        path.rect(box.x_mm / POINT_MM, box.y_mm / POINT_MM, box.width_mm / POINT_MM, box.height_mm / POINT_MM)
    canvas.setFillGray(0.0)
    canvas.drawPath(path, stroke=0, fill=1)


def _stroke(canvas: Canvas, stroke: Stroke) -> None:
    path = canvas.beginPath()
    (x, y), *others = stroke.points_mm
    path.moveTo(x / POINT_MM, y / POINT_MM)
    for x, y in others:
        path.lineTo(x / POINT_MM, y / POINT_MM)
    if stroke.closed:
        path.close()
    canvas.setLineWidth(stroke.width_mm / POINT_MM)
    canvas.setLineCap(0)
    canvas.setStrokeGray(stroke.grey)
    canvas.setFillGray(stroke.grey)
    canvas.setDash([4.0, 3.0] if stroke.dashed else [])
    canvas.drawPath(path, stroke=1, fill=int(stroke.filled))


def _words(canvas: Canvas, words: Words) -> None:
    try:
        words.text.encode("cp1252")
    except UnicodeEncodeError as fault:
        raise BadValue(
            f"'{words.text}' holds the letter '{words.text[fault.start]}', which the cards' lettering lacks; "
            "give a name in Latin letters"
        ) from fault
    size = words.height_mm / CAP_HEIGHT / POINT_MM
    width = stringWidth(words.text, FONT, size)
    if words.within_mm is not None and width > words.within_mm / POINT_MM:
        size *= words.within_mm / POINT_MM / width
    canvas.saveState()
    canvas.setFont(FONT, size)
    canvas.setFillGray(words.grey)
    canvas.translate(words.x_mm / POINT_MM, words.y_mm / POINT_MM)
    canvas.rotate(words.turned_deg)
    if words.anchor == "middle":
        canvas.drawCentredString(0.0, 0.0, words.text)
    else:
        canvas.drawString(0.0, 0.0, words.text)
    canvas.restoreState()
