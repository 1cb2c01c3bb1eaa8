"""All words lie in one place, in both languages, and none is missing or left over."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import watcher.page.words as words_module
from watcher.page.words import LANGUAGES, PAGE_WORDS, words_for
from watcher.page.words_bench import BENCH_WORDS
from watcher.records.bench import FillingKind, Stage
from watcher.records.notices import AlarmState, Kind
from watcher.records.readings import Missed
from watcher.records.said import What

PAGE = Path(words_module.__file__).parent
SOURCES = [*PAGE.glob("templates/*.html"), *PAGE.glob("static/*.js")]
TEXT = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
BRACES = re.compile(r"\{(\w+)\}")


def test_every_word_is_there_in_every_language():
    for key, texts in (*PAGE_WORDS.items(), *BENCH_WORDS.items()):
        assert len(texts) == len(LANGUAGES) and all(text.strip() for text in texts), key


def test_every_language_fills_in_the_same_names():
    for key, texts in PAGE_WORDS.items():
        assert len({frozenset(BRACES.findall(text)) for text in texts}) == 1, key


def test_every_word_that_a_page_asks_for_exists():
    asked = set(re.findall(r'\bw\("(\w+)"\)', TEXT)) | set(re.findall(r'\bt\("(\w+)"', TEXT))
    assert len(asked) > 60
    assert asked <= set(PAGE_WORDS)


def test_no_word_is_left_over():
    built = re.compile(r"^(light|pulse|filling|rights)_")
    left = [key for key in PAGE_WORDS if f'"{key}"' not in TEXT and not built.match(key)]
    assert left == []


@pytest.mark.parametrize(
    ("group", "codes"),
    [("missed", Missed), ("kind", Kind), ("state", AlarmState), ("said", What), ("filling", FillingKind)],
)
def test_every_code_of_the_bench_has_words(group, codes):
    assert {f"{group}_{code.value}" for code in codes} <= set(BENCH_WORDS)


def test_every_stage_has_a_look():
    source = (PAGE / "static/marks.js").read_text(encoding="utf-8")
    for stage in Stage:
        look = re.search(rf'\b{stage.value}: "(\w+)"', source)
        assert look is not None, stage
        assert f"look_{look[1]}" in BENCH_WORDS
        assert f'id="mark-{look[1]}"' in (PAGE / "templates/marks.html").read_text(encoding="utf-8")


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
