"""Every word of the page, in one place: English, and German as the second language."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from watcher.page.words_access import ACCESS_WORDS
from watcher.page.words_bench import BENCH_WORDS
from watcher.page.words_desk import DESK_WORDS
from watcher.page.words_mould import MOULD_WORDS
from watcher.page.words_others import OTHERS_WORDS

LANGUAGES: Mapping[str, str] = MappingProxyType({"en": "English", "de": "Deutsch"})
"""Languages of the page, each by its own name. The order is that of each word's tuple."""

PAGE_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        # the top of every page
        "skip": ("Skip to the bench", "Zum Arbeitstisch springen"),
        "bench_time": ("Time at the bench", "Uhrzeit am Tisch"),
        "connecting": ("connecting", "verbindet"),
        "pulse_live": ("live", "live"),
        "pulse_wait": ("reconnecting", "verbindet neu"),
        "pulse_dead": ("no answer", "keine Antwort"),
        "pulse_standing": ("standing still", "steht still"),
        "dead_big": ("Tipbell does not answer", "Tipbell antwortet nicht"),
        "dead_small": (
            "Nothing heard since {since}. Watch the moulds yourself. The numbers below are old.",
            "Seit {since} nichts gehört. Bitte selbst nach den Formen sehen. Die Zahlen unten sind alt.",
        ),
        "standing_big": ("The bench has stood still", "Die Messung steht still"),
        "standing_small": (
            "The server answers, but nothing new for {since}. Watch the moulds yourself.",
            "Der Server antwortet, aber seit {since} nichts Neues. Bitte die Formen selbst im Auge behalten.",
        ),
        "no_script": (
            "This page needs JavaScript. /bench.json gives the same numbers as data.",
            "Diese Seite braucht JavaScript. /bench.json liefert dieselben Zahlen als Daten.",
        ),
        "missing": ("There is nothing of that name on this bench", "Unter diesem Namen gibt es hier nichts"),
        # settings and alarm
        "settings": ("Settings", "Einstellungen"),
        "close": ("Close", "Schließen"),
        "unit": ("Lengths in", "Längen in"),
        "unit_mm": ("millimetres", "Millimeter"),
        "unit_in": ("inches", "Zoll"),
        "light": ("Light", "Helligkeit"),
        "light_auto": ("as the device", "wie das Gerät"),
        "light_light": ("light", "hell"),
        "light_dark": ("dark", "dunkel"),
        "language": ("Language", "Sprache"),
        "alarm": ("Alarm on this device", "Alarm auf diesem Gerät"),
        "aloud": ("Say the mould's name aloud", "Name der Form vorlesen"),
        "test_alarm": ("Test the alarm", "Alarm ausprobieren"),
        "sound_on": ("Sound on", "Ton an"),
        "sound_off": ("Sound off", "Ton aus"),
        "can_sound": ("Sound is on.", "Der Ton ist an."),
        "cannot_sound": (
            "Sound is off: one tap turns it on.",
            "Der Ton ist aus: einmal tippen schaltet ihn ein.",
        ),
        "can_shake": ("This device may vibrate.", "Dieses Gerät kann vibrieren."),
        "cannot_shake": ("This browser cannot vibrate.", "Dieser Browser kann nicht vibrieren."),
        "can_wake": ("The screen stays awake.", "Der Bildschirm bleibt an."),
        "cannot_wake": (
            "The screen may go dark: set the device to stay awake.",
            "Der Bildschirm kann ausgehen: am Gerät auf „immer an“ stellen.",
        ),
        "caution_dust": (
            "Dry clay and plaster dust harms the lungs: clean wet. Full moulds are heavy. Local rules and "
            "qualified advice come first.",
            "Trockener Ton- und Gipsstaub schadet der Lunge: nass reinigen. Volle Formen sind schwer. "
            "Örtliche Vorschriften und fachkundiger Rat gehen vor.",
        ),
        # the bench page
        "bench": ("Bench", "Arbeitstisch"),
        "next": ("Next", "Als Nächstes"),
        "nothing_casting": ("Nothing is casting", "Keine Form ist gefüllt"),
        "tip_now": ("tip now", "jetzt kippen"),
        "then": ("then {name}: {wait}, at {at}", "dann {name}: {wait}, um {at}"),
        "picture": ("Picture of the bench", "Bild des Tisches"),
        "picture_alt": ("The bench as the camera sees it", "Der Tisch, wie ihn die Kamera sieht"),
        "picture_age": ("picture {age} old", "Bild {age} alt"),
        "no_picture": ("No picture from the camera", "Kein Bild von der Kamera"),
        "hour": ("The next hour", "Die nächste Stunde"),
        "hour_none": ("No tip foreseen yet.", "Noch kein Kippen vorhergesagt."),
        "later": ("Later: {list}", "Später: {list}"),
        "clash_now": ("{first} and {second}: both at once", "{first} und {second}: beide zugleich"),
        "clash": (
            "{first} and {second}: only {n} min apart",
            "{first} und {second}: nur {n} min auseinander",
        ),
        "tip_said": (
            "{n} {name}: tip {wait}, about {at}, between {range}",
            "{n} {name}: kippen {wait}, etwa {at}, zwischen {range}",
        ),
        "calls": ("Calling", "Ruft"),
        "called": ("Called in this session", "In dieser Sitzung gerufen"),
        "called_none": ("Nothing called yet.", "Noch nichts gerufen."),
        "ack_all": ("Heard them all", "Alle gehört"),
        "moulds": ("At work", "In Arbeit"),
        "idle": ("Tipped or empty", "Gekippt oder leer"),
        # numbers
        "now": ("now", "jetzt"),
        "min": ("min", "min"),
        "in_min": ("{n} min", "{n} min"),
        "late_by": ("{n} min late", "{n} min zu spät"),
        "span_min": ("{low}–{high} min", "{low}–{high} min"),
        "tip_at": ("at {at}", "um {at}"),
        "before_at": ("before {at}", "vor {at}"),
        "since": ("since {at}", "seit {at}"),
        "age_s": ("{n} s", "{n} s"),
        "age_min": ("{n} min", "{n} min"),
        "age_h": ("{n} h", "{n} h"),
        "seen_ago": ("seen {age} ago", "vor {age} gesehen"),
        "guess": ("forecast only", "nur Vorhersage"),
        "guess_since": ("forecast only, not seen for {age}", "nur Vorhersage, seit {age} nicht gesehen"),
        "guess_never": ("forecast only, never seen yet", "nur Vorhersage, noch nie gesehen"),
        "leaking": ("may be leaking", "leckt vielleicht"),
        "no_target": ("only watched: no wanted wall yet", "nur beobachtet: noch keine Wand gewünscht"),
        "not_known_yet": ("not known yet", "noch nicht bekannt"),
        "not_known": ("not known", "unbekannt"),
        "wall": ("Wall", "Wand"),
        "wall_of": ("Wall {wall} of {wanted}", "Wand {wall} von {wanted}"),
        "of": ("of", "von"),
        "level": ("Level", "Stand"),
        "drop": ("Drop", "Abfall"),
        "spare": ("Spare left", "Eingussrest"),
        "cast": ("Cast", "Guss"),
        "cast_today": ("no. {n} today", "Nr. {n} heute"),
        "dampness": ("Dampness", "Feuchte"),
        # one mould
        "curve": ("Curve", "Verlauf"),
        "chart_cursor": ("Moment on the curve", "Zeitpunkt im Verlauf"),
        "key_seen": ("seen", "gesehen"),
        "key_line": ("worked out", "berechnet"),
        "key_band": ("80 in 100 lie within", "80 von 100 liegen darin"),
        "key_aim": ("wanted", "gewünscht"),
        "read_wall": ("wall {wall} ({range})", "Wand {wall} ({range})"),
        "read_level": ("level {level} ± {sigma}, seen", "Stand {level} ± {sigma}, gesehen"),
        "read_level_guess": ("level {level}, worked out", "Stand {level}, berechnet"),
        "crop": ("Pour hole", "Eingussloch"),
        "crop_alt": (
            "The pour hole with the line that was found",
            "Das Eingussloch mit der gefundenen Linie",
        ),
        "no_crop": ("No picture of this pour hole yet.", "Noch kein Bild von diesem Eingussloch."),
        "crop_read": ("Read here: {level} below the rim.", "Abgelesen: {level} unter dem Rand."),
        "crop_missed": ("Not read in the newest picture: {why}.", "Im neuesten Bild nicht abgelesen: {why}."),
        "events": ("What happened", "Was geschah"),
        "events_none": ("Nothing yet.", "Noch nichts."),
        "before": ("Earlier casts", "Frühere Güsse"),
        "before_none": ("None remembered.", "Keine gespeichert."),
        "began": ("Poured", "Gefüllt"),
        "took": ("Took", "Dauer"),
        "verdict": ("Came out", "Ergebnis"),
        # buttons
        "more": ("More", "Mehr"),
        "say_it": ("Say it", "Melden"),
        "say_acknowledged": ("Heard it", "Gehört"),
        "say_snoozed": ("Not yet: 5\u00a0min", "Noch nicht: 5\u00a0min"),
        "say_tipped": ("Tipped", "Gekippt"),
        "say_topped_up": ("Topped up", "Nachgegossen"),
        "say_filled": ("Just poured", "Eben gefüllt"),
        "say_upright": ("Drained, upright", "Leer, steht wieder"),
        "say_demoulded": ("Demoulded", "Entformt"),
        "say_in_service": ("Watch it again", "Wieder beobachten"),
        "say_out_of_service": ("Do not watch this mould", "Diese Form nicht beobachten"),
        "say_came_out_right": ("This one came out right: do it again", "Genau richtig: wieder so"),
        "say_tipped_too_soon": ("Tipped too soon, filled again", "Zu früh gekippt, wieder gefüllt"),
        "say_too_thin": ("It came out too thin", "Zu dünn geworden"),
        "say_too_thick": ("It came out too thick", "Zu dick geworden"),
        "say_ruler": ("By the ruler the level is", "Mit dem Lineal: Stand"),
        "say_looked": ("I looked, the wall is", "Nachgesehen, die Wand misst"),
        "say_wrong": ("Something is wrong", "Hier stimmt etwas nicht"),
        "wrong_level": ("The level", "Der Stand"),
        "wrong_stage": ("It is not doing that", "Die Form tut das nicht"),
        "wrong_time": ("The time", "Die Zeit"),
        "wrong_mould": ("It is another mould", "Es ist eine andere Form"),
        "take_back": ("Take back", "Zurücknehmen"),
        "take_back_last": ("Take back what I said last", "Letzte Meldung zurücknehmen"),
        "not_heard": ("Not heard ({what}): {why}", "Nicht gehört ({what}): {why}"),
        "no_answer": ("Tipbell does not answer", "Tipbell antwortet nicht"),
        **ACCESS_WORDS,
        **MOULD_WORDS,
        **OTHERS_WORDS,
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""


def words_for(language: str, *, desk: bool = False) -> dict[str, str]:
    """Return all words in one language, with `desk` those of the desk's pages too; English if unknown."""
    place = list(LANGUAGES).index(language) if language in LANGUAGES else 0
    words = (*PAGE_WORDS.items(), *BENCH_WORDS.items(), *(DESK_WORDS.items() if desk else ()))
    return {key: texts[place] for key, texts in words}
