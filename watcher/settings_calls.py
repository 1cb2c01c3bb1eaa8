"""The settings of the calls: when, how often, by which ways, and when not."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, SecretStr

from watcher.records.bench import CallRules

_RULES = CallRules()


class Table(BaseModel):
    """A section that refuses unknown keys: a nested one does not inherit the rule of the one above it."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


def _growing(minutes: tuple[float, ...]) -> tuple[float, ...]:
    if any(later <= sooner for sooner, later in zip((0.0, *minutes), minutes, strict=False)):
        raise ValueError("not growing")
    return minutes


def _not_empty(span: str) -> str:
    if span and span[:5] == span[6:]:
        raise ValueError("ends when it begins")
    return span


def _evening(text: object) -> object:
    if text == "":
        return None
    if isinstance(text, str):
        if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text):
            raise ValueError("not a time of day")
        text = time.fromisoformat(text)
    # on the night of a change of clocks these hours come twice, or not at all
    if isinstance(text, time) and time(1) <= text < time(4):
        raise ValueError("not in the hours when clocks change")
    return text


Minutes = Annotated[float, Field(ge=0.5, le=240.0)]


class CallSettings(Table):
    """When to call."""

    soon_min: float = Field(
        default=_RULES.soon_min, ge=0.0, le=60.0, description="minutes before the tip, 0 to 60"
    )
    soon_share: float = Field(
        default=_RULES.soon_share, ge=0.0, le=0.9, description="a share of the cast, 0 to 0.9"
    )
    blind_min: float = Field(
        default=_RULES.blind_min, ge=0.5, le=60.0, description="minutes without a reading, 0.5 to 60"
    )
    camera_blind_min: float = Field(
        default=_RULES.camera_blind_min, ge=0.2, le=60.0, description="minutes without a picture, 0.2 to 60"
    )
    top_up_min: float = Field(
        default=_RULES.top_up_min, ge=0.5, le=60.0, description="minutes before the trim line, 0.5 to 60"
    )
    again_min: Annotated[tuple[Minutes, ...], AfterValidator(_growing)] = Field(
        default=_RULES.again_min,
        max_length=8,
        description="minutes after the first call, growing, such as [3, 6, 10]",
    )
    hands_hold_min: float = Field(
        default=_RULES.hands_hold_min, ge=0.0, le=15.0, description="minutes, 0 to 15"
    )
    silent_until: date | None = Field(
        default=None, description="the day from which on to call, such as 2026-03-10; before it only record"
    )
    quiet: Annotated[str, AfterValidator(_not_empty)] = Field(
        default="",
        pattern=r"^(|([01]\d|2[0-3]):[0-5]\d-([01]\d|2[0-3]):[0-5]\d)$",
        description='from when to when it is quiet, such as "22:00-07:00"',
    )
    summary_at: Annotated[time | None, BeforeValidator(_evening)] = Field(
        default=time(20), description='when the day is summed up, such as "20:00", not 01:00 to 04:00, or ""'
    )

    language: Literal["en", "de"] = Field(
        default="en", description='the language of letters and of the day\'s summary, "en" or "de"'
    )
    bench_silent_min: float = Field(
        default=2.0,
        ge=0.5,
        le=60.0,
        description="minutes for which another bench is not heard before that is called, 0.5 to 60",
    )
    hours: Annotated[str, AfterValidator(_not_empty)] = Field(
        default="",
        pattern=r"^(|([01]\d|2[0-3]):[0-5]\d-([01]\d|2[0-3]):[0-5]\d)$",
        description='from when to when others miss this bench with nothing cast, such as "08:00-18:00"',
    )

    def rules(self, zone: str = "UTC") -> CallRules:
        """Return what the bench goes by, in its own time zone."""
        silent = self.silent_until
        return CallRules(
            soon_min=self.soon_min,
            soon_share=self.soon_share,
            blind_min=self.blind_min,
            camera_blind_min=self.camera_blind_min,
            top_up_min=self.top_up_min,
            again_min=self.again_min,
            hands_hold_min=self.hands_hold_min,
            silent_until=None
            if silent is None
            else datetime.combine(silent, time(), ZoneInfo(zone)).astimezone(UTC),
        )


class ChannelSettings(Table):
    """A way to reach somebody."""

    name: str = Field(min_length=1, max_length=40, description="what you call this way, such as phone")
    address: SecretStr = Field(description="an address such as ntfy://..., mailto://... or json://...")
    from_step: int = Field(
        0, ge=0, le=5, description="the first call that goes this way: 0, or 1 if nobody came"
    )
    when_quiet: Literal["all", "calls", "nothing"] = Field(
        "calls", description='what rings in quiet hours: "all", "calls" (what must be done) or "nothing"'
    )
