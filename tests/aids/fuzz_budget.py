"""How much is tried at random: always the same little in every run, more and other things on request.

`TIPBELL_FUZZ=50 .venv/bin/pytest tests/hostile` tries fifty times as much, each time something else.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, Phase, settings

TIMES = max(1, int(os.environ.get("TIPBELL_FUZZ", "1")))


def tries(number: int, *, shrink: bool = True) -> settings:
    """Settings of a property that is tried `number` times in an ordinary run."""
    phases = [Phase.explicit, Phase.reuse, Phase.generate, Phase.target]
    return settings(
        max_examples=number * TIMES,
        deadline=None,
        derandomize=TIMES == 1,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[*phases, Phase.shrink] if shrink else phases,
    )
