"""The tree keeps its shape: what lies at the top, how long files are, what they are called."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import models
import watcher

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "watcher", "models", "tests", "sample_frames", "deploy"
}  # fmt: skip
MADE_ON_THE_WAY = re.compile(r"\..*|.*\.egg-info|build|dist|out|__pycache__")
VAGUE = {
    "utils",
    "util",
    "helpers",
    "helper",
    "manager",
    "common",
    "misc",
    "base",
    "types",
    "support",
    "stuff",
}
OURS = ("watcher", "models", "tests", "deploy", "sample_frames")
LONGEST = 300


def written_files(*suffixes: str) -> list[Path]:
    """Every file of ours with one of these endings."""
    found = [path for part in OURS for path in (ROOT / part).rglob("*") if path.suffix in suffixes]
    return sorted(path for path in found if "__pycache__" not in path.parts)


def test_nothing_else_lies_at_the_top():
    found = {path.name for path in ROOT.iterdir() if not MADE_ON_THE_WAY.fullmatch(path.name)}
    assert found == TOP


def test_no_file_is_longer_than_can_be_read_in_one_sitting():
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in written_files(".py", ".js", ".css", ".html")
    }
    assert lengths
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST} == {}


def test_no_module_has_a_name_that_says_nothing():
    vague = [str(path.relative_to(ROOT)) for path in written_files(".py", ".js") if path.stem in VAGUE]
    assert vague == []


def test_package_files_hold_no_code_so_that_one_path_leads_to_each_name():
    for path in written_files(".py"):
        if path.name == "__init__.py":
            text = path.read_text(encoding="utf-8")
            code = re.sub(r'^\s*""".*?"""', "", text, flags=re.DOTALL).strip()
            assert re.fullmatch(r'(__version__ = "[\w.]+")?', code), path


@pytest.mark.parametrize("package", [models, watcher])
def test_both_packages_are_ours_and_not_somebody_elses_of_the_same_name(package):
    assert Path(package.__file__).resolve().is_relative_to(ROOT)


def test_the_pins_name_no_host():
    pins = (ROOT / "deploy" / "constraints.txt").read_text(encoding="utf-8")
    assert "numpy==" in pins
    assert "://" not in pins and "@" not in pins


def test_every_dependency_is_pinned():
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = project["dependencies"] + extras["test"] + extras["network"] + extras["mqtt"]
    names = {re.split(r"[\[<>=!~; ]", one)[0].lower() for one in wanted}
    pins = (ROOT / "deploy" / "constraints.txt").read_text(encoding="utf-8").lower()
    assert [name for name in sorted(names) if f"\n{name}==" not in f"\n{pins}"] == []
