"""The shape of what the caster told: reclaim, casts while unwatched, hours in a drier."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict

from watcher.page.shapes import Moment


class ToldShape(TypedDict):
    """One thing told of a mould."""

    id: int
    mould: str
    kind: Annotated[str, Field(description="reclaim, unwatched or drier")]
    at: Annotated[Moment, Field(description="when kept, poured, or taken out of the drier")]
    amount: Annotated[float, Field(description="g, casts or h")]
    warmth_c: Annotated[float | None, Field(description="of the drier, C")]


class ReclaimShape(TypedDict):
    """Reclaim of one day and one slip."""

    day: Annotated[str, Field(description="YYYY-MM-DD in the bench's zone")]
    slip: Annotated[
        str, Field(description="specific gravity that its casts were poured with; empty: none kept")
    ]
    grams: Annotated[float, Field(description="as wet as it was weighed")]
    casts: int
