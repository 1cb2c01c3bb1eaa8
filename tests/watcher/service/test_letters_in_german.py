"""A bench whose letters are set to the second language writes all of them in it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from string import Formatter

import pytest
from bench_looks import at, run_notices, tick
from bench_stories import CAST_STEPS, story
from casting_bench import casting

from watcher.alerts.gathering import letter_of
from watcher.alerts.letter_words import ENGLISH_TEXTS
from watcher.alerts.postman import Postman
from watcher.alerts.rules import CLOSING_WHY, LEAKING_WHY, TIPPED_WHY
from watcher.alerts.senders import Senders
from watcher.page.words_letters import GERMAN, letter_words
from watcher.pipeline import advance
from watcher.records.notices import Alert, Kind, Notice, Why
from watcher.service.clerk import Clerk
from watcher.service.summary import summary_text
from watcher.settings_calls import CallSettings
from watcher.storage.journal import open_journal

ENGLISH_WORDS = re.compile(
    r"\b(the|tip|now|about|before|again|mould|casts?|camera|top|up|wall|past|over|day|and|is)\b",
    re.IGNORECASE,
)
WHYS = {
    Kind.TIPPED_UNSEEN: TIPPED_WHY,
    Kind.BLIND: "not read for some minutes: the time shown is a forecast",
    Kind.HOLE_CLOSING: CLOSING_WHY,
    Kind.LEAKING: LEAKING_WHY,
    Kind.CAMERA_BLIND: "the camera is being opened",
    Kind.DISK_FILLING: "the disk fills up (312 MB free at /data): make room",
    Kind.CLOCK_STEPPED: "its clock went back by 60 min; casts go on by the steady clock,"
    " only the times shown before are off",
    Kind.BENCH_SILENT: "tisch2 was last heard at 10:04; beaker there was to be ready at 10:20",
}


def alert(kind: Kind) -> Alert:
    mould = (
        ""
        if kind in (Kind.CAMERA_BLIND, Kind.DISK_FILLING, Kind.CLOCK_STEPPED, Kind.BENCH_SILENT)
        else "Becher"
    )
    name = f"tisch2/{kind.value}/20260303T080000Z"
    return Alert(name, kind, mould, "", 600.0, at(600), why=WHYS.get(kind, ""), due_s=780.0, wall_mm=2.44)


def placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def test_every_text_stands_in_both_languages_with_the_same_blanks() -> None:
    assert set(GERMAN) == set(ENGLISH_TEXTS)
    assert {f"kind_{kind.value}" for kind in Kind} == {key for key in GERMAN if key.startswith("kind_")}
    for key, english in ENGLISH_TEXTS.items():
        assert placeholders(GERMAN[key]) == placeholders(english), key


@pytest.mark.parametrize("why", list(Why))
@pytest.mark.parametrize("kind", list(Kind))
def test_no_call_to_a_german_bench_holds_an_english_word(kind: Kind, why: Why) -> None:
    present = casting()
    letter = letter_of([Notice(alert(kind), why)], (), present, "phone", letter_words("de"))
    assert not ENGLISH_WORDS.search(f"{letter.title}\n{letter.text}"), (letter.title, letter.text)


def test_a_call_says_in_german_what_it_says_in_english() -> None:
    ready = Notice(replace(alert(Kind.READY), mould="Becher"), Why.AGAIN)
    assert letter_of([ready], (), casting(), "p").text == "Again: Becher: tip now, wall about 2.4 mm."
    german = letter_of([ready], (), casting(), "p", letter_words("de"))
    assert german.text == "Noch einmal: Becher: jetzt kippen, Wand etwa 2,4 mm."
    assert german.title == "Becher: jetzt kippen"


def test_what_nobody_has_put_into_german_is_told_as_it_came() -> None:
    strange = replace(alert(Kind.CAMERA_BLIND), why="E0x17 from the driver")
    letter = letter_of([Notice(strange, Why.FIRST)], (), casting(), "p", letter_words("de"))
    assert letter.text.startswith("Die Kamera ist nicht zu gebrauchen: E0x17 from the driver.")


def test_the_outbox_of_a_german_bench_holds_german_letters(tmp_path: Path) -> None:
    journal = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench")
    senders = Senders([])
    postman = Postman(journal.outbox, senders, lambda: 0.0)
    written: list[str] = []

    class Reads(Clerk):
        def __call__(self, step, said):
            self._senders = SendersNamed()
            written.extend(letter.text for letter in self._letters(step))

    class SendersNamed:
        names = ("phone",)
        channels = ()

        def for_step(self, step: int) -> tuple[str, ...]:
            return self.names

    words = letter_words(CallSettings(language="de").language)
    clerk = Reads(journal, senders, postman, None, words)
    present = casting()
    for second in range(590, 725):
        step = advance(present, tick(second))
        present = step.bench
        clerk(step, None)
    postman.close()
    journal.close()
    assert any("kippen" in text for text in written)
    assert not [text for text in written if ENGLISH_WORDS.search(text)]
    assert run_notices(casting(), [tick(600)])[1]


def test_the_days_summary_of_a_german_bench(tmp_path: Path) -> None:
    journal = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench1")
    for told in story(CAST_STEPS):
        journal.add(told.step, durable=told.number == CAST_STEPS - 1)
    casts = journal.casts()
    journal.close()
    calls = [alert(Kind.BLIND), alert(Kind.CAMERA_BLIND)]
    first, second, *_ = summary_text(date(2026, 3, 3), casts, calls, letter_words("de")).split("\n")
    assert first.startswith(f"Dienstag, 3. März: {len(casts)} Güsse: ")
    assert second == "Minutenlang nicht abgelesen: 1 Güsse; Kamera ohne Bild: 1-mal."
    assert summary_text(date(2026, 3, 3), casts, calls).startswith("Tuesday 3 March: ")
