"""Words of the slip page."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

SLIP_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "slip_in_use": (
            "New casts go by {sg}, checked today at {at}.",
            "Neue Güsse rechnen mit {sg}, heute um {at} geprüft.",
        ),
        "slip_in_file": (
            "Not checked today. New casts go by {sg}, as the bench's file says.",
            "Heute noch nicht geprüft. Neue Güsse rechnen mit {sg} aus der Datei des Tisches.",
        ),
        "slip_check": ("Check the slip", "Schlicker prüfen"),
        "slip_measure": ("Measured as", "Gemessen als"),
        "measure_litre_g": ("weight of a litre, g", "Gewicht eines Liters, g"),
        "measure_imperial_pint_oz": ("weight of an imperial pint, oz", "Gewicht eines imperialen Pints, oz"),
        "measure_us_pint_g": ("weight of a US pint, g", "Gewicht eines US-Pints, g"),
        "measure_specific_gravity": ("specific gravity", "Dichte (relativ)"),
        "measure_twaddell_deg": ("degrees Twaddell", "Grad Twaddell"),
        "measure_baume_deg": ("degrees Baumé", "Grad Baumé"),
        "slip_reading": ("It says", "Es zeigt"),
        "slip_modulus": ("Printed on the hydrometer", "Auf der Spindel steht"),
        "slip_temperature": ("Temperature", "Temperatur"),
        "slip_stirred": ("The whole tank was stirred through", "Das ganze Fass ist durchgerührt"),
        "slip_flow": ("How fast it runs", "Wie schnell er läuft"),
        "slip_flow_s": ("Seconds to run out, just stirred", "Sekunden Auslauf, frisch gerührt"),
        "slip_cup": ("Cup", "Becher"),
        "slip_cup_own": ("my own", "ein eigener"),
        "slip_stood_s": ("Seconds to run out after standing", "Sekunden Auslauf nach dem Stehen"),
        "slip_stood_min": ("It stood for", "Er stand"),
        "slip_band": ("My own band", "Mein eigener Bereich"),
        "slip_band_low": ("From", "Von"),
        "slip_band_high": ("To", "Bis"),
        "slip_flow_low": ("Run-out from, s", "Auslauf von, s"),
        "slip_flow_high": ("Run-out to, s", "Auslauf bis, s"),
        "slip_tank": ("What is in the tank", "Was im Fass ist"),
        "slip_tank_l": ("Slip in the tank", "Schlicker im Fass"),
        "slip_thicker": ("Thicker slip at hand reads", "Dickerer Schlicker zur Hand zeigt"),
        "slip_do_check": ("Check", "Prüfen"),
        "slip_verdict": ("Verdict", "Urteil"),
        "slip_answer": ("What it says", "Was das heißt"),
        "verdict_good": ("Good", "Gut"),
        "verdict_stir_first": ("Stir first", "Erst rühren"),
        "verdict_too_thick": ("Too thick", "Zu dick"),
        "verdict_too_thin": ("Too thin", "Zu dünn"),
        "verdict_gels": ("Runs too slowly", "Läuft zu langsam"),
        "verdict_runs": ("Runs too fast", "Läuft zu schnell"),
        "verdict_none": ("No verdict", "Kein Urteil"),
        "advice_good": ("Within your band: cast.", "Im eigenen Bereich: gießen."),
        "advice_stir": (
            "Outside your band, but not stirred through, and a slip that stood often only seems so. Stir "
            "{n} min, measure again, and add nothing before.",
            "Außerhalb des Bereichs, aber nicht durchgerührt, und Schlicker, der stand, scheint oft nur "
            "so. {n} min rühren, noch einmal messen, vorher nichts zugeben.",
        ),
        "advice_no_band": (
            "Give your own band once (below, My own band): later checks are held against it.",
            "Einmal den eigenen Bereich angeben (unten): spätere Prüfungen vergleichen damit.",
        ),
        "advice_gels": (
            "Right in weight: it wants deflocculant, a few drops at a time, and no water.",
            "Gewicht stimmt: es fehlt Verflüssiger, tropfenweise, kein Wasser.",
        ),
        "advice_runs": (
            "Right in weight: too much deflocculant, or not aged. Add nothing.",
            "Gewicht stimmt: zu viel Verflüssiger, oder nicht gereift. Nichts zugeben.",
        ),
        "advice_too_thick": ("Above your band.", "Über dem Bereich."),
        "advice_too_thin": ("Below your band.", "Unter dem Bereich."),
        "advice_water": (
            "It takes {n} L of water to come to {goal}, the middle of your band.",
            "Es braucht {n} L Wasser bis {goal}, der Mitte des Bereichs.",
        ),
        "advice_thicker": (
            "It takes {n} L of the thicker slip to come to {goal}, the middle of your band.",
            "Es braucht {n} L des dickeren Schlickers bis {goal}, der Mitte des Bereichs.",
        ),
        "advice_powder": (
            "It takes {n} kg of dry powder to come to {goal} (or thicker slip). Wet it under water first: "
            "its dust harms the lungs.",
            "Es braucht {n} kg trockenes Pulver bis {goal} (oder dickeren Schlicker). Erst unter Wasser "
            "einsumpfen: der Staub schadet der Lunge.",
        ),
        "advice_half": (
            "Add half of it, stir {stir} min, leave it {rest} min, and measure again.",
            "Die Hälfte zugeben, {stir} min rühren, {rest} min stehen lassen, noch einmal messen.",
        ),
        "advice_tank": (
            "Say how much slip is in the tank to hear how much to add.",
            "Die Menge im Fass angeben, dann steht hier, wie viel zugegeben wird.",
        ),
        "stir_go": ("Stir: start {n} min", "Rühren: {n} min starten"),
        "stir_over": ("Measure again", "Noch einmal messen"),
        "slip_holds": (
            "Specific gravity {sg}: a litre weighs {litre} g and holds {dry} g of dry clay and {water} g "
            "of water.",
            "Dichte {sg}: ein Liter wiegt {litre} g, davon {dry} g trockener Ton und {water} g Wasser.",
        ),
        "slip_own_band": ("By your band of {day}.", "Nach dem eigenen Bereich vom {day}."),
        "slip_mended": ("Mended so:", "So berichtigt:"),
        "slip_beside": (
            "Beside the slip in the bench's file:",
            "Gegen den Schlicker in der Datei des Tisches:",
        ),
        "slip_effect": (
            "the same wall takes {n} times as long ({low}–{high}), the level falls {drop} times as far.",
            "dieselbe Wand braucht das {n}-fache der Zeit ({low}–{high}), der Spiegel fällt das "
            "{drop}-fache.",
        ),
        "slip_warmth": (
            "At {c} °C a cast takes {n} times as long as at 20 °C.",
            "Bei {c} °C dauert ein Guss das {n}-fache wie bei 20 °C.",
        ),
        "slip_ran": (
            "{n} s to run out: it compares with other times of this cup only.",
            "{n} s Auslauf: nur mit Zeiten aus demselben Becher vergleichbar.",
        ),
        "slip_thix": (
            "It runs {n} times as long after {min} min of standing.",
            "Nach {min} min Stehen läuft er {n}-mal so lang.",
        ),
        "slip_thix_much": (
            "It runs {n} times as long after {min} min of standing: pour soon after stirring.",
            "Nach {min} min Stehen läuft er {n}-mal so lang: bald nach dem Rühren gießen.",
        ),
        "slip_keep": ("Keep it as the day's slip", "Als Schlicker des Tages speichern"),
        "slip_kept": ("Kept as the day's slip (no. {n})", "Als Schlicker des Tages gespeichert (Nr. {n})"),
        "slip_checks": ("Earlier checks", "Frühere Prüfungen"),
        "slip_checks_none": ("None kept yet.", "Noch keine gespeichert."),
        "reclaim_title": ("Reclaim", "Rücklauf"),
        "reclaim_how": (
            "Spare and trimmings as they were weighed, wet; noted on each mould's page.",
            "Rand und Abschnitte, nass gewogen; auf der Seite jeder Form notiert.",
        ),
        "reclaim_slip": ("Slip poured", "Schlicker beim Guss"),
        "reclaim_casts": ("Casts", "Güsse"),
        "reclaim_weight": ("Weight, g", "Gewicht, g"),
        "slip_gravity": ("Specific gravity", "Dichte"),
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""
