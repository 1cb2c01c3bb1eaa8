"""Words of the set-up page where a strip on wall or shelf is surveyed."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

STRIP_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "step_strip": ("Tags on a wall or shelf", "Marken an Wand oder Regal"),
        "strip_short": ("where moulds crowd the sheet", "wo Formen das Blatt verdecken"),
        "strip_how": (
            "Print the strip, fix its tags flat on the wall or shelf behind the moulds, and measure the "
            "lens first. Then take the camera off its stand and take three or more pictures from "
            "different sides, each with tags of the strip and, in most, the bench sheet. Do this while "
            "nothing is cast, and put the camera back.",
            "Den Streifen drucken, seine Marken flach an Wand oder Regal hinter den Formen befestigen und "
            "zuerst die Linse messen. Dann die Kamera vom Halter nehmen und drei oder mehr Bilder von "
            "verschiedenen Seiten machen, jedes mit Marken des Streifens und die meisten mit dem Blatt. "
            "Das tun, solange nichts gegossen ist, und die Kamera wieder befestigen.",
        ),
        "strip_alt": ("The last picture, with its tags drawn in", "Das letzte Bild, mit seinen Marken"),
        "strip_none": ("No picture kept yet.", "Noch kein Bild behalten."),
        "strip_take": ("Keep this picture", "Dieses Bild behalten"),
        "strip_view": ("Picture", "Bild"),
        "strip_tags": ("tags", "Marken"),
        "strip_placed": ("Surveyed tags:", "Vermessene Marken:"),
        "strip_work": ("Work the survey out", "Vermessung ausrechnen"),
        "strip_tag_mm": ("Side of a strip's black square", "Seite eines schwarzen Quadrats des Streifens"),
        "strip_tag_hint": (
            "Leave it empty: as drawn, at the size the print was measured at.",
            "Leer lassen: wie gezeichnet, im gemessenen Maß des Drucks.",
        ),
        "strip_forget": ("Put the survey away", "Vermessung verwerfen"),
        "strip_then": (
            "The bench goes by it after 'Use the changes from now on' on the page of the start.",
            "Der Tisch folgt ihr nach „Änderungen ab jetzt verwenden“ auf der Seite zum Beginnen.",
        ),
    }
)
"""Key: (English, German)."""
