"""Whatever is asked of the page, it answers as its own description says, and never with a breakdown."""

from __future__ import annotations

import pytest
from fuzz_budget import tries

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
from hypothesis import given  # noqa: E402
from schemathesis.specs.openapi.checks import positive_data_acceptance  # noqa: E402

pytestmark = pytest.mark.slow

MANY = tries(20)


@pytest.mark.parametrize(
    ("path", "method"),
    [
        ("/bench.json", "GET"),
        ("/curves.json", "GET"),
        ("/events.json", "GET"),
        ("/health.json", "GET"),
        ("/mould/{name}.json", "GET"),
        ("/picture.jpg", "GET"),
        ("/hole/{name}.jpg", "GET"),
        ("/said.json", "POST"),
        ("/review.json", "GET"),
        ("/cast/{cast_id}.json", "GET"),
        ("/crop/{stamp}/{mould}.jpg", "GET"),
        ("/film/{cast_id}.mp4", "GET"),
        ("/faults.json", "GET"),
        ("/csv/{table}.csv", "GET"),
        ("/story/{mould}.json", "GET"),
        ("/day.json", "POST"),
        ("/slip.json", "POST"),
        ("/came_out.json", "POST"),
        ("/finding.json", "POST"),
        ("/piece.json", "POST"),
        ("/weighed.json", "POST"),
        ("/reclaim.json", "POST"),
        ("/unwatched.json", "POST"),
        ("/drier.json", "POST"),
        ("/untell.json", "POST"),
    ],
)
def test_every_answer_is_one_that_the_description_promises(bench, memory, serve, path, method):
    schema = schemathesis.openapi.from_url(serve(bench, memory).url + "/openapi.json")
    operation = schema[path][method]

    @MANY
    @given(case=operation.as_strategy())
    def ask_anything(case):
        # Rules between keys (a value goes with some words alone) cannot stand in the description of each key.
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    ask_anything()
