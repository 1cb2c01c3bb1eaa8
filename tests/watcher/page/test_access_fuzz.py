"""Whatever a stranger, a phone that may look and the own computer ask, each answer is as described."""

from __future__ import annotations

from typing import Any

import pytest
from fuzz_budget import tries
from opened_bench import Served

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
from hypothesis import given  # noqa: E402
from schemathesis.specs.openapi.checks import (  # noqa: E402
    negative_data_rejection,
    positive_data_acceptance,
    unsupported_method,
)

pytestmark = pytest.mark.slow
SOME = tries(5, shrink=False)


@pytest.mark.parametrize("who", ["stranger", "look", "own"])
def test_every_answer_to_everybody_is_one_that_the_description_promises(served: Served, who: str) -> None:
    described = served.own().get("/openapi.json").json()
    schema = schemathesis.openapi.from_dict(described)
    client = {"stranger": served.other, "look": lambda: served.joined("look"), "own": served.own}[who]()
    headers = {"via": client.headers["via"]} if "via" in client.headers else {}
    if who == "look":
        headers |= {"cookie": "; ".join(f"{one.name}={one.value}" for one in client.cookies.jar)}
    asked = 0
    for path, methods in described["paths"].items():
        if path == "/live":  # goes on for ever for whoever may see it
            continue
        for method in methods:
            operation = schema[path][method.upper()]

            @SOME
            @given(case=operation.as_strategy())
            def ask_anything(case: Any) -> None:
                nonlocal asked
                asked += 1
                served.wait(400.0)  # the brakes have a test of their own
                case.call_and_validate(
                    base_url=str(client.base_url).rstrip("/"),
                    headers=headers,
                    excluded_checks=[positive_data_acceptance, negative_data_rejection, unsupported_method],
                )

            ask_anything()
    assert asked > 40
