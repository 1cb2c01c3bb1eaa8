"""Words of the set-up pages: moulds, start, walls and profiles."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

MOULD_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "mould_how": (
            "One mould at a time: stand it empty on the bench with its card, take a picture, type the "
            "width of its pour hole.",
            "Eine Form nach der anderen: leer mit ihrer Karte auf den Tisch stellen, ein Bild nehmen, die "
            "Weite des Eingusslochs eintippen.",
        ),
        "mould_shot": ("Take a picture", "Ein Bild nehmen"),
        "mould_shot_take": ("Take a picture now", "Jetzt ein Bild nehmen"),
        "shot_alt": ("The bench, to tap the rim in", "Der Tisch, zum Antippen des Randes"),
        "tap_label": ("Picture to tap the rim in", "Bild zum Antippen des Randes"),
        "tap_how": (
            "The rim is found by itself from the card and the width. If it is not, tap three or more "
            "points of the rim. By keyboard: arrow keys move the cross (with Shift further), Enter taps, "
            "Backspace takes back.",
            "Der Rand wird aus Karte und Weite von selbst gefunden. Sonst drei oder mehr Punkte des "
            "Randes antippen. Mit der Tastatur: Pfeile bewegen das Kreuz (mit Umschalt weiter), Eingabe "
            "tippt, Rücktaste nimmt zurück.",
        ),
        "untap": ("Take the last point back", "Letzten Punkt zurücknehmen"),
        "taps": ("{count} points", "{count} Punkte"),
        "mould_typed": ("Type what was measured", "Gemessenes eintippen"),
        "mould_card": ("Its card in the picture", "Ihre Karte im Bild"),
        "mould_no_card": ("no card: it stays in this place", "keine Karte: sie bleibt an diesem Platz"),
        "mould_name": ("What you call the mould", "Name der Form"),
        "mould_bore": ("Width of the pour hole", "Weite des Eingusslochs"),
        "mould_bore_hint": (
            "At the rim, and if you can at one or two depths below it. The first row is enough.",
            "Am Rand, und wenn möglich in einer oder zwei Tiefen darunter. Die erste Zeile genügt.",
        ),
        "bore_depth": ("Depth", "Tiefe"),
        "bore_wide": ("Width", "Weite"),
        "mould_wall": ("A wanted wall in mm (may wait)", "Gewünschte Wand in mm (kann warten)"),
        "mould_wall_hint": (
            "Without it the first cast is only watched, and the one that you call right becomes the "
            "target. With it the cavity's depth must be known too. Starting values are common practice.",
            "Ohne sie wird der erste Guss nur beobachtet, und der gute wird zum Ziel. Mit ihr muss auch "
            "die Tiefe des Hohlraums bekannt sein. Anfangswerte nach gängiger Praxis.",
        ),
        "mould_depth": ("Depth of the cavity", "Tiefe des Hohlraums"),
        "mould_depth_hint": (
            "From the rim to the floor, by a stick down the hole; leave it empty if you cannot.",
            "Vom Rand bis zum Boden, mit einem Stab durchs Loch; sonst leer lassen.",
        ),
        "whole_bore": ("the widths reach down to the floor", "die Weiten reichen bis zum Boden"),
        "mould_odd": ("Oval, two holes, heights", "Oval, zwei Löcher, Höhen"),
        "oval_long": ("Oval: the long way", "Oval: lange Achse"),
        "oval_short": ("Oval: the short way", "Oval: kurze Achse"),
        "second_mm": ("Second hole's width", "Weite des zweiten Lochs"),
        "second_hint": (
            "Tap the second hole's rim after ticking the box below.",
            "Nach dem Haken unten den Rand des zweiten Lochs antippen.",
        ),
        "second_taps": ("taps now belong to the second hole", "Punkte gehören jetzt zum zweiten Loch"),
        "rim_above": ("The rim lies above the card's face by", "Der Rand liegt über der Karte um"),
        "rim_height": (
            "No card: the rim's height above the bench",
            "Keine Karte: Höhe des Randes über dem Tisch",
        ),
        "deepest": ("How far the slip will sink", "Wie weit der Schlicker sinkt"),
        "mould_try": ("Try", "Probieren"),
        "mould_keep": ("Keep this mould", "Diese Form behalten"),
        "sight_how": (
            "Worked out from where the camera stands now and from what was measured of each hole.",
            "Berechnet aus dem Ort der Kamera und den Maßen jedes Lochs.",
        ),
        "sight_level": ("A level to about", "Ein Stand auf etwa"),
        "sight_lost": ("Out of sight below", "Nicht mehr zu sehen unter"),
        "well_well": ("well read", "gut zu lesen"),
        "well_fairly": ("fairly read", "mäßig zu lesen"),
        "well_poorly": ("poorly read", "schlecht zu lesen"),
        "well_not at all": ("not read at all", "gar nicht zu lesen"),
        "well_unknown": ("not seen now", "jetzt nicht zu sehen"),
        "start_how": (
            "Puts camera, lens, sheet, slip and moulds together and watches from then on.",
            "Fügt Kamera, Linse, Blatt, Schlicker und Formen zusammen und beobachtet von da an.",
        ),
        "bench_name": ("What you call the bench", "Name des Tisches"),
        "bench_zone": ("Time zone", "Zeitzone"),
        "gravity": ("Specific gravity of the slip", "Dichte des Schlickers (zu Wasser)"),
        "gravity_hint": (
            "A litre of slip weighed in kg; 1.75 is common. The slip page keeps the day's own.",
            "Ein Liter Schlicker in kg; 1,75 ist üblich. Die Schlickerseite führt die des Tages.",
        ),
        "cake": ("Share of solids in the fresh wall", "Anteil Feststoff in der frischen Wand"),
        "cake_hint": (
            "0.62 unless you weighed trimmings wet and dry.",
            "0,62, wenn keine Abschnitte nass und trocken gewogen wurden.",
        ),
        "every_s": ("Look every", "Hinsehen alle"),
        "open_phones": ("let phones join over the network", "Telefone über das Netz einlassen"),
        "start_take": ("Start watching", "Beobachten beginnen"),
        "start_again": ("Use the changes from now on", "Änderungen ab jetzt verwenden"),
        "starting": (
            "The bench starts; this page turns to it by itself.",
            "Der Tisch startet; die Seite folgt.",
        ),
        "start_slow": (
            "It takes longer than it should. Look at what Tipbell says where it was started, and load "
            "this page again.",
            "Das dauert zu lange. Sehen, was Tipbell dort meldet, wo es gestartet wurde, und die Seite "
            "neu laden.",
        ),
        "walls_how": (
            "Your own list. The first values are what makers state: common practice, no standard.",
            "Die eigene Liste. Die ersten Werte nennen Hersteller: gängige Praxis, keine Norm.",
        ),
        "wall_use": ("What the piece is for", "Wofür das Stück ist"),
        "wall_thin": ("Thin end", "Dünn"),
        "wall_thick": ("Thick end", "Dick"),
        "wall_source": ("From", "Herkunft"),
        "wall_set": ("Put in or change", "Eintragen oder ändern"),
        "want_title": ("What each mould is wanted with", "Was für jede Form gilt"),
        "want_good": ("as the cast that was good", "wie der gute Guss"),
        "want_none": ("no target yet: never called", "noch kein Ziel: wird nie angesagt"),
        "want_hint": (
            "Both left empty: the mould goes by the cast that you call right.",
            "Beide leer: es gilt der Guss, der gut genannt wird.",
        ),
        "want_take": ("Want this wall", "Diese Wand wünschen"),
        "cut_how": (
            "A wall measured on the trimmed spare or a broken piece, held against what the slip gave up, "
            "tells how much plaster is wetted. One such test makes walls right to a few tenths of a mm.",
            "Eine am Abschnitt oder an einer Scherbe gemessene Wand sagt mit dem abgegebenen Wasser, wie "
            "viel Gips benetzt ist. Eine solche Probe macht Wände auf wenige Zehntel mm genau.",
        ),
        "cut_not_yet": (
            "This needs a bench that is watched: start watching first, and cast.",
            "Das braucht einen beobachteten Tisch: erst beginnen und gießen.",
        ),
        "cut_no_casts": ("No cast of this mould is remembered yet.", "Noch kein Guss dieser Form bekannt."),
        "cut_title": ("A measured wall", "Eine gemessene Wand"),
        "cut_which": ("Of which cast", "Von welchem Guss"),
        "cut_now": ("it stands there now (a nick)", "steht gerade (Anritz)"),
        "cut_wall": ("The wall measures", "Die Wand misst"),
        "cut_place": ("Where", "Wo"),
        "place_spare": ("at the spare's cut", "am Schnitt des Gießrandes"),
        "place_belly": ("at the belly", "am Bauch"),
        "place_foot": ("at the foot", "am Fuß"),
        "place_mean": ("mean of several places", "Mittel mehrerer Stellen"),
        "cut_basis": ("Its state", "Zustand"),
        "basis_wet": ("wet, just drained", "nass, eben geleert"),
        "basis_leather_hard": ("leather-hard", "lederhart"),
        "basis_dry": ("bone dry", "trocken"),
        "basis_fired": ("fired", "gebrannt"),
        "cut_depth": ("How far below the rim", "Wie weit unter dem Rand"),
        "cut_ago": ("A nick: so many minutes ago", "Anritz: vor so vielen Minuten"),
        "cut_ago_hint": ("Only for a cast that stands there now.", "Nur bei einem Guss, der noch steht."),
        "cut_take": ("Hold it against the cast", "Mit dem Guss vergleichen"),
        "dip_title": ("A dipped ruler", "Ein eingetauchtes Lineal"),
        "dip_how": (
            "While slip stands in it: how far does it lie below the rim, by the ruler?",
            "Solange Schlicker darin steht: wie weit liegt er unter dem Rand, mit dem Lineal?",
        ),
        "dip_level": ("Below the rim", "Unter dem Rand"),
        "dip_take": ("Compare with the eye", "Mit dem Auge vergleichen"),
        "profiles_how": (
            "A profile is a short text that people can read, share and keep. One that is brought becomes "
            "a new version; what was before stays.",
            "Ein Profil ist ein kurzer lesbarer Text zum Teilen und Aufheben. Ein gebrachtes wird zur "
            "neuen Fassung; was vorher war, bleibt.",
        ),
        "profile_take": ("take along", "mitnehmen"),
        "profile_text": ("A profile's text", "Text eines Profils"),
        "profile_file": ("Or its file", "Oder seine Datei"),
        "profile_bring": ("Take it in", "Aufnehmen"),
        "elsewhere_title": ("Moulds of other benches", "Formen anderer Tische"),
        "elsewhere_how": (
            "Bring a mould here with its figures and its casts; nothing is taken away there.",
            "Eine Form mit Werten und Güssen herholen; dort bleibt alles.",
        ),
        "elsewhere_has": ("{versions} versions, {casts} casts", "{versions} Fassungen, {casts} Güsse"),
        "elsewhere_casting": ("under cast there now", "dort gerade gefüllt"),
        "elsewhere_bring": ("Bring it here", "Herholen"),
        "drawing_title": ("A drawing (STL)", "Eine Zeichnung (STL)"),
        "drawing_how": (
            "A closed solid of the mould's cavity, or of the piece, standing along z with the pour hole "
            "on top: bore, depth and wetted plaster are taken from it.",
            "Ein geschlossener Körper des Hohlraums oder des Stücks, aufrecht entlang z, das Eingussloch "
            "oben: Weiten, Tiefe und benetzter Gips werden daraus genommen.",
        ),
        "drawing_file": ("Its file", "Ihre Datei"),
        "drawing_hint": (
            "Up to 8 MB, which is 160 000 faces in a binary STL; larger ones by the command tipbell mould.",
            "Bis 8 MB, das sind 160 000 Flächen als binäres STL; größere mit dem Befehl tipbell mould.",
        ),
        "drawing_unit": ("Its numbers are in", "Ihre Zahlen sind in"),
        "unit_inch": ("inches", "Zoll"),
        "drawing_shrinkage": ("Linear shrinkage of the piece", "Lineare Schwindung des Stücks"),
        "drawing_shrinkage_hint": (
            "0 for a drawing of the cavity; for the fired piece, from the wet cast to fired.",
            "0 für den Hohlraum; für das gebrannte Stück vom nassen Guss bis zum Brand.",
        ),
        "drawing_take": ("Take the drawing in", "Zeichnung aufnehmen"),
    }
)
"""Key: (English, German)."""
