"""Whatever is asked of the set-up, it answers as its own description says, and never with a breakdown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
from hypothesis import HealthCheck, Phase, given, settings  # noqa: E402
from schemathesis.specs.openapi.checks import positive_data_acceptance  # noqa: E402

from watcher.clock import ComputerClock  # noqa: E402
from watcher.page.access.access import Access  # noqa: E402
from watcher.page.setup.app import make_setup_app  # noqa: E402
from watcher.service.setting_up import first_desks  # noqa: E402
from watcher.service.web import Web  # noqa: E402

pytestmark = pytest.mark.slow

MANY = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.generate),
)


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("bench")
    begun: list[bool] = []
    desks = first_desks(
        folder / "tipbell.toml", ComputerClock(), lambda: begun.append(True), port=8417, roots=(folder,)
    )
    web = Web(make_setup_app(desks, Access(ComputerClock(), "setup")))
    yield web.address
    web.close()
    desks.camera.close()
    assert begun == [] and not (folder / "tipbell.toml").exists()


@pytest.mark.parametrize(
    "path",
    [
        "cards", "print", "sheet", "lens/guess", "lens/look", "lens/measure", "lens/forget", "mould",
        "mould/shot", "mould/out", "start", "calls", "calls/test", "walls", "walls/out", "want", "cut",
        "ruler", "profile", "drawing", "strip", "strip/look",
        "strip/forget",
    ],
)  # fmt: skip
def test_every_answer_of_the_set_up_is_one_that_its_description_promises(url: str, path: str) -> None:
    schema: Any = schemathesis.openapi.from_url(url + "openapi.json")
    operation = schema[f"/setup/{path}.json"]["POST"]

    @MANY
    @given(case=operation.as_strategy())
    def ask_anything(case: Any) -> None:
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    ask_anything()
