"""The words of letters and of the day's summary: English here; other languages are handed in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType


def _as_it_is(why: str) -> str:
    return why


@dataclass(frozen=True, slots=True)
class LetterWords:
    """One language.

    Attributes
    ----------
    texts : mapping of str to str
        By key; names in braces stand for what changes.
    why : callable
        Gives a sentence of the bench (English) in this language.
    """

    texts: Mapping[str, str]
    why: Callable[[str], str] = _as_it_is

    def tell(self, key: str, **values: object) -> str:
        """Return a text with what changes put in."""
        return self.texts[key].format(**values)

    def number(self, value: float, digits: int = 1) -> str:
        """Return a number as it is written in this language."""
        return f"{value:.{digits}f}".replace(".", self.texts["decimal"])

    def day(self, day: date) -> str:
        """Return a day as `Tuesday 3 March`."""
        weekday = self.texts["weekdays"].split()[day.weekday()]
        month = self.texts["months"].split()[day.month - 1]
        return self.tell("day", weekday=weekday, number=day.day, month=month)


ENGLISH_TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "decimal": ".",
        "weekdays": "Monday Tuesday Wednesday Thursday Friday Saturday Sunday",
        "months": "January February March April May June July August September October November December",
        "day": "{weekday} {number} {month}",
        "again": "Again: {text}",
        "wall": ", wall about {wall} mm",
        "soon_some_time": "{mould}: soon to be tipped.",
        "soon": "{mould}: tip in about {minutes} min{wall}.",
        "ready": "{mould}: tip now{wall}.",
        "late": "{mould}: past its time, tip at once{wall}.",
        "follows": "{mould}: tip at {at}.",
        "reason": "{mould}: {why}.",
        "leaking": "{mould}: leaking? {why}.",
        "computer": "The bench's computer: {why}.",
        "silent": "{why}.",
        "top_up": "{mould}: top up.",
        "top_up_now": "{mould}: top up now.",
        "top_up_before": "{mould}: top up before {at}.",
        "camera_blind": "The camera cannot be used: {why}.",
        "forecasts_only": "Forecasts only: {list}.",
        "forecast_from": "{mould} from {at} on",
        "forecast_tip": "{mould} from {at} on (tip about {tip})",
        "heard_again": "{bench} is heard again.",
        "over": "{what}: {kind} is over.",
        "sees_again": "The camera sees again; it had not since {at}.",
        "not_read_yet": "Not read yet: {list}.",
        "the_bench": "the bench",
        "The_bench": "The bench",
        "and_more": "{names} and {n} more",
        "no_more": "{kind} no more",
        "kind_soon": "soon",
        "kind_ready": "ready",
        "kind_late": "late",
        "kind_tipped_unseen": "was it tipped?",
        "kind_blind": "blind",
        "kind_camera_blind": "camera blind",
        "kind_hole_closing": "hole closing",
        "kind_leaking": "leaking",
        "kind_top_up": "top up",
        "kind_disk_filling": "disk filling",
        "kind_clock_stepped": "clock stepped",
        "kind_bench_silent": "bench silent",
        "sum_title": "The day: {n} casts",
        "sum_casts": "{day}: {n} casts: {ends}.",
        "sum_in_time": "{n} tipped in time",
        "sum_early": "{n} earlier than called for",
        "sum_late": "{n} past the thick end",
        "sum_open": "{n} still open, or its tip not seen",
        "sum_unknown": "{n} without a time to go by",
        "sum_unseen": "Not read for some minutes: {unseen} casts; camera without a picture: {blind} times.",
    }
)

ENGLISH = LetterWords(ENGLISH_TEXTS)
