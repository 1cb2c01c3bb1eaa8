"""The list of parts names what is installed, with licences, and its bill is one that other programs take."""

from __future__ import annotations

import json
from importlib import metadata
from importlib.resources import files

import jsonschema_rs
import pytest
from packaging.requirements import Requirement
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.commands.installed_parts import OWN_EXTRAS, Part, _licence, installed_parts, key_of
from watcher.commands.parts import bill


@pytest.fixture(scope="module")
def schema() -> jsonschema_rs.Validator:
    """CycloneDX's own schema of a bill, as their library brings it."""
    folder = files("cyclonedx.schema") / "_res"
    held = {
        name: json.loads((folder / f"{name}.SNAPSHOT.schema.json").read_text(encoding="utf-8"))
        for name in ("bom-1.6", "spdx", "jsf-0.82")
    }
    place = "http://cyclonedx.org/schema"
    known = jsonschema_rs.Registry([(f"{place}/{name}.SNAPSHOT.schema.json", held[name]) for name in held])
    return jsonschema_rs.validator_for(held["bom-1.6"], registry=known)


def test_the_bill_is_one_by_the_published_schema(schema: jsonschema_rs.Validator) -> None:
    said = CliRunner().invoke(app, ["parts", "--json"])
    assert said.exit_code == 0
    made = json.loads(said.stdout)
    assert [str(fault.message) for fault in schema.iter_errors(made)] == []
    assert {"numpy", "opencv-python", "fastapi"} <= {one["name"] for one in made["components"]}
    references = {one["ref"] for one in made["dependencies"]}
    assert references == {one["bom-ref"] for one in made["components"]} | {
        made["metadata"]["component"]["bom-ref"]
    }
    assert all(set(one["dependsOn"]) <= references for one in made["dependencies"])


def test_the_schema_does_find_what_is_wrong(schema: jsonschema_rs.Validator) -> None:
    wrong = {**bill(installed_parts()), "components": [{"name": "numpy"}]}
    assert list(schema.iter_errors(wrong))


def test_every_licence_named_as_one_of_spdx_is_one() -> None:
    from license_expression import get_spdx_licensing

    licensing = get_spdx_licensing()
    for part in installed_parts():
        if part.is_spdx:
            assert licensing.validate(part.licence).errors == [], part


def needed(name: str, extras: frozenset[str], found: dict[str, frozenset[str]]) -> None:
    """Walk the same tree by the packaging authority's own reader of requirements."""
    key = key_of(name)
    if key in found and extras <= found[key]:
        return
    try:
        package = metadata.distribution(key)
    except metadata.PackageNotFoundError:
        return
    found[key] = found.get(key, frozenset()) | extras
    for line in package.requires or ():
        wanted = Requirement(line)
        marker = wanted.marker
        if marker is None or any(marker.evaluate({"extra": extra}) for extra in found[key] | {""}):
            needed(wanted.name, frozenset(wanted.extras), found)


def test_nothing_that_is_needed_here_is_left_out() -> None:
    expected: dict[str, frozenset[str]] = {}
    needed("tipbell", OWN_EXTRAS, expected)
    assert set(expected) <= {part.key for part in installed_parts()}
    assert "pytest" not in {part.key for part in installed_parts()}


def test_every_part_says_under_which_licence_it_stands() -> None:
    others = [part for part in installed_parts() if part.name != "tipbell"]
    assert [part.name for part in others if not part.licence and not part.texts] == []


@pytest.mark.parametrize(
    ("said", "licence"),
    [
        ("License-Expression: MIT AND Zlib", ("MIT AND Zlib", True)),
        ("Classifier: License :: OSI Approved :: MIT License", ("MIT", True)),
        ("License: BSD-3", ("BSD-3-Clause", True)),
        ("License: ask me", ("ask me", False)),
        ("License: " + "All rights and no duties " * 20, ("", False)),
        ("", ("", False)),
    ],
)
def test_what_a_package_says_of_its_licence_is_understood_or_repeated(
    said: str, licence: tuple[str, bool]
) -> None:
    from email import message_from_string

    assert _licence(message_from_string(said)) == licence


def test_the_same_parts_give_the_same_bill() -> None:
    parts = (Part("tipbell", "1", "", False, ("a",), 0), Part("A", "2", "MIT", True, (), 1))
    assert json.dumps(bill(parts)) == json.dumps(bill(parts))
    assert bill(parts)["serialNumber"] != bill((parts[0],))["serialNumber"]
