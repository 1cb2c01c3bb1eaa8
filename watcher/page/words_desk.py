"""Words of the desk's pages: review, one cast, pieces."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from watcher.page.words_day import DAY_WORDS
from watcher.page.words_slip import SLIP_WORDS

DESK_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        # the review
        "day_before": ("earlier day", "früherer Tag"),
        "day_after": ("later day", "späterer Tag"),
        "day_pick": ("Day", "Tag"),
        "day_word": ("Day", "Tag"),
        "day_casts": ("{day} ({n})", "{day} ({n})"),
        "day_none": ("Nothing was cast on this day.", "An diesem Tag wurde nichts gegossen."),
        "casts_table": ("Casts of the day", "Güsse des Tages"),
        "casts_word": ("Casts", "Güsse"),
        "mould_word": ("Mould", "Form"),
        "piece": ("Piece", "Stück"),
        "nth_of_day": ("no. {n} of its day", "Nr. {n} des Tages"),
        "not_tipped": ("not tipped", "nicht gekippt"),
        "measured": ("measured {wall}", "gemessen {wall}"),
        "week_title": (
            "Three things most worth changing this week",
            "Drei Dinge, die diese Woche am meisten bringen",
        ),
        "week_none": (
            "Nothing stands out. That needs casts with their outcome noted.",
            "Nichts fällt auf. Dafür braucht es Güsse mit notiertem Ergebnis.",
        ),
        "lesson_faults": (
            "{mould}: {n} of {casts} casts with a fault, most often {fault}.",
            "{mould}: {n} von {casts} Güssen mit Fehler, meist: {fault}.",
        ),
        "lesson_causes": ("Look first at: {list}.", "Zuerst ansehen: {list}."),
        "lesson_one_spot": (
            "In {n} with a hot spot the stream was seen to stay on one spot.",
            "Bei {n} mit Gießfleck blieb der Strahl sichtlich auf einer Stelle.",
        ),
        "lesson_late_tips": (
            "{share} % of tips came late: pour with more time between, or get a second pair of hands.",
            "{share} % wurden zu spät gekippt: mit mehr Abstand füllen, oder zu zweit arbeiten.",
        ),
        "lesson_early_tips": (
            "{share} % of tips came early: the walls wanted may be set too thick.",
            "{share} % wurden zu früh gekippt: die Wunschwand ist vielleicht zu dick.",
        ),
        "lesson_off_wall": (
            "{mould}: walls {share} % thicker than wanted.",
            "{mould}: Wände {share} % dicker als gewünscht.",
        ),
        "lesson_off_wall_less": (
            "{mould}: walls {share} % thinner than wanted.",
            "{mould}: Wände {share} % dünner als gewünscht.",
        ),
        "lesson_all_slow": (
            "Everything takes {share} % longer than usual: weigh the slip, look at the thermometer.",
            "Alles dauert {share} % länger als sonst: Schlicker wiegen, Thermometer ansehen.",
        ),
        "lesson_all_slow_since": (
            "Everything takes {share} % longer since {since}: weigh the slip again.",
            "Alles dauert seit {since} {share} % länger: Schlicker noch einmal wiegen.",
        ),
        "lesson_all_slow_less": (
            "Everything takes {share} % less time than usual: weigh the slip.",
            "Alles geht {share} % schneller als sonst: Schlicker wiegen.",
        ),
        "lesson_one_slow": (
            "Only {mould} takes {share} % longer than usual: dry it.",
            "Nur {mould} braucht {share} % länger als sonst: trocknen lassen.",
        ),
        "lesson_one_slow_less": (
            "Only {mould} takes {share} % less time than usual: look whether its seam leaks.",
            "Nur {mould} geht {share} % schneller als sonst: nachsehen, ob die Naht leckt.",
        ),
        "lesson_no_check": (
            "Days without a kept check of the slip: {casts}. Check it in the morning.",
            "Tage ohne gespeicherte Schlickerprüfung: {casts}. Morgens prüfen.",
        ),
        "cause_too_much_deflocculant": ("too much deflocculant", "zu viel Verflüssiger"),
        "cause_too_little_deflocculant": ("too little deflocculant", "zu wenig Verflüssiger"),
        "cause_too_much_water": ("too much water in the slip", "zu viel Wasser im Schlicker"),
        "cause_damp_mould": ("a damp mould", "eine feuchte Form"),
        "cause_narrow_hole": ("a narrow pour hole", "ein enges Eingussloch"),
        "cause_poured_on_one_spot": (
            "the stream fell on one spot: turn the mould, pour down a stick",
            "der Strahl traf eine Stelle: Form drehen, am Stab eingießen",
        ),
        "faults_title": ("How often each fault happens", "Wie oft welcher Fehler vorkommt"),
        "faults_say": (
            "{casts} casts in the last {days} days; {scrapped} pieces scrapped.",
            "{casts} Güsse in den letzten {days} Tagen; {scrapped} Stücke Ausschuss.",
        ),
        "faults_by_mould": ("By mould", "Nach Form"),
        "faults_by_number": ("By the cast's number on its day", "Nach Nummer des Gusses am Tag"),
        "faults_by_slip": ("By the slip's gravity", "Nach Dichte des Schlickers"),
        "nth": ("no. {n}", "Nr. {n}"),
        "slip_unkept": ("not kept", "nicht gespeichert"),
        "tables_title": ("Everything as tables", "Alles als Tabellen"),
        "tables_how": (
            "For a spreadsheet (CSV). Readings: the last seven days.",
            "Für die Tabellenkalkulation (CSV). Messwerte: die letzten sieben Tage.",
        ),
        "table_casts": ("Casts", "Güsse"),
        "table_readings": ("Readings", "Messwerte"),
        "table_faults": ("Faults", "Fehler"),
        "table_calls": ("Calls", "Rufe"),
        "table_slips": ("Slips", "Schlicker"),
        "table_pieces": ("Pieces", "Stücke"),
        "table_reclaim": ("Reclaim", "Rücklauf"),
        # one cast
        "film_get": ("Film", "Film"),
        "film_how": ("the pictures as one film, to keep", "die Bilder als ein Film, zum Behalten"),
        "lapse": ("Time-lapse", "Zeitraffer"),
        "play": ("Play", "Abspielen"),
        "pause": ("Pause", "Anhalten"),
        "speed": ("Speed", "Tempo"),
        "beside": ("Beside it", "Daneben"),
        "scrub": ("Minutes since it was full", "Minuten seit dem Füllen"),
        "since_full": ("{n} min since it was full", "{n} min nach dem Füllen"),
        "shot_alt": (
            "The pour hole of {mould} at this minute",
            "Das Eingussloch von {mould} in dieser Minute",
        ),
        "no_shots": ("No pictures are kept of this cast.", "Von diesem Guss sind keine Bilder gespeichert."),
        "key_told": ("as it was told then", "wie damals angezeigt"),
        "took_min": ("{n} min from full to tip", "{n} min vom Füllen bis zum Kippen"),
        "became_title": ("What became of it", "Was daraus wurde"),
        "piece_say": ("Piece no. {n}: {step}.", "Stück Nr. {n}: {step}."),
        "piece_none": (
            "No piece has a number from this cast yet.",
            "Noch kein Stück mit Nummer aus diesem Guss.",
        ),
        "note_fault": ("Note a fault", "Einen Fehler notieren"),
        "note_words": ("In your own words (may stay empty)", "In eigenen Worten (darf leer bleiben)"),
        # pieces
        "pieces_say": (
            "Pieces with a number: {n}. Scrapped: {scrapped}.",
            "Stücke mit Nummer: {n}. Ausschuss: {scrapped}.",
        ),
        "pieces_none": (
            "None yet. A piece gets its number when you say how it came out of the mould.",
            "Noch keine. Ein Stück bekommt seine Nummer, wenn gesagt wird, wie es aus der Form kam.",
        ),
        "piece_next": ("A piece has come a step further", "Ein Stück ist einen Schritt weiter"),
        "piece_number": ("Piece no.", "Stück Nr."),
        "piece_step": ("It is now", "Es ist jetzt"),
        "piece_cone": ("Cone, as it is stamped", "Kegel, wie aufgeprägt"),
        "piece_fault": ("A fault that only shows now", "Ein Fehler, der sich erst jetzt zeigt"),
        "piece_fault_how": (
            "It is counted with the cast, the mould and the slip that the piece came from.",
            "Er zählt zu Guss, Form und Schlicker, aus denen das Stück kam.",
        ),
        "piece_list": ("All pieces", "Alle Stücke"),
        "piece_open": ("Piece no. {n}: its cast", "Stück Nr. {n}: sein Guss"),
        "piece_stands": ("Steps", "Schritte"),
        "made": ("Made", "Gemacht"),
        "fault_word": ("Fault", "Fehler"),
        "cone_word": ("cone {cone}", "Kegel {cone}"),
        "step_greenware": ("greenware", "roh"),
        "step_fettled": ("fettled", "verputzt"),
        "step_bisque": ("bisque fired", "geschrüht"),
        "step_glazed": ("glaze fired", "glattgebrannt"),
        "step_scrapped": ("scrapped", "Ausschuss"),
        "caution_kiln": (
            "Kilns need ventilation and care with electricity: the maker's instructions and local rules "
            "come first. Fettle wet: dry clay dust harms the lungs.",
            "Öfen brauchen Lüftung und Vorsicht mit Strom: Anleitung des Herstellers und örtliche "
            "Vorschriften gehen vor. Nass verputzen: trockener Tonstaub schadet der Lunge.",
        ),
        **SLIP_WORDS,
        **DAY_WORDS,
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""
