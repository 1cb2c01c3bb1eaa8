"""The words of letters to phones, beside those of the page: German as the second language."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from watcher.alerts.letter_words import ENGLISH, ENGLISH_TEXTS, LetterWords
from watcher.page.words_bench import BENCH_WORDS
from watcher.page.words_why import why_words

GERMAN: Mapping[str, str] = MappingProxyType(
    {
        "decimal": ",",
        "weekdays": "Montag Dienstag Mittwoch Donnerstag Freitag Samstag Sonntag",
        "months": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
        "day": "{weekday}, {number}. {month}",
        "again": "Noch einmal: {text}",
        "wall": ", Wand etwa {wall} mm",
        "soon_some_time": "{mould}: bald kippen.",
        "soon": "{mould}: kippen in etwa {minutes} min{wall}.",
        "ready": "{mould}: jetzt kippen{wall}.",
        "late": "{mould}: über die Zeit, sofort kippen{wall}.",
        "follows": "{mould}: kippen um {at}.",
        "reason": "{mould}: {why}.",
        "leaking": "{mould}: undicht? {why}.",
        "computer": "Der Computer am Tisch: {why}.",
        "silent": "{why}.",
        "top_up": "{mould}: nachgießen.",
        "top_up_now": "{mould}: jetzt nachgießen.",
        "top_up_before": "{mould}: nachgießen vor {at}.",
        "camera_blind": "Die Kamera ist nicht zu gebrauchen: {why}.",
        "forecasts_only": "Nur Vorhersagen: {list}.",
        "forecast_from": "{mould} ab {at}",
        "forecast_tip": "{mould} ab {at} (kippen etwa {tip})",
        "heard_again": "{bench} meldet sich wieder.",
        "over": "{what}: {kind}, vorbei.",
        "sees_again": "Die Kamera sieht wieder; seit {at} sah sie nichts.",
        "not_read_yet": "Noch nicht abgelesen: {list}.",
        "the_bench": "der Tisch",
        "The_bench": "Der Tisch",
        "and_more": "{names} und {n} weitere",
        "no_more": "{kind}, vorbei",
        "sum_title": "Der Tag: {n} Güsse",
        "sum_casts": "{day}: {n} Güsse: {ends}.",
        "sum_in_time": "{n} rechtzeitig gekippt",
        "sum_early": "{n} früher als gerufen",
        "sum_late": "{n} über das dicke Ende hinaus",
        "sum_open": "{n} noch offen, oder das Kippen nicht gesehen",
        "sum_unknown": "{n} ohne Zeit, an die man sich halten konnte",
        "sum_unseen": "Minutenlang nicht abgelesen: {unseen} Güsse; Kamera ohne Bild: {blind}-mal.",
        # what a call is about is named as on the page
        **{key: BENCH_WORDS[key][1] for key in ENGLISH_TEXTS if key.startswith("kind_")},
    }
)


def letter_words(language: str) -> LetterWords:
    """Return the words of letters in a language of the page; English if unknown."""
    if language != "de":
        return ENGLISH
    known = [(re.compile(_python(pattern)), german) for pattern, german in why_words(language)]

    def why(english: str) -> str:
        found = ((pattern.fullmatch(english), german) for pattern, german in known)
        return next((german.format(**match.groupdict()) for match, german in found if match), english)

    return LetterWords(GERMAN, why)


def _python(pattern: str) -> str:
    """Return a browser's pattern as one of Python's: named groups and slashes differ."""
    return pattern.replace("(?<", "(?P<").replace("\\/", "/")
