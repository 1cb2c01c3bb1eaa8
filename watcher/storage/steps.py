"""What came after the tip of a cast, as the text that its row keeps."""

from __future__ import annotations

import json

from watcher.records.after_tip import AfterStep, AfterTip, Noted


def steps_text(after: AfterTip) -> str:
    """Return the steps that were noted, and whether the tip itself was said; forecasts are made anew."""
    noted = [[one.step.value, one.at_s, one.said] for one in after.noted]
    return json.dumps({"noted": noted, "tip_said": after.tip_said})


def read_steps(text: str) -> AfterTip:
    """Return what `steps_text` kept."""
    kept = json.loads(text)
    noted = tuple(Noted(AfterStep(step), at_s, said) for step, at_s, said in kept.get("noted", ()))
    return AfterTip(noted=noted, tip_said=bool(kept.get("tip_said", False)))
