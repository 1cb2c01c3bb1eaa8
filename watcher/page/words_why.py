"""Sentences that come from the bench and its models, in the second language.

The bench writes them in English, once for all pages; a page in another language finds them here. Names in
braces stand for what changes. What is not listed is shown as it came.
"""

from __future__ import annotations

import re

WHY: tuple[tuple[str, str], ...] = (
    ("nothing has been poured yet", "noch nichts gefüllt"),
    ("the pour has just begun", "das Füllen hat eben begonnen"),
    ("too few readings yet", "noch zu wenige Messwerte"),
    (
        "the service has just started again; the next readings tell",
        "eben neu gestartet; die nächsten Messwerte zeigen es",
    ),
    (
        "no target: say how thick the wall should be, or which cast was good",
        "kein Ziel: Wandstärke nennen, oder welcher Guss gut war",
    ),
    ("no fit yet ({why})", "noch keine Rechnung ({why})"),
    ("this cast does not get to {wanted}", "dieser Guss erreicht {wanted} nicht"),
    (
        "the pour hole freezes shut before {wanted}: top up, or drain sooner",
        "das Eingussloch wächst vor {wanted} zu: nachgießen, oder früher leeren",
    ),
    ("a solid piece is not tipped: it has cast through", "ein Vollguss wird nicht gekippt: er ist durch"),
    (
        "a solid piece is not tipped: keep it fed, about {n} min until it has cast through",
        "ein Vollguss wird nicht gekippt: nachfüllen, noch etwa {n} min",
    ),
    (
        "no cast of this mould has been judged yet; pour one and say how it came out",
        "von dieser Form ist noch kein Guss beurteilt; einen gießen und sagen, wie er wurde",
    ),
    (
        "so far every cast was too {side}; one that is good sets the target",
        "bisher war jeder Guss zu {side}; ein guter setzt das Ziel",
    ),
    (
        "sinks faster than this mould drinks: check the seam",
        "sinkt schneller, als die Form saugt: Naht prüfen",
    ),
    (
        "was it tipped? It looked so when it was last seen; if slip still stands in it, tip now",
        "schon gekippt? Beim letzten Blick sah es so aus; steht noch Schlicker darin, jetzt kippen",
    ),
    (
        "the ring of clay will soon close the pour hole: tip while the slip still runs",
        "der Tonring schließt bald das Eingussloch: kippen, solange der Schlicker noch läuft",
    ),
    (
        "the level has sunk out of sight: the time shown is a forecast",
        "der Stand ist außer Sicht: die gezeigte Zeit ist eine Vorhersage",
    ),
    (
        "something lies over the pour hole: the time shown is a forecast",
        "etwas liegt über dem Eingussloch: die gezeigte Zeit ist eine Vorhersage",
    ),
    (
        "froth stands on the slip: the time shown is a forecast",
        "Schaum steht auf dem Schlicker: die gezeigte Zeit ist eine Vorhersage",
    ),
    (
        "not read for some minutes: the time shown is a forecast",
        "seit Minuten nicht abgelesen: die gezeigte Zeit ist eine Vorhersage",
    ),
    (
        "calls are off until {day}: this bench only records",
        "bis {day} wird nicht gerufen: es wird nur aufgezeichnet",
    ),
    (
        "the disk fills up ({n} MB free at {folder}): make room",
        "der Speicher wird voll (noch {n} MB frei bei {folder}): Platz schaffen",
    ),
    (
        "its clock went back by {span}; casts go on by the steady clock, only the times shown before are off",
        "die Uhr ging um {span} zurück; die Güsse laufen nach einer steten Uhr weiter, nur die davor "
        "gezeigten Zeiten stimmen nicht",
    ),
    (
        "its clock went forward by {span}; casts go on by the steady clock, only the times shown before "
        "are off",
        "die Uhr ging um {span} vor; die Güsse laufen nach einer steten Uhr weiter, nur die davor "
        "gezeigten Zeiten stimmen nicht",
    ),
    (
        "its clock went back by {span} over the restart: casts from before it are dated less surely",
        "die Uhr ging beim Neustart um {span} zurück: frühere Güsse sind weniger sicher datiert",
    ),
    (
        "{name} was last heard at {at}; {mould} there was to be ready at {ready}",
        "{name} zuletzt gehört um {at}; {mould} sollte dort um {ready} fertig sein",
    ),
    (
        "{name} was last heard at {at}; there were to be ready: {list}",
        "{name} zuletzt gehört um {at}; dort sollten fertig sein: {list}",
    ),
    (
        "{name} was last heard at {at}; {mould} is cast there, for when was not known yet",
        "{name} zuletzt gehört um {at}; {mould} ist dort gefüllt, bis wann, war noch unbekannt",
    ),
    (
        "{name} was last heard at {at}; nothing was cast there",
        "{name} zuletzt gehört um {at}; dort war nichts gefüllt",
    ),
    (
        "{name} was shut down at {at}; {mould} there was to be ready at {ready}",
        "{name} ausgeschaltet um {at}; {mould} sollte dort um {ready} fertig sein",
    ),
    (
        "{name} was shut down at {at}; there were to be ready: {list}",
        "{name} ausgeschaltet um {at}; dort sollten fertig sein: {list}",
    ),
    (
        "{name} was shut down at {at}; {mould} is cast there, for when was not known yet",
        "{name} ausgeschaltet um {at}; {mould} ist dort gefüllt, bis wann, war noch unbekannt",
    ),
    (
        "another bench casts in a mould called {name} too: tip it there, or give one its own name",
        "an einem anderen Tisch ist auch eine Form namens {name} gefüllt: dort kippen, oder umbenennen",
    ),
    ("the camera is being opened", "die Kamera wird geöffnet"),
    (
        "no picture has come {since}; it is opened again",
        "kein Bild gekommen ({since}); sie wird neu geöffnet",
    ),
    (
        "the camera's driver hangs again and again: restart the computer",
        "der Treiber der Kamera hängt immer wieder: Computer neu starten",
    ),
    (
        "the camera answers but sends no picture; it is opened again",
        "die Kamera antwortet, sendet aber kein Bild; sie wird neu geöffnet",
    ),
    (
        "the camera sends {size} where its calibration holds for {other}: set it to {wanted}",
        "die Kamera sendet {size}, kalibriert ist sie für {other}: auf {wanted} stellen",
    ),
    (
        "the picture is black: is the lens covered, or the light off?",
        "das Bild ist schwarz: Linse abgedeckt oder Licht aus?",
    ),
    (
        "the camera has sent the very same picture for {n} s: switch it off and on",
        "die Kamera sendet seit {n} s dasselbe Bild: aus- und einschalten",
    ),
    ("the camera {name} is unplugged", "die Kamera {name} ist nicht angesteckt"),
    ("no picture has been dropped yet", "noch kein Bild abgelegt"),
    (
        "no new picture for {n} s: does the program that takes them run?",
        "seit {n} s kein neues Bild: läuft das Programm, das sie aufnimmt?",
    ),
    (
        "the disk is full: nothing is remembered until space is freed; casts are still watched and called",
        "der Speicher ist voll: nichts wird gespeichert, bis Platz da ist; beobachtet und gerufen wird "
        "weiter",
    ),
    (
        "the journal may not be written: make its disk writable; casts are still watched and called",
        "das Gedächtnis darf nicht schreiben: Datenträger freigeben; beobachtet und gerufen wird weiter",
    ),
    (
        "the journal's disk does not answer: look at its plug or card; casts are still watched and called",
        "der Datenträger des Gedächtnisses antwortet nicht: Stecker oder Karte prüfen; gerufen wird weiter",
    ),
    ("another program holds the journal; stop it", "ein anderes Programm hält das Gedächtnis; es beenden"),
    (
        "the journal cannot be written ({why}); casts are still watched and called",
        "das Gedächtnis kann nicht schreiben ({why}); beobachtet und gerufen wird weiter",
    ),
    ("pictures cannot be kept: {why}", "Bilder können nicht gespeichert werden: {why}"),
    (
        "the disk is nearly full: no pictures are kept until space is freed",
        "der Speicher ist fast voll: keine Bilder, bis Platz da ist",
    ),
    ("every pot that is wanted today is poured", "alles für heute Gewünschte ist gefüllt"),
    (
        "every mould is as damp as you allow; dry them first",
        "alle Formen sind so feucht wie erlaubt; erst trocknen",
    ),
    (
        "no cast would be ready, tipped and drained before closing",
        "kein Guss wäre vor Feierabend fertig, gekippt und leer",
    ),
    ("it is past closing time; give a later one", "Feierabend ist vorbei; eine spätere Zeit angeben"),
    (
        "{name}: has no wanted wall that it is tipped at; it is not planned",
        "{name}: ohne Wunschwand, bei der gekippt wird; nicht geplant",
    ),
    (
        "{name}: as damp as you allow today; dry it first",
        "{name}: so feucht wie heute erlaubt; erst trocknen",
    ),
    (
        "{name}: a cast poured long ago was never seen tipped; taken as empty",
        "{name}: ein alter Guss wurde nie gekippt gesehen; gilt als leer",
    ),
    (
        "{name}: stands under cast, when it is ready is not known yet; nothing is planned for it",
        "{name}: ist gefüllt, Ende noch unbekannt; nicht verplant",
    ),
    (
        "no cast of their own is remembered of {list}: published casting times, whose range is wide; the "
        "first cast narrows it",
        "noch kein eigener Guss von {list}: veröffentlichte Zeiten mit weitem Bereich; der erste Guss "
        "macht ihn eng",
    ),
    (
        "today's slip ({slip}) makes casts {n} times as long as one of {other} C; moulds cast since tell "
        "by themselves",
        "der heutige Schlicker ({slip}) macht Güsse {n}-mal so lang wie einer von {other} C; seither "
        "gegossene Formen zeigen es selbst",
    ),
)
"""(English, German), the longer before the shorter where one begins like another."""


def why_words(language: str) -> list[tuple[str, str]]:
    """Return (pattern, sentence) of every sentence for a page; none for one in English.

    A pattern is a regular expression whose groups bear the names in the sentence's braces.
    """
    if language != "de":
        return []
    return [(_pattern(english), german) for english, german in WHY]


def _pattern(english: str) -> str:
    parts = re.split(r"\{(\w+)\}", english)
    return "".join(f"(?<{part}>.+)" if i % 2 else _plain(part) for i, part in enumerate(parts))


def _plain(part: str) -> str:
    """Escape what a browser's expressions take as signs; `re.escape` would escape more than they know."""
    return re.sub(r"([\\^$.*+?()\[\]{}|/])", r"\\\1", part)
