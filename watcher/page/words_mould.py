"""Words of the ways between the pages, and of a mould over its casts."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

MOULD_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "ways": ("Pages", "Seiten"),
        "way_bench": ("Bench", "Tisch"),
        "way_day": ("Day", "Tag"),
        "way_slip": ("Slip", "Schlicker"),
        "way_review": ("Review", "Rückblick"),
        "way_pieces": ("Pieces", "Stücke"),
        "not_kept": ("Not kept: {why}", "Nicht gespeichert: {why}"),
        "look_word": ("I looked, the wall is", "Nachgesehen, Wand"),
        "after_from": ("from {high}; before {low} it sticks", "ab {high}; vor {low} klebt es noch"),
        "after_due": ("about {at} ({low}–{high})", "etwa {at} ({low}–{high})"),
        "cast_way": ("This cast: pictures, faults", "Dieser Guss: Bilder, Fehler"),
        "say_inverted": ("Upside down", "Kopfüber"),
        "say_spare_cut": ("Spare cut", "Rand geschnitten"),
        "came_word": ("How did it come out?", "Wie kam es heraus?"),
        "came_clean": ("It came clean", "Sauber"),
        "came_stuck": ("It stuck", "Klebte"),
        "came_slumped": ("It slumped", "Sackte zusammen"),
        "came_kept": ("{what}: piece no. {n}", "{what}: Stück Nr. {n}"),
        "last_tips": ("Your last tips: sunk {list}", "Zuletzt gekippt bei: {list} gesunken"),
        "last_tips_now": (
            "Your last tips: sunk {list}. Now: {now}",
            "Zuletzt gekippt bei: {list} gesunken. Jetzt: {now}",
        ),
        "tips_title": ("How your last casts sank", "So sanken die letzten Güsse"),
        "notes_title": ("Notes", "Notizen"),
        "note_add": ("Write a note", "Notiz schreiben"),
        "note_it": ("Keep", "Speichern"),
        "damp_unknown": (
            "Not known: give the mould's weight bone dry on the Day page, under Room, times and weights.",
            "Unbekannt: Das Trockengewicht der Form auf der Seite Tag angeben, unter Raum, Zeiten, Gewichte.",
        ),
        "damp_now": (
            "Water in the plaster: {n} % of its dry weight ({low}–{high}).",
            "Wasser im Gips: {n} % des Trockengewichts ({low}–{high}).",
        ),
        "rack_hours": ("dry in {low}–{high} h", "trocken in {low}–{high} h"),
        "rack_from": ("dry in {low} h at the soonest", "trocken frühestens in {low} h"),
        "weigh_label": ("It weighs now, straps off", "Sie wiegt jetzt, ohne Gurte"),
        "weigh_kept": ("Weight kept", "Gewicht gespeichert"),
        "told_title": ("Told by hand", "Von Hand gesagt"),
        "reclaim_label": (
            "Spare and trimmings of its last cast, weighed wet",
            "Rand und Abschnitte vom letzten Guss, nass gewogen",
        ),
        "unwatched_label": (
            "A cast was made while nobody watched, so long ago",
            "Ein Guss ohne Beobachtung, vor",
        ),
        "drier_label": ("It stood in a drier until now, for", "Sie stand bis jetzt im Trockner, lang"),
        "drier_at": ("at", "bei"),
        "drier_caution": (
            "Never dry plaster above 45 °C: it turns soft.",
            "Gips nie über 45 °C trocknen: er wird weich.",
        ),
        "told_reclaim": ("{n} g for reclaim", "{n} g Rücklauf"),
        "told_unwatched": ("a cast that nobody watched", "ein Guss ohne Beobachtung"),
        "told_drier": ("{n} h in a drier at {c} °C", "{n} h im Trockner bei {c} °C"),
        "told_back": ("Take back", "Zurücknehmen"),
        "handle_title": ("Demould, strap, lift", "Entformen, gurten, heben"),
        "handle_out": (
            "Comes out {low}–{high} min after the tip, by what makers print; your own casts narrow it.",
            "Kommt {low}–{high} min nach dem Kippen heraus, nach Herstellern; eigene Güsse machen es "
            "genauer.",
        ),
        "handle_out_own": (
            "Comes out {low}–{high} min after the tip, by its own casts that came clean ({n}).",
            "Kommt {low}–{high} min nach dem Kippen heraus, nach eigenen sauberen Güssen ({n}).",
        ),
        "handle_straps": (
            "{n} straps, if it is of several parts: the slip pushes the joint open with {push} N ({head} "
            "mm mean head on {depth} × {width} mm); held twice over, at 2 × 150 N a strap.",
            "{n} Gurte, wenn sie mehrteilig ist: der Schlicker drückt die Fuge mit {push} N auf ({head} "
            "mm mittlere Höhe auf {depth} × {width} mm); doppelt gehalten, mit 2 × 150 N je Gurt.",
        ),
        "handle_slip": ("It takes {slip} L of slip.", "Sie fasst {slip} L Schlicker."),
        "handle_full": (
            "With {slip} L of slip it weighs {kg} kg.",
            "Mit {slip} L Schlicker wiegt sie {kg} kg.",
        ),
        "handle_lift": (
            "Full moulds are heavy: lift as your local advice on lifting has it, and get help.",
            "Volle Formen sind schwer: heben, wie es die örtlichen Regeln sagen, und Hilfe holen.",
        ),
        "life_title": ("This mould over its casts", "Diese Form über ihre Güsse"),
        "life_k": ("How fast it drinks: K in mm²/min", "Wie schnell sie saugt: K in mm²/min"),
        "life_day": ("How it slows over a day", "Wie sie am Tag langsamer wird"),
        "life_day_how": (
            "K of each cast by its number on its day.",
            "K jedes Gusses nach seiner Nummer am Tag.",
        ),
        "life_wall": ("Wall got, against wanted", "Wand erreicht, gegen gewünscht"),
        "life_wall_how": (
            "Circles: first of a day. Diamonds: later ones. Crosses: with a fault.",
            "Kreise: Erster des Tages. Rauten: spätere. Kreuze: mit Fehler.",
        ),
        "life_few": (
            "Casts: {n}. Too few to see whether it is ageing.",
            "Güsse: {n}. Zu wenige, um Alterung zu sehen.",
        ),
        "life_steady": ("No sign of ageing beyond chance.", "Keine Alterung, die über Zufall hinausgeht."),
        "life_slower": (
            "It is getting slower: by about {n} % in 100 casts.",
            "Sie wird langsamer: etwa {n} % in 100 Güssen.",
        ),
        "life_quicker": (
            "It is getting quicker: by about {n} % in 100 casts.",
            "Sie wird schneller: etwa {n} % in 100 Güssen.",
        ),
        "life_faults": ("Faults in {n} casts: {list}.", "Fehler in {n} Güssen: {list}."),
        "score_title": ("How its forecasts did", "So gut waren die Vorhersagen"),
        "score_how": (
            "Held against the last forecast before the tip, not against a measured wall. About 80 in 100 "
            "ranges should hold.",
            "Verglichen mit der letzten Vorhersage vor dem Kippen, nicht mit einer gemessenen Wand. Etwa "
            "80 von 100 Bereichen sollten halten.",
        ),
        "score_row": (
            "At {share} % of the time: off by {off} % in the middle, {worst} % at worst; {held} of {n} "
            "ranges held.",
            "Bei {share} % der Zeit: im Mittel {off} % daneben, schlimmstens {worst} %; {held} von {n} "
            "Bereichen hielten.",
        ),
        "wall_check": (
            "You measured {measured}; shown was {shown} ({low}–{high}).",
            "Gemessen {measured}; gezeigt war {shown} ({low}–{high}).",
        ),
        "fault_thin": ("thin", "dünn"),
        "fault_thick": ("thick", "dick"),
        "fault_hot_spot": ("hot spot", "Gießfleck"),
        "fault_slumped": ("slumped", "zusammengesackt"),
        "fault_stuck": ("stuck", "klebte"),
        "fault_crack": ("crack", "Riss"),
        "fault_pinholes": ("pinholes", "Nadelstiche"),
        "fault_trapped_slip": ("trapped slip", "Schlicker eingeschlossen"),
        "fault_other": ("other", "anderes"),
        "fault_clean": ("came clean", "sauber"),
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""
