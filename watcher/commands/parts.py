"""`tipbell parts`: the packages that run here with their licences, or a bill of materials for programs."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from typing import Any

from watcher.commands.installed_parts import OWN, Part, installed_parts
from watcher.commands.refused import Refused

_SPACE = uuid.UUID("5b7c9d52-5d0f-4a57-9d0a-6f5f0e3c4f11")


def parts(*, as_json: bool) -> None:
    """Print what Tipbell is made of here.

    Parameters
    ----------
    as_json : bool
        A bill of materials in CycloneDX 1.6 instead of lines.

    Raises
    ------
    Refused
        Tipbell was not installed as a package, so nobody wrote down what it needs.
    """
    found = installed_parts()
    if not found or found[0].key != OWN:
        raise Refused("Tipbell is not installed as a package here; install it with pip, or deploy/begin.py")
    if as_json:
        print(json.dumps(bill(found), indent=2))
        return
    wide = max(len(part.name) for part in found)
    for part in found:
        print(f"{part.name:{wide}s}  {part.version:14s}  {part.licence or _unsaid(part)}")
    print(f"{len(found) - 1} packages beside Tipbell; some hold libraries with licences of their own")


def bill(found: tuple[Part, ...]) -> Mapping[str, Any]:
    """Return the bill of materials; the same parts give the same bill."""
    own, *others = found
    listed = "\n".join(f"{part.key}=={part.version}" for part in found)
    return {
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{uuid.uuid5(_SPACE, listed)}",
        "version": 1,
        "metadata": {"component": _component(own, "application")},
        "components": [_component(part, "library") for part in others],
        "dependencies": [
            {"ref": _ref(part), "dependsOn": [_ref(one) for one in found if one.key in part.needs]}
            for part in found
        ],
    }


def _component(part: Part, kind: str) -> dict[str, Any]:
    component: dict[str, Any] = {
        "type": kind,
        "bom-ref": _ref(part),
        "name": part.name,
        "version": part.version,
        "purl": _ref(part),
    }
    if part.licence:
        licence = {"expression": part.licence} if part.is_spdx else {"license": {"name": part.licence}}
        component["licenses"] = [licence]
    return component


def _ref(part: Part) -> str:
    return f"pkg:pypi/{part.key}@{part.version}"


def _unsaid(part: Part) -> str:
    return f"see its {part.texts} licence texts" if part.texts else "not said"
