"""Every source key in the science and its tests is a row of the source list, and says its status."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
KEY = re.compile(r"\[([^\]\n]*\bS\d{1,2}\b[^\]\n]*)\]")


def _rows():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("## Sources")[1]
    rows = [line.split("|") for line in section.splitlines() if re.match(r"\| S\d", line)]
    return {row[1].strip(): row[-2].strip() for row in rows}


def test_every_key_in_the_code_is_listed():
    listed = set(_rows())
    strange = {}
    for path in [*(ROOT / "models").glob("*.py"), *(ROOT / "tests" / "models").glob("*.py")]:
        if path.name == Path(__file__).name:
            continue
        for inside in KEY.findall(path.read_text(encoding="utf-8")):
            for key in re.findall(r"\bS\d{1,2}\b", inside):
                if key not in listed:
                    strange.setdefault(key, path.name)
    assert not strange


def test_no_key_stands_for_two_sources():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Sources")[1]
    keys = re.findall(r"^\| (S\d+) \|", text, flags=re.MULTILINE)
    assert len(keys) == len(set(keys))


def test_every_source_says_whether_it_was_read():
    for key, status in _rows().items():
        assert re.match(r"(read|derived|memory|practice)", status), (key, status)
