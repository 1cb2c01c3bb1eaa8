"""Letters leave in order, are tried again with growing pauses, and are not lost to one bad channel."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from threading import Event

from memory_outbox import MemoryOutbox
from receivers import http_receiver

from watcher.alerts.channels import Channel
from watcher.alerts.postman import Postman, deliver_one
from watcher.alerts.senders import Senders
from watcher.records.letters import Letter, LetterState, SendFailed
from watcher.records.pauses import LETTER_PAUSES_S, MOST_LETTER_TRIES, pause_s

AT = datetime(2026, 3, 2, 10, 42, tzinfo=UTC)
CLOSED_PORT = "json://127.0.0.1:9/"


def letter(channel: str = "phone", text: str = "Tip the beaker.", alert: str = "a/ready") -> Letter:
    return Letter(channel, "beaker: ready", text, 100.0, AT, (alert,))


def test_letters_leave_in_the_order_in_which_they_were_put() -> None:
    outbox = MemoryOutbox()
    with http_receiver() as receiver:
        senders = Senders([Channel("phone", receiver.url)])
        outbox.put([letter(text="first"), letter(text="second")])
        while deliver_one(outbox, senders, "phone", lambda: 100.0):
            pass
    assert [got["message"] for got in receiver.got] == ["first", "second"]
    assert [state for _, state in outbox.letters()] == [LetterState.TOLD, LetterState.TOLD]


def test_a_failed_letter_is_tried_again_only_after_its_pause_and_pauses_grow() -> None:
    outbox = MemoryOutbox()
    senders = Senders([Channel("phone", CLOSED_PORT)])
    outbox.put([letter()])
    assert deliver_one(outbox, senders, "phone", lambda: 100.0)
    assert not deliver_one(outbox, senders, "phone", lambda: 100.0 + pause_s(LETTER_PAUSES_S, 1) - 0.1)
    assert deliver_one(outbox, senders, "phone", lambda: 100.0 + pause_s(LETTER_PAUSES_S, 1))
    pauses = [pause_s(LETTER_PAUSES_S, tries) for tries in range(1, MOST_LETTER_TRIES + 1)]
    assert pauses == sorted(pauses)
    assert 3600 < sum(pauses) < 5 * 3600, "hours of trying, as long as a cast may take"


def test_a_wrong_address_is_given_up_at_once_with_the_reason() -> None:
    outbox = MemoryOutbox()
    with http_receiver(404) as receiver:
        senders = Senders([Channel("phone", receiver.url)])
        outbox.put([letter()])
        deliver_one(outbox, senders, "phone", lambda: 100.0)
    assert outbox.letters()[0][1] is LetterState.FAILED
    assert "404" in outbox.why[0]


def test_a_letter_that_may_have_arrived_is_marked_when_it_is_sent_again() -> None:
    outbox = MemoryOutbox()
    with http_receiver(silent=True) as receiver:
        senders = Senders([Channel("phone", receiver.url, timeout_s=0.3)])
        outbox.put([letter()])
        deliver_one(outbox, senders, "phone", lambda: 100.0)
        receiver.silent = False
        deliver_one(outbox, senders, "phone", lambda: 200.0)
    first, again = (got["message"] for got in receiver.got)
    assert "before" not in first
    assert "may have reached you before" in again


def test_an_answered_alert_takes_its_waiting_letters_back() -> None:
    outbox = MemoryOutbox()
    outbox.put([letter(alert="a/ready"), letter(alert="b/ready")])
    assert outbox.withdraw({"a/ready"}) == 1
    claimed = outbox.claim("phone", 100.0)
    assert claimed is not None
    assert claimed.letter.alert_ids == ("b/ready",)


def test_a_silent_channel_holds_up_no_other() -> None:
    outbox = MemoryOutbox()
    outcomes = []
    with http_receiver(silent=True) as slow, http_receiver() as quick:
        senders = Senders([Channel("slow", slow.url, timeout_s=3.0), Channel("quick", quick.url)])
        postman = Postman(outbox, senders, lambda: 100.0, outcomes.append)
        outbox.put([letter("slow"), letter("quick")])
        began = time.monotonic()
        postman.ring()
        assert quick.arrived.wait(2.0)
        assert time.monotonic() - began < 1.5
        slow.speak.set()
        postman.close()
        postman.close()
    assert not any(isinstance(outcome, SendFailed) for outcome in outcomes)


def test_a_full_disk_while_noting_the_outcome_does_not_end_the_rounds() -> None:
    noted = Event()

    class FullOnce(MemoryOutbox):
        full = True

        def told(self, outgoing: object) -> None:
            if self.full:
                self.full = False
                raise OSError("no space left on device")
            noted.set()

    outbox = FullOnce()
    with http_receiver() as receiver:
        postman = Postman(outbox, Senders([Channel("phone", receiver.url)]), lambda: 100.0)
        outbox.put([letter(), letter()])
        postman.ring()
        assert noted.wait(4.0)
        postman.close()
