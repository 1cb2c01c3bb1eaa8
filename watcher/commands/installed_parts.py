"""What Tipbell is made of on this computer: every package that it needs, as installed, with its licence."""

from __future__ import annotations

import re
from collections import deque
from dataclasses import dataclass
from importlib import metadata

OWN = "tipbell"
OWN_EXTRAS = frozenset({"network", "mqtt", "timelapse"})
"""Extras that are for use; those for tests and for rendering are not part of what runs."""

_NAME = re.compile(r"\s*([A-Za-z0-9][A-Za-z0-9._-]*)\s*(?:\[([^\]]*)\])?")
_EXTRA = re.compile(r"""extra\s*==\s*["']([\w.-]+)["']""")
_CLASSIFIER = "License :: OSI Approved :: "
_LONGEST = 60
"""Some packages put the whole text of their licence where its name belongs."""

_SPDX = {
    "MIT License": "MIT",
    "MIT": "MIT",
    "BSD License": "BSD-3-Clause",
    "BSD": "BSD-3-Clause",
    "BSD-3": "BSD-3-Clause",
    "3-Clause BSD License": "BSD-3-Clause",
    "BSD 3-Clause": "BSD-3-Clause",
    "BSD 2-Clause License": "BSD-2-Clause",
    "Apache Software License": "Apache-2.0",
    "Apache 2.0": "Apache-2.0",
    "Apache License 2.0": "Apache-2.0",
    "Apache License, Version 2.0": "Apache-2.0",
    "ISC License (ISCL)": "ISC",
    "Python Software Foundation License": "PSF-2.0",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "GNU Lesser General Public License v3 (LGPLv3)": "LGPL-3.0-only",
    "GNU Lesser General Public License v3 or later (LGPLv3+)": "LGPL-3.0-or-later",
}
"""Names as packages write them, and the identifiers of the SPDX list. "BSD License" does not say how many
clauses: nearly always three."""


@dataclass(frozen=True, slots=True)
class Part:
    """One installed package.

    Attributes
    ----------
    name, version : str
        As its own metadata has them.
    licence : str
        An SPDX identifier or expression where one is known, else what the package says, else empty.
    is_spdx : bool
        Whether `licence` is one of SPDX.
    needs : tuple of str
        Keys of the parts that it needs itself.
    texts : int
        How many licence texts came with it.
    """

    name: str
    version: str
    licence: str
    is_spdx: bool
    needs: tuple[str, ...]
    texts: int

    @property
    def key(self) -> str:
        """Its name as indexes spell it (PEP 503)."""
        return key_of(self.name)


def key_of(name: str) -> str:
    """Return a package's name as indexes spell it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def installed_parts() -> tuple[Part, ...]:
    """Return Tipbell itself and everything it needs, as installed here; itself first, the rest by name."""
    found: dict[str, Part] = {}
    asked: dict[str, frozenset[str]] = {}
    waiting = deque([(OWN, OWN_EXTRAS)])
    while waiting:
        key, extras = waiting.popleft()
        if key in asked and extras <= asked[key]:
            continue
        asked[key] = asked.get(key, frozenset()) | extras
        try:
            package = metadata.distribution(key)
        except metadata.PackageNotFoundError:
            continue  # for another system or Python, or an extra that was not wanted
        needs = _needs(package, asked[key])
        found[key] = _part(package, tuple(sorted(needs)))
        waiting.extend(needs.items())
    whole = {key: _among(part, found) for key, part in found.items()}
    return tuple(whole[key] for key in sorted(whole, key=lambda key: (key != OWN, key)))


def _needs(package: metadata.Distribution, extras: frozenset[str]) -> dict[str, frozenset[str]]:
    """Return what a package asks for, with the extras of each; those of extras nobody wanted are left out."""
    needs: dict[str, frozenset[str]] = {}
    for line in package.requires or ():
        wanted, _, marker = line.partition(";")
        named = _NAME.match(wanted)
        of_extra = _EXTRA.search(marker)
        if named is None or (of_extra is not None and key_of(of_extra[1]) not in extras):
            continue
        more = frozenset(key_of(one) for one in (named[2] or "").split(",") if one.strip())
        key = key_of(named[1])
        needs[key] = needs.get(key, frozenset()) | more
    return needs


def _part(package: metadata.Distribution, needs: tuple[str, ...]) -> Part:
    said = package.metadata
    licence, is_spdx = _licence(said)
    return Part(
        said["Name"], package.version, licence, is_spdx, needs, len(said.get_all("License-File") or ())
    )


def _among(part: Part, found: dict[str, Part]) -> Part:
    needs = tuple(key for key in part.needs if key in found)
    return Part(part.name, part.version, part.licence, part.is_spdx, needs, part.texts)


def _licence(said: metadata.PackageMetadata) -> tuple[str, bool]:
    expressions = said.get_all("License-Expression") or ()
    if expressions:
        return str(expressions[0]), True
    classifiers = said.get_all("Classifier") or ()
    named = [one.removeprefix(_CLASSIFIER) for one in classifiers if one.startswith(_CLASSIFIER)]
    if named and all(one in _SPDX for one in named):
        return " OR ".join(sorted({_SPDX[one] for one in named})), True
    field = " ".join(" ".join(map(str, said.get_all("License") or ())).split())
    if field in _SPDX:
        return _SPDX[field], True
    if named:
        return ", ".join(named), False
    return (field if len(field) <= _LONGEST else ""), False
