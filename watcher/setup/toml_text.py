"""Plain TOML out of a few tables, to be read and changed by people."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

Value = str | bool | int | float | Sequence["Value"] | Mapping[str, "Value"]
Table = Mapping[str, Value]


def toml_text(tables: Sequence[tuple[str, Table]], heading: str = "") -> str:
    """Write tables as TOML.

    Parameters
    ----------
    tables : sequence of (name, mapping)
        A name in double brackets, ``[[sheet]]``, is one table of a list; any other is a plain table; an
        empty name writes keys at the top.
    heading : str
        Said in comments above all.

    Returns
    -------
    str
    """
    parts = ["".join(f"# {line}\n" for line in heading.splitlines())] if heading else []
    for name, table in tables:
        lines = [name if name.startswith("[[") else f"[{name}]"] if name else []
        lines += [f"{key} = {_shown(value)}" for key, value in table.items()]
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _shown(value: Value) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            # a JSON string is a TOML string but for DEL, which JSON leaves bare
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case int():
            return str(value)
        case float():
            text = f"{value:.10g}"
            return text if any(mark in text for mark in ".en") else f"{text}.0"
        case Mapping():
            return "{ " + ", ".join(f"{key} = {_shown(one)}" for key, one in value.items()) + " }"
        case _:
            return "[" + ", ".join(_shown(one) for one in value) + "]"
