"""Words of joining: the page for a stranger, the joining page, and the list of joined devices."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

ACCESS_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "stranger": ("This device has not joined the bench", "Dieses Gerät gehört noch nicht zum Tisch"),
        "stranger_how": (
            "On the bench's own computer open Settings, Let a phone in, and point this device's camera at "
            "the code.",
            "Am Computer des Tisches Einstellungen, Ein Gerät einlassen öffnen und die Kamera dieses "
            "Geräts auf den Code halten.",
        ),
        "join": ("Join this bench", "Zu diesem Tisch gehören"),
        "join_name": (
            "What is this device called? (may stay empty)",
            "Wie heißt dieses Gerät? (darf leer bleiben)",
        ),
        "join_wait": ("One moment …", "Einen Moment …"),
        "join_no_code": (
            "There is no code in this address. Point the camera at the code again.",
            "In dieser Adresse steht kein Code. Die Kamera noch einmal auf den Code halten.",
        ),
        "phones": ("Phones", "Geräte"),
        "set_up": ("Set the bench up", "Den Tisch einrichten"),
        "phones_let_in": ("Let a phone in", "Ein Gerät einlassen"),
        "phones_act": ("It may look and act", "Darf sehen und bedienen"),
        "phones_look": ("It may only look", "Darf nur sehen"),
        "phones_scan": (
            "Point the phone's camera at this code and open what it finds.",
            "Die Kamera des Geräts auf diesen Code halten und öffnen, was sie findet.",
        ),
        "phones_left": (
            "Good once, for {minutes} min more.",
            "Gilt ein Mal, noch {minutes} Min.",
        ),
        "phones_over": ("This code is used up or too old.", "Dieser Code ist verbraucht oder zu alt."),
        "phones_same_net": (
            "The phone must be on this computer's network. If the address does not open, try another:",
            "Das Gerät muss im Netz dieses Computers sein. Geht die Adresse nicht, eine andere nehmen:",
        ),
        "phones_qr": ("Code for the phone's camera", "Code für die Kamera des Geräts"),
        "phones_came": ("{name} has joined.", "{name} gehört jetzt dazu."),
        "phones_joined": ("Joined phones", "Geräte am Tisch"),
        "phones_none": ("None yet.", "Noch keine."),
        "phones_take_out": ("Take out", "Entfernen"),
        "phones_seen": ("last here {at}", "zuletzt da {at}"),
        "phones_since": ("joined {at}", "dabei seit {at}"),
        "phones_closed": (
            "The bench answers this computer alone. To let phones in, set open = true under [page] in the "
            "settings and start Tipbell again.",
            "Der Tisch antwortet nur diesem Computer. Um Geräte einzulassen, in den Einstellungen unter "
            "[page] open = true setzen und Tipbell neu starten.",
        ),
        "rights_look": ("may look", "darf sehen"),
        "rights_act": ("may look and act", "darf sehen und bedienen"),
        "rights_keep": ("may let others in", "darf andere einlassen"),
        "access_again": ("That did not work: {why}", "Das ging nicht: {why}"),
    }
)
"""Key: (English, German). Names in braces are filled in by the page."""
