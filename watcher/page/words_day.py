"""Words of the day page, its printed sheet and the drying rack."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

DAY_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "plan_next": ("Next pour", "Nächstes Füllen"),
        "pour_in": ("Pour the next one in {n} min", "Die nächste in {n} min füllen"),
        "pour_now": ("Pour the next one now", "Jetzt die nächste füllen"),
        "pour_nothing": ("Pour nothing more today", "Heute nichts mehr füllen"),
        "pour_who": ("{name}, at {at}", "{name}, um {at}"),
        "pour_ready": (
            "It should be ready about {at} ({low}–{high}).",
            "Sie sollte etwa {at} fertig sein ({low}–{high}).",
        ),
        "plan_wishes": ("What is wanted today", "Was heute gewünscht ist"),
        "plan_closing": ("Closing time", "Feierabend"),
        "plan_hands": ("Pairs of hands", "Paar Hände"),
        "plan_pots": ("Pots", "Stück"),
        "plan_poured": ("poured: {n}", "gefüllt: {n}"),
        "plan_any": ("any", "beliebig"),
        "plan_today": ("Today", "Heute"),
        "plan_skip": ("Leave out", "Auslassen"),
        "plan_skipped": ("Left out", "Ausgelassen"),
        "plan_more": ("Room, times and weights", "Raum, Zeiten, Gewichte"),
        "plan_room_c": ("Where moulds dry", "Wo die Formen trocknen"),
        "plan_room_rh": ("Its humidity", "Luftfeuchte dort"),
        "plan_drain": ("From tip to drained", "Vom Kippen bis leer"),
        "plan_set": ("From tip to demoulding", "Vom Kippen bis Entformen"),
        "plan_dampest": ("Cast no wetter than", "Nicht feuchter gießen als"),
        "plan_most": ("Casts a day, mould never weighed", "Güsse am Tag, nie gewogene Form"),
        "plan_weigh_how": (
            "Weigh a mould bone dry once, straps off: its dampness is then followed.",
            "Eine Form einmal ganz trocken wiegen, ohne Gurte: dann wird ihre Feuchte verfolgt.",
        ),
        "plan_dry_kg": ("{name}, bone dry", "{name}, ganz trocken"),
        "plan_title": ("The day", "Der Tag"),
        "plan_no_closing": (
            "Give a closing time to see the whole day.",
            "Mit einer Feierabendzeit steht hier der ganze Tag.",
        ),
        "plan_makes": (
            "{n} more pots, the last drained at {at}.",
            "Noch {n} Stück, das letzte leer um {at}.",
        ),
        "plan_missing": ("{name}: {n} fewer", "{name}: {n} weniger"),
        "plan_short": ("Not all fit: {list}.", "Nicht alle passen: {list}."),
        "plan_holds": (
            "It would hold on {n} of 100 days; tips wait {min} min a day for hands.",
            "Er ginge an {n} von 100 Tagen auf; fertige Formen warten {min} min am Tag auf Hände.",
        ),
        "plan_hands_lane": ("Hands", "Hände"),
        "plan_stands": ("stands", "steht"),
        "sets_title": ("Pieces of several parts", "Stücke aus mehreren Teilen"),
        "sets_how": (
            "Body, handle, spout, lid: poured so that they come leather-hard together.",
            "Körper, Henkel, Tülle, Deckel: so gefüllt, dass sie zusammen lederhart werden.",
        ),
        "sets_new": ("New set", "Neuer Satz"),
        "sets_name": ("The piece", "Das Stück"),
        "sets_parts": ("Its moulds", "Seine Formen"),
        "sets_pour": ("{name}: pour at {at}", "{name}: um {at} füllen"),
        "sets_poured": ("{name}: poured at {at}", "{name}: gefüllt um {at}"),
        "sets_slip": (
            "Draw some slip for joining at {at}, in an open dish, so that it thickens.",
            "Um {at} etwas Schlicker zum Garnieren in eine offene Schale nehmen, damit er andickt.",
        ),
        "sets_slip_now": (
            "Draw some slip for joining now, in an open dish, so that it thickens.",
            "Jetzt etwas Schlicker zum Garnieren in eine offene Schale nehmen, damit er andickt.",
        ),
        "sets_join": (
            "All leather-hard about {at} ({low}–{high}). What is ready first waits under a damp cloth.",
            "Alle lederhart etwa {at} ({low}–{high}). Wer zuerst fertig ist, wartet unter feuchtem Tuch.",
        ),
        "sets_in_plan": (
            "In the day's plan its parts come within {n} min of each other.",
            "Im Tagesplan kommen die Teile binnen {n} min.",
        ),
        "sets_no_room": (
            "The day's plan has no room for it as a set: these are its own times, hands or not.",
            "Im Tagesplan ist als Satz kein Platz: dies sind seine eigenen Zeiten, auch ohne freie Hände.",
        ),
        "sets_drop": ("No such set", "Satz streichen"),
        "does_pour": ("pour", "füllen"),
        "does_top_up": ("top up", "nachgießen"),
        "does_tip": ("tip", "kippen"),
        "does_demould": ("demould", "entformen"),
        "nth_cast": ("cast {n}", "Guss {n}"),
        "sheet_print": ("Day sheet to print", "Tagesblatt zum Drucken"),
        "sheet_print_now": ("Print", "Drucken"),
        "sheet_title": ("Day sheet", "Tagesblatt"),
        "sheet_at": ("At", "Um"),
        "sheet_do": ("Do", "Tun"),
        "sheet_between": ("Between", "Zwischen"),
        "sheet_done": ("Done", "Erledigt"),
        "sheet_none": (
            "There is no plan yet: give a closing time on the Day page.",
            "Noch kein Plan: auf der Seite Tag eine Feierabendzeit angeben.",
        ),
        "caution_lift": (
            "Full moulds are heavy: lift as your local advice on lifting has it, and get help.",
            "Volle Formen sind schwer: heben, wie es die örtlichen Regeln sagen, und Hilfe holen.",
        ),
        "rack_title": ("Moulds for tomorrow", "Formen für morgen"),
        "rack_room": (
            "They dry at {c} °C and {rh} % humidity.",
            "Sie trocknen bei {c} °C und {rh} % Luftfeuchte.",
        ),
        "rack_warm": (
            "Moving air dries better than heat. Above 45 °C is never suggested: from 49 °C plaster turns "
            "to powder.",
            "Bewegte Luft trocknet besser als Hitze. Über 45 °C wird nie geraten: ab 49 °C zerfällt Gips "
            "zu Pulver.",
        ),
        "rack_too_hot": (
            "{c} °C turns the moulds' faces to powder: at most {most} °C.",
            "{c} °C macht die Flächen der Formen zu Pulver: höchstens {most} °C.",
        ),
        "rack_damp": ("{n} % water", "{n} % Wasser"),
        "rack_casts": ("casts today: {n}", "Güsse heute: {n}"),
        "rack_unweighed": ("never weighed: by what makers print", "nie gewogen: nach Angaben der Hersteller"),
        "rack_ready": ("ready by tomorrow", "bis morgen fertig"),
        "rack_perhaps": ("perhaps by tomorrow", "vielleicht bis morgen"),
        "rack_needs_rack": ("needs the rack", "muss ins Regal"),
        "rack_dry": ("dry", "trocken"),
        "rack_casting": ("holds a cast", "ist gefüllt"),
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""
