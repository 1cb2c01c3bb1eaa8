"""What a test does that lacks something: it skips, but fails where nothing may be missing."""

from __future__ import annotations

import os
from typing import NoReturn

import pytest


def do_without(what: str) -> NoReturn:
    """Skip this test for want of something; fail it where nothing may be missing."""
    if os.environ.get("CI", "").lower() in ("1", "true", "yes"):
        pytest.fail(f"{what} is missing, and CI is set: nothing may be missing here", pytrace=False)
    pytest.skip(f"{what} is missing here")
