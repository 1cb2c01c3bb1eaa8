"""Words of the pages about the other benches."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

OTHERS_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "way_benches": ("Benches", "Tische"),
        "benches": ("The other benches", "Die anderen Tische"),
        "benches_alone": (
            "This bench shares no database with others.",
            "Dieser Tisch teilt mit anderen keine Datenbank.",
        ),
        "benches_none": (
            "No other bench has been heard of yet.",
            "Von einem anderen Tisch ist noch nichts bekannt.",
        ),
        "benches_away": (
            "The others cannot be seen just now: {why}",
            "Die anderen sind gerade nicht zu sehen: {why}",
        ),
        "benches_heard": ("heard {age} ago", "vor {age} gehört"),
        "benches_silent": (
            "Not heard of since {at}. Its figures are old; look yourself.",
            "Seit {at} nichts gehört. Die Zahlen sind alt; bitte selbst nachsehen.",
        ),
        "benches_gone": ("Shut down at {at}.", "Ausgeschaltet um {at}."),
        "benches_next": ("Next: {name}", "Als Nächstes: {name}"),
        "benches_free": ("Nothing is casting", "Keine Form ist gefüllt"),
        "benches_page": ("Open its page", "Seite dieses Tisches öffnen"),
        "benches_calls": ("{n} calls unanswered", "{n} Rufe unbeantwortet"),
        "benches_call": ("1 call unanswered", "1 Ruf unbeantwortet"),
        "benches_unknown": ("time not known yet", "Zeit noch unbekannt"),
        "benches_passed": ("{bench}, {what}: passed on", "{bench}, {what}: weitergegeben"),
        "benches_waits": (
            "{bench}, {what}: waits until that bench is heard again",
            "{bench}, {what}: wartet, bis der Tisch sich wieder meldet",
        ),
        "benches_words": ("What was said from here", "Von hier aus gesagt"),
        "benches_word_waits": ("waits there", "wartet dort"),
        "benches_word_taken": ("taken in", "angenommen"),
        "benches_word_refused": ("not taken in: {why}", "nicht angenommen: {why}"),
    }
)
"""Key: (English, German)."""
