"""What was worked out for a cast, as plain numbers and names: readable long after the code that made it."""

from __future__ import annotations

import json
import math
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from watcher.records.bench import Cast

_LONGEST_LIST = 64


def figures_of(cast: Cast) -> str:
    """Return fit and estimate of a cast as JSON; each carries the name of its kind of answer.

    Long arrays and whatever is more than a handful of numbers are left out: they can be worked out again.
    """
    answers = {"fit": _fields(cast.fit), "estimate": _fields(cast.estimate), "forecast": cast.forecast.value}
    return json.dumps(answers, separators=(",", ":"), allow_nan=False)


def _fields(answer: object) -> Any:
    if not is_dataclass(answer) or isinstance(answer, type):
        return None
    named = {field.name: _plain(getattr(answer, field.name)) for field in fields(answer)}
    return {"kind": type(answer).__name__, **named}


def _plain(value: object) -> Any:
    match value:
        case Enum():
            return value.value
        case None | bool() | int() | str():
            return value
        case float():
            return value if math.isfinite(value) else None
        case datetime():
            return value.isoformat()
        case list() | tuple():
            return [_plain(item) for item in value] if len(value) <= _LONGEST_LIST else None
    if is_dataclass(value) and not isinstance(value, type):
        held = {field.name: getattr(value, field.name) for field in fields(value)}
        return held if all(isinstance(item, float | int | str | None) for item in held.values()) else None
    if hasattr(value, "tolist"):  # an array, or a single number of numpy's
        return _plain(value.tolist())
    return None
