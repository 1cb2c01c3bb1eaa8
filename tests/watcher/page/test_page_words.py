"""All words lie in one place, in both languages, and none is missing or left over."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

import watcher.page.words as words_module
from models.fault_causes import Cause
from models.fit import CannotFit
from models.mould import checked_mould
from models.plan_jobs import PlanAsk, PlanMould, StepKind
from models.pour_next import pour_next
from models.slip import Slip
from models.slip_check import Verdict
from models.slip_weight import SlipMeasure
from watcher.alerts.rules import CLOSING_WHY, LEAKING_WHY, TIPPED_WHY
from watcher.desk.lessons import LessonKind
from watcher.desk.plan_asking import DayWords, ask_for
from watcher.desk.plan_slip import todays_slip
from watcher.desk.rack import RackWord
from watcher.page.review import TableName
from watcher.page.words import LANGUAGES, PAGE_WORDS, words_for
from watcher.page.words_bench import BENCH_WORDS
from watcher.page.words_desk import DESK_WORDS
from watcher.page.words_why import why_words
from watcher.records.after_tip import AfterStep
from watcher.records.afterwards import CameOut, FindingKind, PieceStep
from watcher.records.bench import FillingKind, Stage
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.notices import AlarmState, Kind
from watcher.records.readings import Missed
from watcher.records.said import What
from watcher.storage.papers import Paper, PaperKind
from watcher.storage.restoring import JUST_STARTED

PAGE = Path(words_module.__file__).parent
SOURCES = [*PAGE.glob("templates/*.html"), *PAGE.glob("static/*.js")]
TEXT = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
ALL = {**PAGE_WORDS, **BENCH_WORDS, **DESK_WORDS}
BRACES = re.compile(r"\{(\w+)\}")


def test_every_word_is_there_in_every_language():
    for key, texts in ALL.items():
        assert len(texts) == len(LANGUAGES) and all(text.strip() for text in texts), key


def test_every_language_fills_in_the_same_names():
    for key, texts in ALL.items():
        assert len({frozenset(BRACES.findall(text)) for text in texts}) == 1, key


DESK_PAGES = ("review", "cast", "slip", "day", "sheet", "pieces")


def asked_by(*names: str) -> set[str]:
    """Words that these scripts and templates ask for by name."""
    paths = [path for path in SOURCES if path.stem in names or not names]
    text = "\n".join(path.read_text(encoding="utf-8") for path in paths if not path.stem.startswith("setup"))
    return set(re.findall(r'\bw\("(\w+)"\)', text)) | set(re.findall(r'\bt\("(\w+)"', text))


def test_every_word_that_a_page_asks_for_exists():
    everywhere = {path.stem for path in SOURCES} - set(DESK_PAGES) - {"lapse", "plan", "sets"}
    asked = asked_by(*everywhere)
    assert len(asked) > 60
    assert asked <= set(PAGE_WORDS) | set(BENCH_WORDS)
    assert asked_by() <= set(ALL)


def test_no_word_is_left_over():
    built = re.compile(
        r"^(light|pulse|filling|rights|verdict|advice|measure|fault|step|cause|does|rack|table|lesson|faults_by|came|told)_"
    )
    words = (*PAGE_WORDS, *DESK_WORDS)
    text = TEXT + (PAGE / "day_sheet.py").read_text(encoding="utf-8")
    left = [key for key in words if f'"{key}"' not in text and not built.match(key)]
    assert left == []


@pytest.mark.parametrize(
    ("group", "codes"),
    [("missed", Missed), ("kind", Kind), ("state", AlarmState), ("said", What), ("filling", FillingKind)],
)
def test_every_code_of_the_bench_has_words(group, codes):
    assert {f"{group}_{code.value}" for code in codes} <= set(BENCH_WORDS)


@pytest.mark.parametrize(
    ("group", "codes", "words"),
    [
        ("fault", FindingKind, PAGE_WORDS),
        ("came", CameOut, PAGE_WORDS),
        ("step", PieceStep, DESK_WORDS),
        ("cause", Cause, DESK_WORDS),
        ("does", StepKind, DESK_WORDS),
        ("rack", RackWord, DESK_WORDS),
        ("verdict", Verdict, DESK_WORDS),
        ("advice", set(Verdict) - {Verdict.STIR_FIRST}, DESK_WORDS),
        ("measure", SlipMeasure, DESK_WORDS),
        ("lesson", LessonKind, DESK_WORDS),
        ("table", TableName, DESK_WORDS),
        ("said", AfterStep, BENCH_WORDS),
    ],
)
def test_every_code_of_the_desk_has_words(group, codes, words):
    assert {f"{group}_{code.value}" for code in codes} <= set(words)


def test_every_stage_has_a_look():
    source = (PAGE / "static/marks.js").read_text(encoding="utf-8")
    for stage in Stage:
        look = re.search(rf'\b{stage.value}: "(\w+)"', source)
        assert look is not None, stage
        assert f"look_{look[1]}" in BENCH_WORDS
        assert f'id="mark-{look[1]}"' in (PAGE / "templates/marks.html").read_text(encoding="utf-8")


# Sentences as the code writes them; they must be known in the second language.
WHYS = [
    CannotFit("nothing has been poured yet").why,
    JUST_STARTED.why,
    CLOSING_WHY,
    LEAKING_WHY,
    TIPPED_WHY,
    "no target: say how thick the wall should be, or which cast was good",
    "the pour hole freezes shut before 2.6 mm: top up, or drain sooner",
    "this cast does not get to 310 mL of water",
    pour_next(PlanAsk((PlanMould("beaker", (), wanted=0),), 1, 300.0)).why,
    pour_next(PlanAsk((PlanMould("beaker", (), wanted=1),), 1, 300.0)).why,
    pour_next(PlanAsk((PlanMould("beaker", (200.0,), wanted=1),), 1, 60.0)).why,
]


@pytest.mark.parametrize("why", WHYS)
def test_a_reason_of_the_bench_is_told_in_german(why):
    # The patterns are a browser's; of what they use only the way a group is named differs here.
    found = [
        german
        for pattern, german in why_words("de")
        if re.fullmatch(pattern.replace("(?<", "(?P<").replace("\\/", "/"), why)
    ]
    assert len(found) == 1 and not re.search(r"\b(the|mould|cast)\b", found[0])
    assert why_words("en") == []


def notes_of_a_plan() -> tuple[str, ...]:
    """What a plan remarks: of a mould without a wanted wall, of one never cast, of the slip of the day."""
    bore = [[0, 70], [20, 60], [90, 56]]
    layout = BenchLayout(
        "bench",
        None,
        (),
        (
            PlacedMould("beaker", checked_mould("beaker", bore, target_wall_mm=2.4)),
            PlacedMould("planter", checked_mould("planter", bore)),
        ),
    )
    now = datetime(2026, 3, 5, 9, tzinfo=UTC)
    text = "[slip]\nspecific_gravity = 1.7\ncake_solids_fraction = 0.62\n[measured]\ntemperature_c = 12.0\n"
    today = todays_slip(Paper(PaperKind.SLIP, "slip", 1, "", text, "", now), Slip(1.76, 0.62), now)
    words = DayWords(now, 300.0, 1, {}, 5, {}, 20.0, 45.0)
    return ask_for(layout, Slip(1.76, 0.62), {}, words, today).notes


def test_the_remarks_of_a_plan_are_told_in_german():
    notes = notes_of_a_plan()
    assert len(notes) == 3
    for note in notes:
        test_a_reason_of_the_bench_is_told_in_german(note)


def test_an_unknown_language_gets_english():
    assert words_for("xx") == words_for("en")
    assert words_for("de")["settings"] == "Einstellungen"


@pytest.mark.parametrize(
    ("headers", "language"),
    [
        ({}, "en"),
        ({"accept-language": "de-AT,de;q=0.9"}, "de"),
        ({"accept-language": "fr"}, "en"),
        ({"accept-language": "de", "cookie": "tipbell_words=en"}, "en"),
        ({"cookie": 'tipbell_words="><b>'}, "en"),
    ],
)
def test_the_page_comes_in_the_language_that_the_browser_asks_for(ask, headers, language):
    page = ask("GET", "/", headers=headers).text
    assert f'<html lang="{language}"' in page
    assert words_for(language)["hour"] in page


def test_no_file_of_the_page_asks_for_anything_outside_this_machine():
    for path in SOURCES + list(PAGE.glob("static/*.css")) + list(PAGE.glob("static/*.svg")):
        found = set(re.findall(r"https?://[^\s\"')]+", path.read_text(encoding="utf-8")))
        assert found <= {"http://www.w3.org/2000/svg"}, path.name


def test_no_page_has_script_or_style_in_its_lines():
    for path in PAGE.glob("templates/*.html"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\son\w+=|\sstyle=|<style|javascript:", text), path.name
        inline = re.findall(r"<script(?![^>]*\bsrc=)([^>]*)>", text)
        assert all("application/json" in attributes for attributes in inline), path.name
